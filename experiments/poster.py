"""The ten things as a one-page poster: each with its rule, a small picture, numbers and the experiment behind it."""

from experiments.ten_pictures import PICTURES
from experiments.ten_things import THINGS
from wheelsim.report.sheet.blocks import PAPERS, Beside, Card, Columns, Picture, Sheet, Text
from wheelsim.report.sheet.write import render

RULE, PROOF = 15.0, 13.5  # font sizes; own choice: legible on A3 from two steps away, on A4 in the hand [pt]
FOOT = "python -m experiments.NAME proves each; the wheels are invented, others have other numbers and the same ways."


def card(number, thing):
    """One of the ten things, as a framed card."""
    draw = PICTURES[thing.experiment]
    picture = Picture(lambda width, stretch: draw(width), draw.__doc__.splitlines()[0])
    return Card((Text("", f"{number}. {thing.rule}", RULE),
                 Beside(picture, (Text(thing.proof, size=PROOF), Text(thing.experiment, size=PROOF)),
                        0.38)))


def poster():
    """The poster as a sheet: two columns, numbered across."""
    cards = [card(number, thing) for number, thing in enumerate(THINGS, 1)]
    rows = [Columns((left,), (right,)) for left, right in zip(cards[::2], cards[1::2], strict=True)]
    return Sheet("Ten things about a spoked wheel",
                 "A symmetric front wheel of 36 spokes and a dished rear of 32, its right flange near the middle.",
                 tuple(rows), FOOT)


def poster_bytes():
    """The poster as PDF."""
    return render(poster(), PAPERS["A3"], ".pdf")
