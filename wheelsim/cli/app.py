"""The ``wheelsim`` command; each verb imports what it needs when it is called, so that others start fast."""

import gc
import json
import os
import sys
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: a second thread costs more than it brings
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # looking for some opens every package's metadata

import typer

from wheelsim.cli.in_and_out import draw, open_job, print_json, say
from wheelsim.cli.sheet import PAPER, exercises_to, sheet_verb
from wheelsim.cli.typed import BadWords, one_of, spoke_turns, tapped_rim, typed_turns
from wheelsim.cli.written import bench_verb, log_verb

if TYPE_CHECKING:
    from wheelsim.job.job import Job
    from wheelsim.planning.plan_result import Plan
    from wheelsim.planning.rule import RuleResult

_process_start: float | None = None  # by time.monotonic, where this process does one command only
EXIT_NO, EXIT_BAD, EXIT_FAULT = 1, 2, 70

app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False,
                  help="Predict, plan and teach the truing and centring of tension-spoked wheels.",
                  context_settings={"help_option_names": ["--help", "-h"]})

FILE = typer.Argument(None, help="A job or a wheel file; with none, the shipped sample.", show_default=False)
PICTURE = typer.Option(None, metavar="OUT", help="Draw before and after: .svg, .png or .pdf.", show_default=False)
JSON = typer.Option(False, "--json", help="For programs: JSON on stdout.")


class AnswerIsNo(Exception):
    """The verb did its work and the answer is no."""


