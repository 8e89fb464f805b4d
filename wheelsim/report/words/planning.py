"""What goes with a plan's passes, in words: what to do first, cautions, advice."""

from wheelsim.estimation.assumed import NewSpokes
from wheelsim.measures.bounds import LowerLimit, broken
from wheelsim.measures.on_the_way import RISE_ABOVE
from wheelsim.measures.quantities import Quantity
from wheelsim.planning.notes import (
    AimsNotHad,
    EndsOffUsual,
    HeldStill,
    MarginGiven,
    MarginInTheWay,
    NoMargin,
    NotInWholeSteps,
    PlainMargin,
    PlanAdvice,
    ReadAgain,
    RimBent,
)
from wheelsim.planning.plan_result import Plan
from wheelsim.planning.what_first import ComesInHigh, First, NotReadSince, NotTurned, TrueFirst
from wheelsim.report.words.held import holds_words
from wheelsim.report.words.measures import limit_words, lower_limit_words
from wheelsim.report.words.shared import new_spokes_words, spokes_words
from wheelsim.report.words.what_first import true_first_words
from wheelsim.units import MM, number_list, turns_text

CAUTIONS = (
    "The lower of the rim maker's and the spoke maker's tension limit comes first, whatever stands here.",
    "A crack at a spoke hole or flange, a worn brake track or a bent axle: stop, no turning. Never force a seized "
    "nipple: free it, or mark it stuck in the job.",
    "Tyre off or down before more than half a turn. Eyes clear of the spokes' line; a spoke can let go.",
    "Squeeze pairs to settle after every tightening round and read again; ride only what was read within limits.",
)


def first_words(one: First) -> str:
    """What to do or know before the first pass, in full sentences."""
    match one:
        case NewSpokes(spokes):
            until = "it up until it just doesn't" if len(spokes) == 1 else "them up until they just don't"
            return f"Put in {new_spokes_words(spokes)}, and draw {until} rattle."
        case NotTurned(spokes):
            return f"Not turned, stuck or left alone: {spokes_words(spokes)}."
        case ComesInHigh(limit, highest):
            return (f"The wheel comes in with spokes above {limit:.0f} N, the highest at {highest:.0f} N: they come "
                    f"down first, and none rises {RISE_ABOVE:.0f} N above where it came in.")
        case NotReadSince(passes):
            return (f"Not read since pass {number_list(passes)}: this plan goes on from the prediction. Read gauge, "
                    "dial and a few tensions, and plan again.")
        case TrueFirst():
            words = true_first_words(one)
            return f"{words[0].upper()}{words[1:]}."


def plan_advice_words(one: PlanAdvice) -> str:
    """Advice that follows a plan, without a full stop."""
    match one:
        case AimsNotHad(but):
            unless = f", but for {', '.join(map(limit_words, but))}, of which not enough was read" if but else ""
            return f"the aims can't all be had in the time: this plan ends within the limits{unless}"
        case PlainMargin():
            return ("no plan keeps the highest and lowest tension in as many wheels as the margin promises, so little "
                    "is known of each spoke: this one keeps the margin at the likeliest wheel only; read between "
                    "passes")
        case NoMargin():
            return ("no plan keeps a margin from the limits for what the readings leave unsure: this one keeps them at "
                    "the likeliest wheel and no more; read between passes")
        case MarginGiven(given):
            return (f"few tensions were read, and of the margin below the highest allowed {given:.0f} N is given up so "
                    "that the wheel ends near its usual tension: read more of them before the last pass")
        case EndsOffUsual(off, aim):
            return (f"tension ends {100 * abs(off):.0f} % {'below' if off < 0 else 'above'} the usual, as near as is "
                    f"asked for ([aims] tension_percent, {100 * aim:.0f}); a smaller one brings it nearer")
        case ReadAgain(spokes):
            return (f"mend {spokes_words(spokes)} first, then read gauge, dial and tensions again, log it and plan "
                    "anew: what is left may look otherwise then")
        case NotInWholeSteps(step, no_order, finer, finer_turns):
            why = ("for the turns that would do, no order of passes keeps every spoke within its limits on the way"
                   if no_order else f"none in whole steps of {turns_text(step)} turn was found in the time")
            if finer is None or finer_turns is None:
                return f"a plan in fractions of a step exists, but {why}; try more time or a finer step"
            return (f"{why}; in steps of {turns_text(finer)} a plan exists, {turns_text(finer_turns)} turns in all: "
                    f"--step {turns_text(finer)}")
        case MarginInTheWay(kept):
            return (f"the readings leave the tensions unsure, and {kept:.0f} N is kept from the highest allowed for "
                    "it; with nothing kept there may be a plan: --margin 0, or read again to be surer (a meter held "
                    "against a hanging weight: [errors] in the job)")
        case HeldStill(by):
            return ("with every nipple free to turn a plan exists, in fractions of a step; in the way: "
                    + holds_words(by))
        case RimBent(quantity, height):
            what = "out of true" if quantity is Quantity.TRUE else "out of round"
            return (f"the rim itself is bent {height / MM:.1f} mm {what}, which no spoke length explains (or the dial "
                    "was written tenfold: see to its point): pulling it straight costs even tension; a rim bent that "
                    "far is straightened or replaced by the makers' rules, not trued")
        case LowerLimit():
            return lower_limit_words(one)


def ends_words(plan: Plan) -> tuple[str, ...]:
    """Where a plan ends short of its aims; and past a limit, in what nobody read or where odd spokes come first."""
    values = {} if plan.after is None else plan.after.values
    past = broken(values, plan.limits)
    rest = [name for name in plan.unmet if name not in past]
    lines = []
    waits = any(isinstance(one, ReadAgain) for one in plan.advice)
    for names, words in (([name for name in past if not waits or name in plan.unread],
                          "Not read, and past its limit by what the other readings tell: {}. Read it first, and as you "
                          "turn."),
                         ([name for name in past if waits and name not in plan.unread],
                          "Still past its limit then: {}. That comes next, from the new readings.")):
        told = ", ".join(f"{limit_words(name)} {values[name] * name.per_si:.2f} {name.unit} (limit "
                         f"{plan.limits.of(name) * name.per_si:.2f} {name.unit})" for name in names)
        if told:
            lines.append(words.format(told))
    if rest:
        lines.append(f"Within {'the other ' if past else ''}limits, but not to the aim in: "
                     f"{', '.join(map(limit_words, rest))}.")
    return tuple(lines)
