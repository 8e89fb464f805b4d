"""Assumptions, and readings or turns in doubt, in words."""

from collections.abc import Collection, Sequence

from wheelsim.estimation.assumed import (
    AsNominal,
    AsReadBefore,
    Assumed,
    Centred,
    EarlierUnused,
    NewSpokes,
    OwnShapeOnly,
    TyreTakes,
    UsualMean,
)
from wheelsim.estimation.doubts import (
    Contradicted,
    Doubt,
    DoubtedReading,
    GaugeFarOff,
    GaugeUnexpected,
    KgfAsNewtons,
    ManyTimes,
    NewtonsAsKgf,
    SidesSwapped,
    SomeKgf,
    Unbalanced,
)
from wheelsim.estimation.expected import Slip, Unexpected
from wheelsim.estimation.gauge_before import GaugeBefore
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.estimation.large_turns import LargeTurn
from wheelsim.estimation.outliers import NewKink, TurnedOtherwise
from wheelsim.estimation.outlook import Outlook
from wheelsim.estimation.slips import PassAstray, PassSlip
from wheelsim.measures.quantities import Quantity
from wheelsim.report.words.measures import limit_words
from wheelsim.report.words.shared import passes_words, signed_gap, spokes_words, when_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.sides import OTHER

POINT_FROM = 5.0  # own choice: from so many times what all else says on, a point is asked about
SUSPECT = "Suspect"
HARDLY = 0.35  # own choice: a nipple that moved by less than this share of the turn logged "hardly" moved
TOOL = {"gauge": "gauge", "lateral": "lateral dial", "radial": "radial dial", "tension": "tensions"}
READING: dict[str, str] = {"tension": "tension", "lateral": "lateral dial", "radial": "radial dial"}
SHOWN = {"kgf": "kgf", "meter": "on the meter", "Hz": "Hz"}
TOWARD: dict[str, tuple[str, str]] = {"lateral": ("left", "right"), "radial": ("inward", "outward")}


def assumed_words(one: Assumed) -> str:
    """What was assumed, without a full stop."""
    match one:
        case AsNominal():
            return "the wheel is true and centred at its nominal tension"
        case Centred():
            return "no gauge reading: the rim is taken as centred"
        case OwnShapeOnly(dial):
            what = "true" if dial == "lateral" else "round"
            return f"no {dial} dial reading: the rim is taken as {what} but for what the other readings say"
        case UsualMean(read, side, usual, sd):
            few = f"only {read} tension{'s' * (read > 1)} read" if read else "no tension read"
            return (f"{few}: the mean of the {side} side is taken from [tension], {usual:.0f} N +- {100 * sd:.0f} %, "
                    "and the other side from lateral balance")
        case TyreTakes(share, sd):
            return (f"read with the tyre inflated: it takes some {100 * share:.0f} +- {100 * sd:.0f} % of the tension; "
                    "what is shown is the wheel without it")
        case EarlierUnused():
            return ("a reading before is not used: the later one contradicts it and no pass between is logged "
                    "(wheelsim log JOB --turned ... writes it down)")
        case AsReadBefore(tools):
            return (f"{', '.join(TOOL[tool] for tool in tools)} as read before, with what the turns since have done "
                    "and the doubt they add")
        case NewSpokes(spokes):
            return (f"{spokes_words(spokes)} missing: put in new first, drawn up just short of pulling; the plan "
                    "starts there")


