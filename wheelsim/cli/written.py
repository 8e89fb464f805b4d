"""The verbs that write into a job file what was turned and read: at the command line, and on the page."""

import sys

import typer

from wheelsim.cli.in_and_out import print_json, say
from wheelsim.cli.typed import BadWords

DONE = typer.Option([], "--done", metavar="NUMBER", show_default=False,
                    help="This planned pass was made as planned. Repeat.")
TURNED = typer.Option([], "--turned", metavar="WHAT=TURNS", show_default=False,
                      help="Turned otherwise: right=1/4, 7-9=-1/8, 12=1/2. Repeat; one pass.")
JSON = typer.Option(False, "--json", help="For programs: JSON on stdout.")


def log_verb(
    file: str = typer.Argument(..., metavar="JOB", help="The job file; it is added to."),
    done: list[int] = DONE,
    turned: list[str] = TURNED,
    gauge: str = typer.Option(None, metavar="READ", show_default=False,
                              help='Like "right 1.2 hub": set on, gap in mm, at hub, feet or one foot.'),
    true: str = typer.Option(None, metavar="READ", show_default=False,
                             help="Dial from the side [mm]: 7=0.6,21=-0.4; or high 7=0.6, low 21=-0.4."),
    round_: str = typer.Option(None, "--round", metavar="READ", show_default=False,
                               help="Dial on the rim's rise and fall [mm], likewise."),
    tension: str = typer.Option(None, metavar="READ", show_default=False, help="Like 1=980,9=1010 [N]."),
    kgf: bool = typer.Option(False, "--kgf", help="Tensions in kilogram-force."),
    label: str = typer.Option(None, metavar="TEXT", show_default=False, help="Of the reading."),
    take_back: bool = typer.Option(False, "--take-back", help="Instead: take back what was logged last, the reading "
                                   "or, where none came after it, the pass."),
    as_json: bool = JSON,
) -> None:
    """Write down what was turned and what the tools show after; without options it asks."""
    from wheelsim.cli.log_told import far_off, told, too_far
    from wheelsim.cli.log_words import spokes_there, visit_from
    from wheelsim.files.log import ToLog, add_visit
    from wheelsim.files.reader import read_job

    visit = visit_from(done=done, turned=turned, gauge=gauge, true=true, round_=round_, tension=tension, kgf=kgf,
                       label=label)
    if take_back:
        _take_back(file, as_json, visit != ToLog())
        return
    asked = visit == ToLog()
    if asked:
        if not sys.stdin.isatty():
            raise BadWords("log: nothing to write down; expected what was turned or read, like --done 1 --gauge "
                           '"right 1.2 hub", or a terminal to ask at')
        from wheelsim.cli.ask import ask_visit

        visit = ask_visit(read_job(file))
        if visit == ToLog():
            say("Nothing read, nothing turned: nothing was written.")
            return
    else:
        spokes_there(visit.reading, visit.turned, read_job(file).wheel.n)
    written = add_visit(file, visit)
    far = far_off(written)
    astray = [one["pass"] for one in far]
    large = [] if asked else [one for one in too_far(written) if one["pass"] not in astray]
    if far and asked:
        from wheelsim.cli.ask import ask_again

        written, far = ask_again(written, [one["said"] for one in far]), []
    for one in large:
        first = ", once for the reading and once more," if visit.reading else ""
        say(f"{one['said']} Kept as typed; wheelsim log {file} --take-back{first} takes it off.")
    for k, one in enumerate(far, 1):
        last = f" Kept as read; wheelsim log {file} --take-back takes it off." if k == len(far) else ""
        # A pass says itself how it is put right.
        say(one["said"].replace("log JOB", f"log {file}") + last * (one["name"] != "pass"))
    if as_json:
        print_json(written, unexpected=[*large, *far])
    else:
        print("\n".join([*told(written), f"Next: wheelsim assess {file}, wheelsim plan {file}"]))


def _take_back(file: str, as_json: bool, more: bool) -> None:
    """Take back what was logged last and say what it was."""
    from wheelsim.cli.log_told import taken_back
    from wheelsim.files.log import take_back

    if more:
        raise BadWords("--take-back: what was done or read stands beside it; expected it alone, then what is right")
    gone = take_back(file)
    if as_json:
        print_json(gone)
    else:
        print("\n".join(taken_back(gone)))


def bench_verb(
    target: str = typer.Argument(None, metavar="[JOB|FOLDER]", show_default=False,
                                 help="A job, or a folder of jobs; without one, the shipped sample."),
    port: int = typer.Option(8417, "--port", metavar="N", min=1, max=65535, help="Where the page listens."),
    host: str = typer.Option("127.0.0.1", "--host", metavar="ADDRESS",
                             help="Another address opens it to other machines, with a token."),
    no_open: bool = typer.Option(False, "--no-open", help="Don't open a browser."),
) -> None:
    """The same job on a page beside the stand: tap, plan, tick off, read; stop with Ctrl-C."""
    from wheelsim.page.server import NotServed, serve

    try:
        serve(target, port, host, not no_open)
    except NotServed as error:
        raise BadWords(str(error)) from None
