"""Advice of an assessment in words; checks by eye and hand that come first."""

from collections.abc import Sequence

from wheelsim.measures.bounds import LowerLimit
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands
from wheelsim.planning.notes import Hold
from wheelsim.planning.stands_out import OddSpoke
from wheelsim.report.words.estimation import READING
from wheelsim.report.words.held import holds_words
from wheelsim.report.words.measures import limit_words, lower_limit_words
from wheelsim.report.words.shared import new_spokes_words, no_stable_words, spokes_words, when_words
from wheelsim.report.words.what_first import wobble_words
from wheelsim.stand.advice import (
    Advice,
    Bowed,
    NoQuarterHelps,
    NoStableWheel,
    NotReadSince,
    OddFirst,
    OddHeld,
    PutIn,
    ReadDial,
    ReadGauge,
    ReadSpokeAgain,
    ReadTensions,
    RimLies,
    SidesHeld,
    SideUnknown,
    SlackAtTheGround,
    TurnSides,
    WithinAim,
    Wobble,
)
from wheelsim.stand.assessment import Assessment, Judgement
from wheelsim.units import MM, number_list, turns_text

EYE_CHECKS = (
    "cracks at spoke holes, rim bed, flanges or hub shell: any crack means stop, this wheel is not trued",
    "brake track not worn past its mark",
    "end caps on, axle straight, no play in the bearings: the gauge stands on them",
    "no nipple seized or rounded; no spoke bent or nicked",
    "tyre off, or written down as inflated",
)
JUDGED: dict[Judgement, str] = {"within": "Within its limits", "outside": "Outside its limits",
                                "unknown": "Can't tell: what was read is not enough, or too near a limit"}
IN_DOUBT = "Can't tell: what was read is in doubt, and decides"
NOT_ENOUGH = "not enough read"
NOT_READ = "not read"
STANDS = {Stands.SLACK: "the wheel is slack", Stands.TIGHT: "the wheel is tight",
          Stands.ABOUT_RIGHT: "its tension is about right"}
UNREAD = "its tension is taken as usual"
PASSED = {Quantity.HIGHEST: "its highest spoke is past its limit", Quantity.LOWEST: "its lowest spoke is too loose"}


def judged_words(found: Assessment) -> str:
    """The verdict, and that the wheel is slack or tight where it is, in one sentence."""
    words, how = JUDGED[found.verdict], off_usual_words(found)
    if found.verdict == "unknown" and any(check.doubted or check.in_doubt for check in found.checks):
        words = IN_DOUBT
    if not how:
        return f"{words}."
    if found.verdict == "unknown":
        return f"{words}. It is {how}."
    return f"{words}, {'but' if found.verdict == 'within' else 'and'} {how}."


def off_usual_words(found: Assessment) -> str:
    """That the wheel is slack or tight, by the side that is farthest off: ``slack: right 574 N where ...``; or none."""
    if found.stands not in (Stands.SLACK, Stands.TIGHT):
        return ""
    most = max(found.usual, key=lambda side: abs(side.off))
    return f"{found.stands.value}: {most.side} {most.mean:.0f} N where {most.usual:.0f} N is usual"


def advice_words(one: Advice) -> str:
    """A piece of advice, without a full stop."""
    match one:
        case NoStableWheel(because):
            return f"no stable answer: {no_stable_words(because)}"
        case NotReadSince(passes):
            return (f"not read since pass {number_list(passes)}: what stands here is the prediction; read the gauge, "
                    "the dial and a few tensions before the wheel is turned again or signed off")
        case SideUnknown(sd):
            return f"which side the rim lies can't be told: its offset is known to {sd / MM:.2f} mm only"
        case RimLies():
            return _rim_lies(one)
        case TurnSides():
            return _by_sides(one)
        case SidesHeld(wanted, by):
            reason = _reason(wanted)
            return f"{reason or 'whole sides ought to be turned'}, and {_not_allowed(by)}"
        case OddFirst(spokes):
            return _odd_first(spokes)
        case OddHeld(spoke, by):
            held = (f"to {'tighten' if spoke.turn > 0 else 'loosen'} its nipple would mend that, and the job does not "
                    f"allow it ({holds_words([by])})")
            return f"{_far_off([spoke])}{', and it is stuck: free it first' if by is Hold.STUCK else f'; {held}'}"
        case PutIn(spokes):
            until = "it until it is" if len(spokes) == 1 else "each until it is"
            return (f"put in {new_spokes_words(spokes)}, and tighten {until} about as tight as its side; then read "
                    "again before anything else is turned")
        case Wobble():
            return wobble_words(one)
        case ReadSpokeAgain():
            return _read_again(one)
        case ReadGauge():
            return "next, read the gauge: nothing else tells the dish"
        case ReadDial("lateral"):
            return "next, read the lateral dial at each spoke: it tells true, and uneven tension with it"
        case ReadDial():
            return "next, read the radial dial at each spoke"
        case ReadTensions(spokes, sd, sd_then):
            return (f"next, read the tension of {spokes_words(spokes)}: spokes are known to {sd:.0f} N on average, "
                    f"then to {sd_then:.0f} N")
        case Bowed(more):
            return (f"between its spokes the rim is {more / MM:.2f} mm less round than at them: tension bows it there, "
                    "and no single nipple takes that away; less tension or a stiffer rim would")
        case LowerLimit():
            return lower_limit_words(one)
        case SlackAtTheGround(lever, radial, spoke, load, stated):
            weight = f" under {radial:.0f} N of wheel load" if radial else ", no wheel load stated"
            return (f"from the side at the ground, {lever / MM:.0f} mm outside the rim's section{weight}, spoke "
                    f"{spoke} is the first to go slack, at {load:.0f} N (stated side load {stated:.0f} N; not a limit)")