def doubt_words(one: Doubt) -> str:
    """What is in doubt, why, and what to check; without a full stop, or ending in a question mark."""
    match one:
        case Unbalanced(high, excess, read, balanced, gauged):
            gauge = "; the dish is taken from the gauge (set on the face that is written?)" if gauged else ""
            return (f"right to left the tensions read {read:.2f}, lateral balance says {balanced:.2f}: {high} reads "
                    f"{100 * excess:.0f} % high against {OTHER[high]}. A wheel can't do that; check the flange "
                    f"distances, the meter on these spokes, the numbering{gauge}")
        case GaugeFarOff() | DialFarOff() | Contradicted() | GaugeUnexpected() | GaugeBefore():
            return _far_off(one)
        case DoubtedReading(outlier, value, likely, shown, after_pass):
            typed = "" if shown is None else f" ({shown.value:g} {SHOWN[shown.unit]})"
            said, else_says = (f"{one:.0f} N" if outlier.kind == "tension" else f"{one / MM:.2f} mm"
                               for one in (value, likely))
            point = f"; all else says {else_says}: is there a point missing?" if abs(likely) < abs(value) / POINT_FROM \
                else ""
            return (f"{READING[outlier.kind]} at spoke {outlier.spoke}{when_words(after_pass)}, {said}{typed}, is "
                    f"{'higher' if outlier.higher else 'lower'} than all else says: read it again{point}")
        case NewKink(spoke, direction, height):
            return (f"the rim has a bend at spoke {spoke} that was not there before, {abs(height) / MM:.1f} mm "
                    f"{TOWARD[direction][height > 0]}, and nothing turned explains it: look for a crack there, and if "
                    "there is one, stop")
        case TurnedOtherwise():
            return _turned(one)
        case PassAstray():
            return _pass_astray(one)
        case LargeTurn():
            return f"{large_turn_words(one)} Nothing was read since"
        case KgfAsNewtons(lowest, highest):
            return (f"all tensions lie between {lowest:.0f} and {highest:.0f} N: is this kgf? (tension_kgf takes "
                    "kilograms)")
        case NewtonsAsKgf():
            return ("all tensions stand near ten times the nominal: newtons written as kilogram-force, here or under "
                    "[tension]?")
        case ManyTimes(times):
            return (f"all tensions stand near {times:.0f} times the nominal: tones an octave high, or a meter's chart "
                    "for other spokes?")
        case SomeKgf(spokes):
            return (f"tension of {spokes_words(spokes)} stands near a tenth of the nominal, the others near it: "
                    "kilogram-force among newtons, a digit missing, or as loose as that?")
        case SidesSwapped():
            return ("left and right tensions stand the wrong way round for these flanges: sides swapped, or the "
                    "numbering off by one?")


def _far_off(one: GaugeFarOff | DialFarOff | Contradicted | GaugeUnexpected | GaugeBefore) -> str:
    """A gauge or a dial that shows what no wheel has, or something else than before or than was expected."""
    match one:
        case GaugeFarOff(read):
            return (f"the gauge shows {signed_gap(read)}, more than any wheel that is brought in: is there a point "
                    "missing, or another unit?")
        case Contradicted(by, before, now, _):
            what, again = ("the tensions aren't those read before", "read some again") \
                if by != "gauge" or before is None or now is None else \
                (f"the gauge shows {signed_gap(now)}, before it showed {signed_gap(before)}", "read it again")
            return (f"{what}, and nothing is logged as turned between: {again}, or log what was turned. Until then "
                    "what was read before is not used")
        case DialFarOff(dial, runout, float(before)):
            return (f"the {READING[dial]} shows {runout / MM:.2f} mm from its lowest place to its highest, before it "
                    f"was {before / MM:.2f} mm: is the point missing? Read it again")
        case DialFarOff(dial, runout):
            return (f"the {READING[dial]} shows {runout / MM:.1f} mm from its lowest place to its highest, more than "
                    "nipples take out: is the point missing, or are these hundredths? Read it again; what it shows the "
                    "same twice is a bent rim, straightened or replaced by the makers' rules")
        case GaugeUnexpected(read, expected, True):
            return (f"the gauge shows {signed_gap(read)}, read twice, where {signed_gap(expected)} was expected after "
                    "what was turned: the pass, or the gauge before it, isn't as it is logged. What was turned "
                    "otherwise? The gauge is taken as it stands")
        case GaugeUnexpected(read, expected):
            point = ", with its point" if abs(read / 10 - expected) < abs(read - expected) / POINT_FROM else ""
            return (f"the gauge shows {signed_gap(read)} where {signed_gap(expected)} was expected after what was "
                    "turned: read it again. Was it, and the one before it, set on the face and read at the place, hub "
                    f"or feet, that is written{point}? Was the pass turned as it is logged? Until then what it shows "
                    "is taken as true")
        case GaugeBefore(after_pass, read):
            when = f"after pass {after_pass}" if after_pass else "as received"
            return (f"the gauge {when}, {signed_gap(read)}, contradicts what was turned and read since; set on the "
                    "other face, or hub for feet, it fits. It is taken so until set_on or gap_at is put right there in "
                    "the job file")


