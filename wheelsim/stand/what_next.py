"""What to do or to read next, as an assessment advises it."""

from dataclasses import replace

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.measures.bounds import Bounds, broken, from_load, resolved, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View
from wheelsim.mechanics.loads import first_slack, ground_lever
from wheelsim.planning.by_hand import rim_unread
from wheelsim.planning.goal import Goal, goal_of
from wheelsim.planning.notes import Hold
from wheelsim.planning.sides import quarters_of_sides
from wheelsim.planning.stands_out import odd_spokes
from wheelsim.planning.verdict import about
from wheelsim.planning.what_first import true_first
from wheelsim.planning.whole_sides import SIDES_MEND
from wheelsim.readings.errors import meter_sd
from wheelsim.readings.gauge import saddle_error
from wheelsim.stand.advice import (
    Advice,
    Bowed,
    NoQuarterHelps,
    NotReadSince,
    OddFirst,
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
from wheelsim.stand.allowed import held_in, holds_of, odd_advice, room_of_sides
from wheelsim.stand.checks import SEEN_BETWEEN
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES, Side

# Smaller offsets are not reported. Own choice: a feeler at the gauge shows no less. [m]
TOLD_OFF = 0.05e-3


def advice_on(told: Known, found: Estimate, seen: View) -> tuple[Advice, ...]:
    """What to do or read next, in the order in which it is told."""
    wheel = told.job.wheel
    out: list[Advice] = []
    if told.unread_since:
        out.append(NotReadSince(told.unread_since))
    out.extend(_again(told, found))
    if wheel.spokes.missing or not told.read_first:  # nothing is turned for what is in doubt
        out.extend(_of_spokes_and_sides(told, found, seen))
    wobble = _wobble(told, seen)
    if wobble:
        out.append(wobble)
    if told.log and not told.unread_since:
        reading = None if told.read_first else _next_reading(told, found, seen)
        if reading:
            out.append(reading)
    bowed = seen.runout_between[Quantity.ROUND] - seen.round
    if bowed > SEEN_BETWEEN:
        out.append(Bowed(bowed))
    if "from load" in (wheel.limits.min_tension, wheel.striving.min_tension):
        out.append(from_load(wheel))
    if wheel.load is not None and wheel.load.lateral is not None:
        tension = found.state.tension
        lever, radial = ground_lever(wheel), wheel.load.radial or 0.0
        load, spoke, _ = min(first_slack(wheel, side, tension, lever=lever, radial=radial) for side in SIDES)
        out.append(SlackAtTheGround(lever, radial, spoke, load, wheel.load.lateral))
    return tuple(out)


def _again(told: Known, found: Estimate) -> list[Advice]:
    """Readings to take again because of what they would mean if they were true."""
    limits, target = resolved(told.job.wheel), told.job.work.target_dish
    return [ReadSpokeAgain(one.kind, one.spoke, one.value, one.likely, one.stands, past, one.after_pass)
            for one in told.in_doubt if (past := one.breaks(found.state, limits, target))]


def _of_spokes_and_sides(told: Known, found: Estimate, seen: View) -> list[Advice]:
    """What is turned: a new spoke put in or an odd one brought back before whole sides, which would hide it."""
    job, wheel = told.job, told.job.wheel
    if wheel.spokes.missing:
        return [PutIn(tuple(sorted(wheel.spokes.missing)))]
    goal = goal_of(told, seen, "hand", "aims")  # bounds as those of a plan, so that both give the same advice
    target = job.work.target_dish
    first = odd_advice(job, odd_spokes(told, seen.state, about(goal.aims)))
    off, gauged = seen.dish - target, not told.log or told.gauge is not None
    if not gauged:
        return [*first]
    known_side = abs(off) >= found.dish_sd
    once = saddle_error(wheel.rim.hole_angles, seen.state.edge)[0]
    # A spoke that the job says to leave delays nothing else; one that is stuck is freed first.
    waits = any(isinstance(one, OddFirst) or one.by is Hold.STUCK for one in first)
    if waits or rim_unread(told, seen, once):
        # Only where the rim lies is told now; what to do about it follows from the next reading.
        far = known_side and not within(Quantity.GAP, 2 * abs(off), goal.limits.gap)
        return [*first, *([RimLies(off, target, None)] if far else [])]
    wanted = _by_sides(told, seen, goal, odd=bool(first))
    # Naming the wrong side would send the mechanic the wrong way, so an offset within its standard deviation has none.
    if abs(off) > TOLD_OFF and not known_side:
        both = _evenly(job, wanted)
        return [*first, SideUnknown(found.dish_sd), *([both] if both else [])]
    moves = None if wanted is None else _as_allowed(told, seen, goal, wanted, odd=bool(first))
    if abs(off) <= TOLD_OFF:
        return [*first, *([moves] if moves else [])]
    return [*first, RimLies(off, target, moves or _why_left(2 * abs(off), goal.aims, goal.limits))]


def _why_left(gap: float, aims: Bounds, limits: Bounds) -> WithinAim | NoQuarterHelps | None:
    """Why no side is turned for this gap [m]; None where it is outside its limit."""
    if within(Quantity.GAP, gap, aims.gap):
        return WithinAim(aims.gap)
    return NoQuarterHelps() if within(Quantity.GAP, gap, limits.gap) else None


def _by_sides(told: Known, seen: View, goal: Goal, *, odd: bool,
              room: dict[Side, tuple[float, float]] | None = None) -> TurnSides | None:
    """Quarter turns of whole sides as a plan would choose them; None where none are needed.

    As in a plan, aims and limits decide whether anything is turned; the margin only how far.

    Parameters
    ----------
    odd : bool
        Whether a spoke that stands out stays as it is: then sides are not turned for what it makes of the highest or
        the lowest tension.
    room : dict of str to (float, float), optional
        As of ``quarters_of_sides``.
    """
    aims, limits, striving = (_but_for_odd(bounds, seen) if odd else bounds
                              for bounds in (goal.aims, goal.limits, goal.striving))
    if not SIDES_MEND.intersection(broken(seen.values, aims)):
        return None
    turns = quarters_of_sides(seen, striving, room)
    if not any(turns.values()):
        return None
    passed = None
    if max(turns.values()) < 0 and not within(Quantity.HIGHEST, seen.highest, limits.max_tension):
        passed = Quantity.HIGHEST
    elif min(turns.values()) > 0 and not within(Quantity.LOWEST, seen.lowest, limits.min_tension):
        passed = Quantity.LOWEST
    return TurnSides(seen.stands(about(aims)), turns["right"], turns["left"], passed, told.read[Quantity.HIGHEST])


def _but_for_odd(bounds: Bounds, seen: View) -> Bounds:
    """Bounds widened so that the highest and the lowest spoke keep them as they are."""
    return replace(bounds, max_tension=max(bounds.max_tension, seen.highest),
                   min_tension=min(bounds.min_tension, seen.lowest))


def _as_allowed(told: Known, seen: View, goal: Goal, wanted: TurnSides, *, odd: bool) -> TurnSides | SidesHeld:
    """What comes nearest to these turns of sides within what the job allows, or what stands in the way."""
    moves = _by_sides(told, seen, goal, odd=odd, room=room_of_sides(told.job))
    if moves is None:
        return SidesHeld(wanted, holds_of(told.job, wanted) or (Hold.THREAD,))
    return replace(moves, still=held_in(told.job, moves))


def _evenly(job: Job, moves: TurnSides | None) -> TurnSides | SidesHeld | None:
    """Both sides turned alike, for a slack or a tight wheel whose dish is too uncertain to tell the side; else None."""
    if moves is None or moves.stands is Stands.ABOUT_RIGHT:
        return None
    quarters = round((moves.right + moves.left) / 2 / QUARTER)
    if quarters * (1 if moves.stands is Stands.SLACK else -1) <= 0:
        return None
    both = replace(moves, right=quarters * QUARTER, left=quarters * QUARTER)
    holds = holds_of(job, both)
    return SidesHeld(both, holds) if holds else replace(both, still=held_in(job, both))


def _wobble(told: Known, seen: View) -> Wobble | None:
    """The gauge's error from the rim's wobble; None where that is small, or neither gauge nor dial was read."""
    doubt = true_first(told, seen.state)
    if doubt is None:
        return None
    limits = resolved(told.job.wheel)
    dialled = any(one.reading.lateral for one in told.log)
    return Wobble(seen.true, doubt.once, doubt.averaged, bool(within(Quantity.TRUE, seen.true, limits.lateral_runout)),
                  told.gauge is not None, dialled)


def _next_reading(told: Known, found: Estimate, seen: View) -> ReadGauge | ReadDial | ReadTensions | None:
    """The most useful next reading: a missing gauge or dial, else up to three spokes; what a plan waits for is first.

    The spokes are chosen greedily: each is the one whose reading reduces the summed variance of all tensions most
    (Kalman update of the covariance).
    """
    read, wheel = told.read, told.job.wheel
    if not read[Quantity.GAP]:
        return ReadGauge()
    if not read[Quantity.TRUE] or rim_unread(told, seen, saddle_error(wheel.rim.hole_angles, seen.state.edge)[0]):
        return ReadDial("lateral")
    # A wheel that is right by the prediction is read again before it is signed off.
    stale = () if broken(seen.values, resolved(wheel)) else told.read_before
    if Quantity.TRUE in stale:
        return ReadDial("lateral")
    done = {spoke for one in (told.log[-1:] if Quantity.HIGHEST in stale else told.log)
            for spoke, _ in one.reading.tension}
    unread = [i for side in SIDES for i in wheel.pulling(side) if i + 1 not in done]
    if not unread:
        return None if read[Quantity.ROUND] else ReadDial("radial")
    shown: Floats = found.shown_root @ found.shown_root.T
    with_shown: Floats = found.tension_root @ found.shown_root.T
    variance = float(np.sum(found.tension_root**2))
    noise = meter_sd(found.state.tension) ** 2
    chosen: list[int] = []
    for _ in unread[:3]:  # own choice: after three more readings it is better to assess again
        # Reduction of the sum of all tensions' variances by reading each spoke.
        reduction = np.sum(with_shown**2, axis=0) / (np.diag(shown) + noise)
        best = max((i for i in unread if i not in chosen), key=lambda i: reduction[i])
        chosen.append(best)
        variance -= float(reduction[best])
        weight = shown[best] / (shown[best, best] + noise[best])
        with_shown, shown = (one - np.outer(one[:, best], weight) for one in (with_shown, shown))
    was, now = np.sqrt(np.mean(found.tension_sd**2)), np.sqrt(variance / wheel.n)
    return ReadTensions(tuple(i + 1 for i in chosen), float(was), float(now))