def _read_again(one: ReadSpokeAgain) -> str:
    value, likely = (f"{value:.0f} N" if one.kind == "tension" else f"{value / MM:.2f} mm"
                     for value in (one.value, one.likely))
    what = f"the {READING[one.kind]} at spoke {one.spoke}"
    past = ", ".join(map(limit_words, one.past))
    if one.stands:
        return (f"{what} was read again and stands at {value}, where all else says {likely}: that would be past the "
                f"limit in {past}; see why before the wheel is signed off")
    return (f"read {what} again before anything else: if {value}{when_words(one.after_pass)} is true it is past the "
            f"limit in {past} (all else says {likely}); log it, and what shows the same twice stands")


def _rim_lies(one: RimLies) -> str:
    lies, move = ("right", "left") if one.off > 0 else ("left", "right")
    of_target = f" of where it should be (target dish {one.target / MM:+z.2f} mm, plus right)" if one.target else ""
    where = f"the rim lies {abs(one.off) / MM:.2f} mm {lies}{of_target}"
    match one.then:
        case WithinAim(aim):
            return f"{where}; that is within the aim of {aim / MM:.1f} mm of gap, leave it"
        case NoQuarterHelps():
            return f"{where}; no quarter of a side brings it nearer, leave it"
        case TurnSides():
            then = one.then
            link = "; " if _reason(then) else ": "
            return f"{where}; it must move {move}{link}{_by_sides(then)}"
        case SidesHeld(wanted, by):
            reason = _reason(wanted) if wanted.stands is not Stands.ABOUT_RIGHT else ""
            return f"{where}; it must move {move}{'; ' if reason else ''}{reason}, and {_not_allowed(by)}"
        case None:
            return f"{where}; it must move {move}"


def _not_allowed(by: tuple[Hold, ...]) -> str:
    return f"the job does not allow what would do it ({holds_words(by)})"


def _by_sides(one: TurnSides) -> str:
    if one.right == one.left:
        what = f"{'tighten' if one.right > 0 else 'loosen'} both sides evenly, a quarter a round"
    else:
        # Loosening comes before tightening; where both go one way, first the side that is turned more, which centres.
        order = sorted((("right", one.right), ("left", one.left)), key=lambda pair: (pair[1] > 0, -abs(pair[1])))
        what = ", then ".join(f"{'tighten' if turns > 0 else 'loosen'} {side}" for side, turns in order if turns)
    reason = _reason(one)
    but = f" (not {spokes_words(one.still)})" if one.still else ""
    return f"{reason}: {what}{but}" if reason else f"{what}{but}"


def _reason(one: TurnSides) -> str:
    """Why these sides and this way, in words; none where the overall tension doesn't ask for it."""
    fits = {Stands.SLACK: min(one.right, one.left) >= 0, Stands.TIGHT: max(one.right, one.left) <= 0,
            Stands.ABOUT_RIGHT: one.right * one.left <= 0}
    if one.passed is not None and (one.stands is Stands.ABOUT_RIGHT or not fits[one.stands]):
        return PASSED[one.passed]
    if one.stands is Stands.ABOUT_RIGHT and not one.tensions_read:
        return UNREAD if fits[one.stands] else ""
    return STANDS[one.stands] if fits[one.stands] else ""


def _odd_first(spokes: tuple[OddSpoke, ...]) -> str:
    """The one or two spokes that stand out, and their turns."""
    verbs = ["tighten" if one.turn > 0 else "loosen" for one in spokes]
    amounts = [turns_text(abs(one.turn)) for one in spokes]
    if len(spokes) == 1:
        what = f"{verbs[0]} its nipple first, by about {amounts[0]} turn"
    else:
        what = " and ".join(f"{verb} spoke {one.spoke} by about {amount}"
                            for one, verb, amount in zip(spokes, verbs, amounts, strict=True)) + " turn first"
    return f"{_far_off(spokes)}: {what}, then read again"


def _far_off(spokes: Sequence[OddSpoke]) -> str:
    """``spoke 9 is far tighter than its side (1400 N, the others 1000 N) and spoke 11 far looser (...)``."""
    return " and ".join(
        f"{'spoke ' + str(one.spoke)}{' is' if k == 0 else ''} far {'looser' if one.turn > 0 else 'tighter'}"
        f"{' than its side' if k == 0 else ''} ({one.tension:.0f} N, the others {one.others:.0f} N)"
        for k, one in enumerate(spokes))
