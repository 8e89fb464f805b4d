"""Writes the gallery (`figures/README.md`) and the teaching sheet from the experiments' docstrings."""

import ast
import html
import re
import textwrap
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
FIGURES = HERE.parent / "figures"
GALLERY = FIGURES / "README.md"
SHEET = HERE / "ten_things.md"
POSTER = HERE / "ten_things.pdf"
HEADINGS = ("Question", "Expect", "Found", "Figure")
# Order for teaching; experiments that are not listed come last.
ORDER = (
    "quarter_turn", "turn_of_a_side", "neighbours", "gap_is_twice", "near_flange", "tighten_or_loosen",
    "which_way", "which_flange", "loosen_first", "order_of_nipples", "wind_up", "true_before_dish", "squeeze",
    "check_between", "what_a_pass_teaches", "tighter_is_not_stiffer", "where_linear_stops", "broken_spoke", "bent_rim",
    "tyre_on", "how_many_spokes", "fewest_against_rule",
)


@dataclass(frozen=True)
class Entry:
    """An experiment's docstring, split up."""

    name: str
    title: str  # its first line
    parts: dict  # text by heading in ``HEADINGS``

    @property
    def sentence(self):
        """The heading of its figure, read from the title in the SVG file."""
        found = re.search(r"<dc:title>(.*?)</dc:title>", self.figure.read_text(encoding="utf-8"), re.DOTALL)
        return " ".join(html.unescape(found.group(1)).split())

    @property
    def figure(self):
        """Path of its figure."""
        return FIGURES / f"{self.name}.svg"


def is_experiment(path):
    """Whether a script is an experiment: it has ``run`` and ``draw``."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    return {"run", "draw"} <= names


def experiments():
    """Names of all experiments, in teaching order."""
    names = sorted(path.stem for path in HERE.glob("*.py") if is_experiment(path))
    return sorted(names, key=lambda name: ORDER.index(name) if name in ORDER else len(ORDER))


def entry(name):
    """Split up one experiment's docstring.

    Raises
    ------
    ValueError
        When a heading is missing.
    """
    doc = ast.get_docstring(ast.parse((HERE / f"{name}.py").read_text(encoding="utf-8")))
    title, _, rest = doc.partition("\n")
    parts = {}
    for heading, body in re.findall(r"^(\w+)\n((?:    .*(?:\n|\Z)|\n)+)", rest, re.MULTILINE):
        parts[heading] = " ".join(textwrap.dedent(body).split())
    missing = [heading for heading in HEADINGS if heading not in parts]
    if missing:
        raise ValueError(f"experiments/{name}.py: no {', '.join(missing)} in its docstring; "
                         f"expected {', '.join(HEADINGS)}")
    return Entry(name, title.strip(), parts)


def gallery():
    """The gallery as Markdown: each existing figure with its heading and what was found."""
    lines = ["# What the experiments show", "",
             "Written by `python -m experiments`; don't edit. All wheels are invented: no real one was measured.", ""]
    for name in experiments():
        one = entry(name)
        if not one.figure.is_file():
            continue
        lines += [f"## {one.title}", "", f"![{one.sentence}]({name}.svg)", "", f"**{one.sentence}.**", "",
                  *textwrap.wrap(one.parts["Found"], 118, break_on_hyphens=False), "",
                  f"Asked and answered by [experiments/{name}.py](../experiments/{name}.py).", ""]
    return "\n".join(lines)


def sheet():
    """The teaching sheet as Markdown."""
    from experiments.ten_things import THINGS

    lines = ["# Ten things about a spoked wheel", "",
             "For an instructor to print. Each number is proved by the experiment named beside it: run it with",
             "`python -m experiments.NAME`, or all of them with `python -m experiments`. The wheels are invented: a",
             "symmetric front of 36 spokes and a dished rear of 32, right flange near. Other wheels have other",
             "numbers, and the same ways. Written by `python -m experiments`; don't edit.", ""]
    for number, thing in enumerate(THINGS, 1):
        lines += textwrap.wrap(f"{number}. **{thing.rule}** {thing.proof} (`{thing.experiment}`)", 118,
                               subsequent_indent="   ", break_on_hyphens=False)
        lines.append("")
    return "\n".join(lines)


def write():
    """Write gallery, teaching sheet and poster if they are out of date; returns the paths that changed."""
    from experiments.poster import poster_bytes

    changed = []
    for path, data in ((GALLERY, gallery().encode()), (SHEET, sheet().encode()), (POSTER, poster_bytes())):
        if not path.is_file() or path.read_bytes() != data:
            path.write_bytes(data)
            changed.append(path)
    return changed
