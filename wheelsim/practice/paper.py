"""Exercises on paper for a class: the questions first, the answers with their reasons on a page of their own."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from wheelsim.measures.view import Stands
from wheelsim.practice.exercises import StripSheet, WaySheet, strip_sheet, way_sheet
from wheelsim.practice.which_way import RULE
from wheelsim.report.sheet.blocks import Beside, Block, Card, Fill, Heading, NewPage, Picture, Rows, Sheet, Text
from wheelsim.report.sheet.flat import Three, flat
from wheelsim.report.sheet.font import text_width
from wheelsim.report.sheet.shapes import GREY, INK, PALE, PT, TYPE, Drawing, Shape, Words, arrow, box, line
from wheelsim.units import MM, QUARTER, turns_text
from wheelsim.wheel.parts import OTHER, SIDES, Side

FOOT = "Invented wheels: none was measured."
CAUTION = ("On a real wheel look for cracks, wear and play first and stop if you find any; eyes out of the spokes' "
           "line; never force a nipple; the lower of the makers' limits holds.")
STAND_WORDS = {
    Stands.SLACK: "slack, so most is done by tightening",
    Stands.TIGHT: "tight, so most is done by loosening",
    Stands.ABOUT_RIGHT: "about right, so either side does a part and the tension stays: loosen first",
}


def class_sheet(seeds: Sequence[int]) -> Sheet:
    """A class's sheet: two exercises a seed, then the answers.

    Raises
    ------
    PracticeError
        For what is no seed.
    """
    pairs = [(way_sheet(seed), strip_sheet(seed)) for seed in seeds]
    return Sheet("Exercises: which way, and which nipple",
                 "Right is the rider's right. Spokes are numbered clockwise from the valve, seen from the right.",
                 tuple(_blocks(pairs)), FOOT)


def _blocks(pairs: Sequence[tuple[WaySheet, StripSheet]]) -> Iterator[Block]:
    yield Fill((("Name", 70.0), ("Date", 30.0)))
    yield Heading("Which way, and tighten or loosen?")
    yield Text("The gauge was set on one face; the wheel was flipped and the other face read. Say which way the rim "
               "must go, then turn whole sides in quarters, so that it ends centred and its tension near the usual.")
    for number, (way, _) in enumerate(pairs, 1):
        yield Card(tuple(_way_question(number, way)))
    yield NewPage()
    yield Heading("Read the strip and name the nipple")
    yield Text("Each rim is laid out flat from valve to valve. One nipple alone is to blame. Discs and full stems are "
               "the right spokes, squares and dashed stems the left ones. Draw what you would turn into the lowest "
               "panel.")
    for number, (_, strip) in enumerate(pairs, 1):
        yield Card(tuple(_strip_question(len(pairs) + number, strip)))
    yield NewPage()
    yield Heading("Answers, with the reason")
    for number, (way, _) in enumerate(pairs, 1):
        yield Text(way_answer(way), f"{number}.")
    for number, (_, strip) in enumerate(pairs, 1):
        yield Text(strip_answer(strip), f"{len(pairs) + number}.")
    yield Text("Of whole sides another sharing is as good if gap and tension come out as near. The neighbours of one "
               f"bad nipple only answer to it: leave them alone. {RULE.strip('()')}")
    yield Text(CAUTION)


def _any_height(draw: Callable[[float], Drawing]) -> Callable[[float, float], Drawing]:
    """A picture whose height follows from its width alone."""
    return lambda width, _: draw(width)


def _way_question(number: int, way: WaySheet) -> Iterator[Block]:
    gauge = way.shown.gauge
    read = OTHER["right" if gauge.set_on == "right" else "left"]
    wheel, usual = way.before.wheel, way.before.usual
    table = Rows(("spoke: N", *("" for _ in way.tensions["right"]), "usual"), tuple(
        (side, *(f"{spoke}: {value:.0f}" for spoke, value in way.tensions[side]), f"{usual[side]:.0f}")
        for side in SIDES))
    yield Beside(Picture(_any_height(gauge_picture(gauge.gap_at, gauge.low)), _alt(gauge.gap_at, gauge.low)), (
        Text(f"Set on the {gauge.set_on} face, read on the {read}: {gauge.low / MM:.1f} mm "
             f"{'at the hub' if gauge.gap_at == 'hub' else 'under both feet'}. {wheel.name[:1].upper()}"
             f"{wheel.name[1:]}; highest allowed {way.limits.max_tension:.0f} N.", f"{number}."),
        Fill((("The rim must go", 28.0),)),
        Fill((("Turn", 60.0),))), 0.36)
    yield table
    yield Text("A quarter turn " + "; ".join(
        f"of all {side} nipples: gap {gap / MM:.1f} mm, right {right:.0f} N, left {left:.0f} N"
        for side, (gap, right, left) in quarter_turns(way).items()) + ".")


def _strip_question(number: int, strip: StripSheet) -> Iterator[Block]:
    yield Text(f"Limits: true {strip.case.limits.lateral_runout / MM:.1f} mm, spread "
               f"{100 * strip.case.limits.side_spread:.0f} % of a side's mean.", f"{number}.")
    seen = strip.seen
    yield Picture(flat(Three(seen.wheel, seen, None, None, np.zeros(seen.wheel.n))),
                  f"The rim laid out flat: true {seen.true / MM:.2f} mm, tensions of all spokes")
    yield Fill((("Spoke", 14.0), ("tighten or loosen", 24.0), ("by", 16.0)))


def quarter_turns(way: WaySheet) -> dict[Side, tuple[float, float, float]]:
    """What a quarter turn of a whole side changes: gap [m], right and left mean [N], by side."""
    state = way.before.state
    out = {}
    for side in SIDES:
        turns = np.zeros(state.wheel.n)
        turns[state.wheel.pulling(side)] = QUARTER
        change = state.influence.tension @ turns
        right, left = (float(change[state.wheel.pulling(one)].mean()) for one in SIDES)
        out[side] = abs(2 * float((state.influence.lateral @ turns).mean())), right, left
    return out


def way_answer(way: WaySheet) -> str:
    """Which way and what to turn, why, and what it comes to."""
    moves = [f"{'tighten' if turn > 0 else 'loosen'} every {side} nipple {turns_text(abs(turn))}"
             for side, turn in sorted(way.turns.items(), key=lambda item: item[1]) if turn]
    before, after = way.before, way.after
    now, usual = (" and ".join(f"{of[side]:.0f}" for side in SIDES) for of in (before.mean, before.usual))
    return (f"{' then '.join(moves).capitalize()}. {way.shown.why} Right and left carry {now} N on average, usual is "
            f"{usual}: {STAND_WORDS[way.stands]}. "
            f"The gap goes from {abs(before.gap) / MM:.1f} to {abs(after.gap) / MM:.1f} mm, the right mean to "
            f"{after.mean['right']:.0f}, the left to {after.mean['left']:.0f} N, the highest spoke from "
            f"{before.highest:.0f} to {after.highest:.0f} N.")


def strip_answer(strip: StripSheet) -> str:
    """The nipple, why it is the one, and what its turn comes to."""
    wheel = strip.seen.wheel
    side = next(side for side in SIDES if strip.spoke - 1 in wheel.on_side(side))
    verb = "Tighten" if strip.amount > 0 else "Loosen"
    own = strip.seen.state.tension[strip.spoke - 1]
    leans = side if strip.amount < 0 else OTHER[side]
    return (f"{verb} spoke {strip.spoke} ({side}) by {turns_text(abs(strip.amount))}, then read again. It pulls "
            f"{own:.0f} N where its side has {strip.seen.mean[side]:.0f} N on average, so the rim leans {leans} there "
            "and nowhere else. The true goes from "
            f"{strip.seen.true / MM:.2f} to {strip.after.true / MM:.2f} mm.")


def _alt(gap_at: str, gap: float) -> str:
    shows = "a gap at the hub" if gap_at == "hub" else "both feet lifted off the rim"
    return f"A gauge across the wheel, two feet over the rim and a tip over the hub: {shows}, {gap / MM:.1f} mm"


def gauge_picture(gap_at: str, gap: float) -> Callable[[float], Drawing]:
    """What the gauge shows, for any width: a bar with two feet over the rim and a tip over the hub.

    Common practice, no source: three points of contact; the gap is drawn larger than it is.
    """
    return lambda width: _gauge(gap_at, gap, width)


def _gauge(gap_at: str, gap: float, width: float) -> Drawing:
    at_hub = gap_at == "hub"
    middle, inset, shown = width / 2, 6.0, 4.0
    lift = 0.0 if at_hub else shown
    rim_top, foot = 22.0, 22.0 - lift  # the feet stand on the rim, or above it [mm]
    tip = 13.0 - lift
    face = 13.0 + shown if at_hub else tip  # the hub's face: below the tip, or touching it
    bar = 4.5 - lift
    shapes: list[Shape] = [box(inset - 2.0, bar, width - 2 * inset + 4.0, 2.2, GREY, INK)]
    for x in (inset, width - inset):
        shapes.append(line(x, bar + 2.2, x, foot, 1.0))
        shapes.append(box(x - 4.0, rim_top, 8.0, 7.0, PALE, INK, 0.4))
    shapes += arrow(((middle, bar + 2.2), (middle, tip)), 1.0, INK, 3.0)
    shapes.append(box(middle - 6.0, face, 12.0, 32.0 - face, PALE, INK, 0.4))
    shapes.append(Words((middle, 30.5), "hub", align="middle"))
    shapes.append(Words((inset, rim_top + 5.2), "rim", align="middle", size=TYPE))
    shapes.append(Words((width - inset, rim_top + 5.2), "rim", align="middle", size=TYPE))
    text = f"{gap / MM:.1f} mm"
    if middle - 6.0 - inset - 5.5 < text_width(text, TYPE):
        text = ""  # no room: the words beside the picture say it
    if at_hub:
        shapes += [line(middle + 1.5, tip, middle + 9.0, tip, 0.25), line(middle + 6.0, face, middle + 9.0, face, 0.25)]
        shapes.append(Words((middle + 8.0, (tip + face) / 2 + 0.36 * TYPE * PT - 4.4), text))
    else:
        for x in (inset, width - inset):
            shapes += [line(x - 4.0, foot, x + 4.0, foot, 0.25, INK, (0.8, 0.6))]
        shapes.append(Words((inset + 5.5, (foot + rim_top) / 2 + 0.36 * TYPE * PT), text))
    return Drawing(width, 33.0, tuple(shapes))