def read_again_words(one: Doubt) -> str:
    """What is read again where this is in doubt, in a few words."""
    match one:
        case PassAstray(number):
            return f"gauge and some tensions of both sides (pass {number} can't be as it is logged)"
        case GaugeUnexpected(_, _, True):
            return "some tensions of both sides (the pass, or the gauge before it, isn't as it is logged)"
        case GaugeUnexpected() | GaugeFarOff():
            return "the gauge"
        case Contradicted(by):
            return "the gauge" if by == "gauge" else "some tensions of both sides"
        case Unbalanced():
            return "the gauge (set on the other face it would fit the tensions)"
        case DialFarOff(dial):
            return f"the {READING[dial]} all round"
        case DoubtedReading(outlier):
            return f"the {READING[outlier.kind]} at spoke {outlier.spoke}"
        case GaugeBefore():
            return "some tensions of both sides"
        case SomeKgf(spokes):
            return f"the tension of {spokes_words(spokes)}"
        case LargeTurn(number):
            return f"the gauge (pass {number} may not be as it is logged)"
    return "the tensions"


def suspect_lines(suspects: Sequence[Doubt], first: Collection[Doubt]) -> list[str]:
    """A line for each, and what comes of them: what is read, or looked at, before anything is turned."""
    lines = [f"{SUSPECT}: {words}{'' if words.endswith('?') else '.'}" for words in map(doubt_words, suspects)]
    if first:
        again = list(dict.fromkeys(map(read_again_words, first)))
        lines.append(f"Before you turn anything, read again and log {', '.join(again)}: what shows the same twice "
                     "stands.")
    elif any(isinstance(one, NewKink | TurnedOtherwise) for one in suspects):
        lines.append("Look at that before you turn anything.")
    elif any(isinstance(one, DoubtedReading) for one in suspects):
        lines.append("Read that again as you go: true or not, it changes little of what is turned.")
    elif suspects:
        lines.append("See to that before the wheel is signed off.")
    return lines


def unexpected_words(one: Unexpected) -> str:
    """What is far from what was expected, by how much, and what slip would explain it; without a full stop."""
    times = f"{one.deviations:.0f} standard deviations off"
    if one.tool == "gauge":
        what = f"gauge: {signed_gap(one.read)} read, {signed_gap(one.low)} to {signed_gap(one.high)} expected"
    elif one.tool == "tension":
        what = f"tension at spoke {one.spoke}: {one.read:.0f} N read, {one.low:.0f} to {one.high:.0f} N expected"
    else:
        where = "run-out" if one.spoke is None else f"at spoke {one.spoke}"
        what = (f"{READING[one.tool]}: {where} {one.read / MM:.2f} mm read, "
                f"{one.low / MM:.2f} to {one.high / MM:.2f} mm expected")
    return f"{what} ({times}): {_slip_words(one)}"


def large_turn_words(one: LargeTurn) -> str:
    """That a turn is larger than is given in one pass, and what may have been meant; a full sentence."""
    where = f"every {one.side} spoke" if one.side else f"spoke {one.spoke}"
    which = f"pass {one.number}: " if one.number else ""
    more = f"far more than the {turns_text(one.planned, signed=True)} planned" if one.planned is not None else \
        "more than is turned in one pass"
    meant = " Is it as turned?" if one.meant is None else f" Was it {turns_text(one.meant, signed=True)}?"
    return f"{which}{where} {turns_text(one.turns, signed=True)} turns, {more}.{meant}"