@app.callback(invoke_without_command=True)
def _root(context: typer.Context, version: bool = typer.Option(False, "--version", help="Show the version.")) -> None:
    if version:
        from wheelsim import __version__

        print(f"wheelsim {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        _show_verbs()


def _show_verbs() -> None:
    """What can be asked, a line each, and what to try first."""
    for command in app.registered_commands:
        print(f"wheelsim {command.name:<10}{(command.callback.__doc__ or '').strip().splitlines()[0]}")
    print("\nEach takes a job or a wheel file; without one, the shipped sample. wheelsim VERB --help tells its "
          "options.\nTry first: wheelsim plan")


@app.command("predict")
def predict_verb(
    file: str = FILE,
    right: str = typer.Option("0", metavar="TURNS", help="Every right nipple; plus tightens: 1/4, -1/4, 1 1/4."),
    left: str = typer.Option("0", metavar="TURNS", help="Every left nipple."),
    spoke: list[str] = typer.Option([], metavar="N=TURNS", show_default=False,
                                    help="Nipples: 7=1/2, 1-8=1/4, 7,9=-1/4. Repeat; all add up."),
    picture: str = PICTURE,
    as_json: bool = JSON,
) -> None:
    """What a set of nipple turns would do: dish, gap, true, round, tensions."""
    from wheelsim.stand.predict import predict

    sides = {"right": typed_turns("--right", right), "left": typed_turns("--left", left)}
    job = open_job(file)
    result = predict(job, spokes=spoke_turns(spoke, job.wheel), **sides)
    draw(picture, result)
    if as_json:
        print_json(result)
    else:
        from wheelsim.report.terminal.predict import tell_prediction
        from wheelsim.report.terminal.shared import printer

        tell_prediction(result, printer(sys.stdout))


@app.command("assess")
def assess_verb(
    file: str = FILE,
    new: str = typer.Option(None, "--new", metavar="FILE", show_default=False,
                            help="Instead: write a blank job to fill in, with how to measure each line."),
    asked: bool = typer.Option(False, "--ask", help="With --new: ask for each line at the terminal."),
    picture: str = PICTURE,
    as_json: bool = JSON,
) -> None:
    """Is the wheel within its limits, how surely, and what would a quarter turn of each side do?"""
    if asked and new is None:
        raise BadWords("--ask: nothing to fill; expected --new FILE beside it")
    if new is not None:
        if asked:
            if not sys.stdin.isatty():
                raise BadWords("--ask: no terminal to ask at; expected one, or --new alone")
            from wheelsim.cli.ask import ask_job

            ask_job(new)
            say(f"Job written to {new}: wheelsim assess {new}")
            return
        from wheelsim.files.blank import write_blank

        write_blank(new)
        say(f"Blank job written to {new}: fill it in, then wheelsim assess {new}")
        return
    from wheelsim.stand.assess import assess

    result = assess(open_job(file))
    if result.view is not None:
        draw(picture, result)
    if as_json:
        print_json(result)
    else:
        from wheelsim.report.terminal.assess import tell_assessment
        from wheelsim.report.terminal.shared import printer

        tell_assessment(result, printer(sys.stdout))
    if result.verdict == "outside":
        raise AnswerIsNo


@app.command("plan")
def plan_verb(
    file: str = FILE,
    fewest: str = typer.Option(None, metavar="turns|nipples|passes", show_default=False,
                               help="That optimum literally; without it, what a hand would do."),
    to: str = typer.Option("aims", metavar="aims|limits", help="What to strive for."),
    step: str = typer.Option(None, metavar="TURNS", show_default=False,
                             help="Whole steps of this (default the job's, 1/4)."),
    margin: float = typer.Option(None, metavar="SD", show_default=False,
                                 help="Standard deviations kept from each limit (default the job's, 1)."),
    seconds: float = typer.Option(None, "--time", metavar="SECONDS", show_default=False,
                                  help="Longest time (default the job's, 30)."),
    full: bool = typer.Option(False, "--full", help="The whole story, not one screen of it."),
    keep: bool = typer.Option(False, "--keep", help="Write the planned passes into the job file."),
    picture: str = PICTURE,
    as_json: bool = JSON,
) -> None:
    """Which side, tighten or loosen, how much: the turns that bring a wheel within limits, in passes."""
    one_of("--fewest", fewest, ("turns", "nipples", "passes"))
    one_of("--to", to, ("aims", "limits"))
    turns = None if step is None else typed_turns("--step", step)
    from wheelsim.cli.stopwatch import watched
    from wheelsim.planning.plan import plan
    from wheelsim.wheel.rules import PartError

    job = open_job(file)
    if keep and file is None:
        raise BadWords("--keep: the shipped sample stays as it is; expected a job file of your own")
    try:
        with watched(job.work.time if seconds is None else seconds, _process_start,
                     fewest or "turns, and 1/4 for a nipple named") as watch:
            result = plan(job, fewest=fewest, to=to, step=turns, margin=margin, seconds=seconds, watch=watch)
            rule = _rule_of_thumb(result, job)
    except PartError as error:
        words = {"step": "--step", "margin": "--margin", "time": "--time"}
        typed = {"--step": step, "--margin": margin, "--time": seconds}
        raise BadWords("\n".join(f"{words.get(f.field, f.field)}: {typed.get(words.get(f.field, f.field), f.value)!r}; "
                                 f"{f.expected}" for f in error.faults)) from None
    if result.before is not None and result.after is not None and result.turns is not None:
        draw(picture, result)
    if keep and file is not None and result.turns is not None:
        from wheelsim.files.log import keep_passes, to_keep

        kept = keep_passes(file, [to_keep(one) for one in result.passes])
        number = next((one.number for one in kept.passes if one.turns is None), None)
        say(f"Nothing is to be turned: {file} holds no planned pass." if number is None else
            f"Planned passes written to {file}; once made: wheelsim log {file} --done {number}")
    if result.passes and not keep and any(one.turns is None for one in job.passes):
        from wheelsim.cli.log_told import still_planned

        say(still_planned(str(file), job, result))
    if as_json:
        print_json(result, rule_of_thumb=None if rule is None else rule.as_dict())
    else:
        from wheelsim.report.terminal.plan import tell_plan
        from wheelsim.report.terminal.shared import printer

        tell_plan(result, printer(sys.stdout), rule, full=full)
    if result.status in ("none", "not found"):
        raise AnswerIsNo


def _rule_of_thumb(result: "Plan", job: "Job") -> "RuleResult | None":
    """What the rule of thumb would have done to a wheel that is planned, to stand beside the plan."""
    if not result.passes or job.work.direction == "loosen":  # no rule of thumb only loosens
        return None
    import numpy as np

    from wheelsim.planning.rule import by_rule

    assert result.before is not None, "a plan with passes starts from a wheel"
    state = result.before.state
    free = np.ones(state.wheel.n, dtype=bool)
    free[[spoke - 1 for spoke in job.work.untouched]] = False
    if job.work.sides != "both":
        free[state.wheel.on_side("left" if job.work.sides == "right" else "right")] = False
    return by_rule(state, result.limits, result.target_dish, free)


app.command("log")(log_verb)
app.command("sheet")(sheet_verb)
app.command("bench")(bench_verb)


@app.command("practise")
def practise_verb(
    level: str = typer.Argument("1", metavar="[LEVEL]", show_default=False,
                                help="1 to 8 or a name: which-way, near-side, one-spoke, true, round, tension, "
                                "bent-rim, rebuild."),
    seed: int = typer.Option(None, "--seed", metavar="NUMBER", show_default=False,
                             help="The same wheel again; without one, one is drawn and told."),
    moves: str = typer.Option(None, "--moves", metavar="FILE", show_default=False,
                              help="Play these commands, one a line, instead of asking."),
    score: str = typer.Option(None, "--score", metavar="FILE", show_default=False,
                              help="Add the result to this file; nothing is kept otherwise."),
    name: str = typer.Option(None, "--name", metavar="NAME", show_default=False,
                             help="Whose result it is, kept with the score."),
    go_on: bool = typer.Option(False, "--go-on", help="In a pipe or --moves: tell of a line that can't be meant, and "
                               "go on with the next."),
    sheet: str = typer.Option(None, "--sheet", metavar="OUT", show_default=False,
                              help="Instead: exercises on paper and their answers, .pdf or .html."),
    seeds: str = typer.Option(None, "--seeds", metavar="1-6", show_default=False, help="Which exercises (1-6)."),
    paper: str = PAPER,
    scores: list[str] = typer.Option([], "--scores", metavar="FILE", show_default=False,
                                     help="Instead: a table of the results kept in these files. Repeat for more."),
) -> None:
    """A hidden wheel to practise on: predict, read, turn, read again; then see it beside the best plan."""
    from wheelsim.practice.made import PracticeError
    from wheelsim.practice.run import run as play

    if sheet is not None:
        exercises_to(sheet, seeds, paper)
        return
    try:
        if scores:
            from wheelsim.practice.class_table import class_table
            from wheelsim.report.terminal.shared import printer

            printer(sys.stdout).print(class_table(scores))
            return
        code = play(level, seed, moves=moves, score=score, go_on=go_on, name=name)
    except PracticeError as error:
        raise BadWords(str(error)) from None
    if code:
        raise AnswerIsNo


@app.command("kinds")
def kinds_verb(
    radius: float = typer.Option(None, "--radius", metavar="MM", help="Tapped rim: radius of the section's centre.",
                                 show_default=False),
    mass: float = typer.Option(None, "--mass", metavar="G", help="Its mass, bare.", show_default=False),
    side_tones: str = typer.Option(None, "--side-tones", metavar="LOW,NEXT", show_default=False,
                                   help="The two lowest tones when tapped from the side, in hertz."),
    flat_tone: float = typer.Option(None, "--flat-tone", metavar="HZ", show_default=False,
                                    help="The lowest tone when tapped in the rim's plane."),
    height: float = typer.Option(None, "--height", metavar="MM", show_default=False,
                                 help="Height of its section: with the width, its rotary inertia is counted."),
    width: float = typer.Option(None, "--width", metavar="MM", show_default=False, help="Width of its section."),
    as_json: bool = JSON,
) -> None:
    """Generic kinds of rim and their stiffness; or the stiffness of your rim from its tones."""
    tapped = tapped_rim(radius, mass, side_tones, flat_tone, height, width)
    if as_json:
        from wheelsim.wheel.kinds import kinds_as_dict

        found = {"format": 1, "kinds": kinds_as_dict(), "tapped": None if tapped is None else tapped.as_dict()}
        print(json.dumps(found, allow_nan=False, indent=1))
    else:
        from wheelsim.report.terminal.kinds import tell_kinds
        from wheelsim.report.terminal.shared import printer

        tell_kinds(tapped, printer(sys.stdout))


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns the exit code: 0 done, 1 no, 2 bad words or file, 70 our fault."""
    from wheelsim.files.errors import FileError
    from wheelsim.mechanics.structure import Unstable

    try:
        code = typer.main.get_command(app).main(list(arguments), prog_name="wheelsim", standalone_mode=False)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except AnswerIsNo:
        return EXIT_NO
    except Unstable as error:
        from wheelsim.report.words.shared import no_stable_words

        say(f"wheelsim: no stable answer: {no_stable_words(error.because)}.")
        return EXIT_NO
    except (BadWords, FileError) as error:
        say("\n".join([str(error), *getattr(error, "excerpt", ())]))
        return EXIT_BAD
    except BrokenPipeError:
        # The reader closed the pipe; without this the interpreter would print an error when it flushes stdout at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        say(f"wheelsim: {error.strerror or error}; expected to be able to write the answer")
        return EXIT_BAD
    except (KeyboardInterrupt, typer.Abort) as stop:  # Abort: at a question, Ctrl-C or the end of what is typed
        say("\nwheelsim: stopped; nothing was written." if isinstance(stop, typer.Abort) else "wheelsim: stopped.")
        return 130
    except Exception as error:
        if hasattr(error, "format_message"):  # typer's own error: options or values that it can't parse
            say(f"wheelsim: {error.format_message()} (wheelsim --help)")
            return EXIT_BAD
        where = error.__traceback__
        assert where is not None, "an exception that was raised has a traceback"
        while where.tb_next is not None:
            where = where.tb_next
        at = f"{os.path.basename(where.tb_frame.f_code.co_filename)}:{where.tb_lineno}"
        text = " ".join(str(error).split())[:200]
        say(f"wheelsim: a fault of ours ({type(error).__name__} at {at}: {text}); please report it to your "
             "wheelsim maintainer with the command and the file")
        return EXIT_FAULT


def main() -> None:
    """Entry point of the ``wheelsim`` command."""
    gc.set_threshold(200_000)  # garbage collection of what was imported finds nothing and takes 50 ms each time
    global _process_start
    _process_start = time.monotonic() - _age()
    code = run(sys.argv[1:])
    gc.freeze()  # else the interpreter collects it twice more at exit
    sys.exit(code)


def _age() -> float:
    """Seconds since this process was started; 0 where the system does not tell."""
    try:
        with open("/proc/self/stat", encoding="ascii") as file:
            ticks = float(file.read().rsplit(")", 1)[1].split()[19])
        return max(time.clock_gettime(time.CLOCK_BOOTTIME) - ticks / os.sysconf("SC_CLK_TCK"), 0.0)
    except (OSError, AttributeError, ValueError, IndexError):
        return 0.0


if __name__ == "__main__":
    main()
