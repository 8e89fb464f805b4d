"""The verb that writes a job on paper."""

from typing import TYPE_CHECKING

import typer

from wheelsim.cli.in_and_out import open_job, say
from wheelsim.cli.typed import BadWords

if TYPE_CHECKING:
    from wheelsim.report.sheet.blocks import Paper

PAPER = typer.Option("A4", "--paper", metavar="A4|A5", help="Size of the paper.")


def sheet_verb(
    job: str = typer.Argument(None, metavar="[JOB]", show_default=False,
                              help="A job or a wheel file; with none, the shipped sample."),
    out: str = typer.Argument(None, metavar="OUT", show_default=False, help="Where to: .pdf or .html."),
    paper: str = PAPER,
) -> None:
    """The job on paper: before the work what to do, after it the record. PDF or HTML."""
    if job is None:
        raise BadWords("sheet: nothing to write to; expected a job and where to, like wheelsim sheet my-job.toml "
                       "my-job.pdf")
    if out is None:  # one word: where to, of the shipped sample
        job, out = None, job
    size = checked(out, paper, "OUT")
    found = open_job(job)
    from wheelsim.cli.stopwatch import watched
    from wheelsim.report.sheet.job_sheet import job_sheet
    from wheelsim.report.sheet.record import record

    with watched(found.work.time, None, "turns, and 1/4 for a nipple named") as watch:
        content = job_sheet(record(found, watch))
    from wheelsim.report.sheet.write import write

    try:
        write(content, out, size)
    except OSError as error:
        raise BadWords(f"OUT: {out!r}; {error.strerror or error}; expected a place to write to") from None
    say(f"Sheet written to {out}.")


def checked(out: str, paper: str, option: str) -> "Paper":
    """The paper size; checked first, with the kind of file and its place, so that no work is done for nothing.

    Raises
    ------
    BadWords
    """
    from wheelsim.report.sheet.write import SheetError, check_place, paper_named, sheet_kind

    try:
        sheet_kind(out)
        check_place(out)
    except SheetError as error:
        raise BadWords(f"{option}: {error}") from None
    except OSError as error:
        raise BadWords(f"{option}: {out!r}; {error.strerror or error}; expected a place to write to") from None
    try:
        return paper_named(paper)
    except SheetError as error:
        raise BadWords(f"--paper: {error}") from None


def exercises_to(out: str, seeds: str | None, paper: str) -> None:
    """Write a class's exercises; seeds in words.

    Raises
    ------
    BadWords
    """
    size = checked(out, paper, "--sheet")
    from wheelsim.practice.exercises import seeds_of
    from wheelsim.practice.made import PracticeError
    from wheelsim.practice.paper import class_sheet
    from wheelsim.report.sheet.write import write

    try:
        content = class_sheet(seeds_of("1-6" if seeds is None else seeds))
    except PracticeError as error:
        raise BadWords(f"--seeds: {error}") from None
    try:
        write(content, out, size)
    except OSError as error:
        raise BadWords(f"--sheet: {out!r}; {error.strerror or error}; expected a place to write to") from None
    say(f"Exercises and their answers written to {out}.")