def _slip_words(one: Unexpected) -> str:
    """The slip that would explain it, or what to ask where none does."""
    match one.slip:
        case Slip.OTHER_WAY if one.tool == "gauge":
            return "set on the other face, or feet for hub?"
        case Slip.OTHER_WAY:
            return f"plus for minus? Plus is {TOWARD[one.tool][1]}"
        case Slip.FEET:
            return "held level for one foot, or the reverse?"
        case Slip.OTHER_WAY_AND_FEET:
            return "hub for one foot, or the reverse?"
        case Slip.TENFOLD:
            return "is there a point missing, or another unit?"
        case Slip.TENTH:
            return "is there a point too many, or another unit?"
    return "read it again; was something turned that is not logged?"


def chance_words(ahead: Outlook, unread: Collection[Quantity]) -> str:
    """How many wheels end within, without a full stop; or what would have to be read to tell."""
    hidden = ahead.hidden_by(unread)
    if hidden:
        return f"not enough read: {', '.join(map(limit_words, hidden))}; chance not told"
    share = round(100 * ahead.chance_within)
    chance = "fewer than 1" if share < 1 else "more than 99" if share > 99 else str(share)
    return f"{chance} in 100 such wheels end within every limit"


def check_words(ahead: Outlook, numbers: Sequence[int], unread: Collection[Quantity]) -> str:
    """What reading again on the way is worth, as a further sentence after a blank; ``numbers`` are of the passes."""
    k = ahead.check_after
    if k is None or ahead.hidden_by(unread):
        return ""
    return (f" Read again after pass {numbers[k - 1]} and planned anew from there: "
            f"{100 * ahead.with_check[k - 1]:.0f} in 100.")


def _way(turns: float) -> str:
    """``1/4 looser``."""
    return f"{turns_text(abs(turns))} {'tighter' if turns > 0 else 'looser'}"


def _pass_astray(one: PassAstray) -> str:
    """What a pass is logged as, and as what it would fit; how to put it right."""
    where = f" on the {one.side}" if one.side else ""
    logged = f"pass {one.number} is logged as {_way(one.logged)}{where}, and what was read after it contradicts that"
    right = (f"its turns under number = {one.number} in the job file, or wheelsim log JOB --take-back and log them "
             "again")
    if one.slip is None or one.fits is None:
        return (f"{logged} whatever slip is thought of: read gauge and some tensions of both sides again, and see what "
                f"was turned ({right})")
    if one.slip is PassSlip.NOT_MADE:
        return f"{logged} and fits if nothing was turned. Taken so until it is put right: {right}"
    fits = _way(one.fits) + (f" on the {OTHER[one.side]}" if one.side and one.slip is PassSlip.OTHER_SIDE else "")
    why = {PassSlip.OTHER_WAY: "plus for minus, or the reverse", PassSlip.OTHER_SIDE: "one side for the other"}.get(
        one.slip, f"{turns_text(abs(one.logged))} for {turns_text(abs(one.fits))}")
    return f"{logged} and fits {fits}: {why}? Taken as {fits} until it is put right: {right}"


def _turned(one: TurnedOtherwise) -> str:
    """How a nipple moved against its logged turn, and the possible cause."""
    which = passes_words(one.passes) if one.passes else "between the readings"
    moved = f"{abs(one.moved):.2f} turn {'tighter' if one.moved > 0 else 'looser'}"
    if not one.logged:
        cause = "was it turned, and not logged? If it wasn't, look at the rim there for a crack" if one.moved > 0 else \
            "if it wasn't turned, look for a crack at its hole in rim and flange; if there is one, stop"
        return f"spoke {one.spoke} stands as if turned {moved} ({which}), and no turn of it is logged: {cause}"
    logged = f"{turns_text(abs(one.logged))} {'tighter' if one.logged > 0 else 'looser'}"
    if abs(one.moved) < HARDLY * abs(one.logged):
        return (f"spoke {one.spoke} was turned {logged} ({which}), and hardly anything came of it: does its nipple "
                "turn the spoke with it, or was it left out?")
    return f"spoke {one.spoke} was turned {logged} ({which}), and stands as if turned {moved}: is the log right?"
