"""What goes into a verb and what comes out: the job, the picture, JSON on stdout, notes on stderr."""

import json
import sys
from typing import TYPE_CHECKING, Any, Protocol

from wheelsim.cli.typed import BadWords

if TYPE_CHECKING:  # each verb imports what it needs when it is called
    from wheelsim.job.job import Job
    from wheelsim.planning.plan_result import Plan
    from wheelsim.stand.assessment import Assessment
    from wheelsim.stand.predict import Prediction


class Result(Protocol):
    """Whatever has a form in JSON."""

    def as_dict(self) -> dict[str, Any]: ...


def open_job(file: str | None) -> "Job":
    """The job of a file or of the shipped sample; what is unusual about it goes to stderr."""
    from wheelsim.files.reader import SAMPLE, examine, sample_path

    if file is None:
        source = f"the shipped sample (invented): {SAMPLE}"
        say(f"No file given: this is {source}.")
        job, warnings = examine(sample_path(SAMPLE), source=source)
    else:
        job, warnings = examine(file)
    for warning in warnings:
        say(f"warning: {warning}")
    if job.passes:
        from wheelsim.estimation.large_turns import large_turns
        from wheelsim.report.words.estimation import large_turn_words

        for large in large_turns(job):
            say(f"warning: {job.source}: {large_turn_words(large)}")
    return job


def draw(path: str | None, result: "Prediction | Plan | Assessment") -> None:
    """Write the picture of a result, if one was asked for.

    Raises
    ------
    BadWords
        When it can't be written there, or not in that form.
    """
    if path is None:
        return
    from wheelsim.report.figures.figure import figure
    from wheelsim.report.figures.save import save

    try:
        save(figure(result), path)
    except OSError as error:
        raise BadWords(f"--picture: {path!r}; {error.strerror or error}; expected a place to write to") from None
    except ValueError as error:
        raise BadWords(f"--picture: {path!r}; {error}") from None
    say(f"Picture written to {path}.")


def print_json(result: Result, **more: Any) -> None:
    """The result for programs, with more keys beside its own."""
    print(json.dumps({**result.as_dict(), **more}, allow_nan=False, indent=1))


def say(text: str) -> None:
    """Print a note to stderr."""
    print(text, file=sys.stderr)
