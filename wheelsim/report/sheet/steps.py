"""Passes on a sheet: those still to be made, and those that were."""

from collections.abc import Iterator, Sequence

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.job.job import Job, Pass
from wheelsim.measures.on_the_way import tension_on_the_way
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.passes import SETTLE, PlannedPass
from wheelsim.planning.sides import Verb
from wheelsim.report.sheet.blocks import Block, Paragraph, Step, Table
from wheelsim.report.sheet.nipples import nipple_rows
from wheelsim.report.terminal.plan import gap_words
from wheelsim.report.terminal.shared import turns_words
from wheelsim.units import MM
from wheelsim.wheel.parts import Side, Wheel

READ = ("", "gauge gap", "true", "round", "highest tension")


def pass_turns(wheel: Wheel, pairs: object) -> Turns:
    """Turns of a pass of the job as (n,). [turn]"""
    turns = np.zeros(wheel.n)
    for spoke, amount in pairs if isinstance(pairs, tuple) else ():
        turns[spoke - 1] += amount
    return turns


def waiting(job: Job) -> tuple[Pass, ...]:
    """Passes that are planned in the job and not made yet."""
    return tuple(one for one in job.passes if one.turns is None and isinstance(one.planned, tuple))


def kept_passes(job: Job, now: View) -> tuple[PlannedPass, ...]:
    """The job's own planned passes, one flange and direction each, followed from the wheel as it is now.

    Raises
    ------
    Unstable
        When the wheel would fold on the way.
    """
    out = []
    state = now.state
    for one in waiting(job):
        turns = pass_turns(job.wheel, one.planned)
        for side, verb, part in _kinds(job.wheel, turns):
            after = equilibrium(state.wheel, state.turns + part, state.own_shape, start=state)
            spokes = np.flatnonzero(part)
            half = spokes[:(len(spokes) + 1) // 2]
            wobble = float(np.ptp(state.lateral + state.influence.lateral[:, half] @ part[half]))
            peak = max(float(tension_on_the_way(state, after, part).max()), after.tension.max())
            out.append(PlannedPass(one.number, side, verb, part, view(state, now.target_dish),
                                   view(after, now.target_dish), peak, wobble))
            state = after
    return tuple(out)


def _kinds(wheel: Wheel, turns: Turns) -> Iterator[tuple[Side, Verb, Turns]]:
    """A pass by flange and direction: loosening first."""
    verbs: tuple[tuple[Verb, float], ...] = (("loosen", -1.0), ("tighten", 1.0))
    sides: tuple[Side, ...] = ("right", "left")
    for verb, sign in verbs:
        for side in sides:
            mine = np.isin(np.arange(wheel.n), wheel.on_side(side)) & (sign * turns > 0)
            if mine.any():
                yield side, verb, np.where(mine, turns, 0.0)


def readings_of(seen: View) -> tuple[str, str, str, str]:
    """What gauge, dial and meter should show of a wheel, in words."""
    spoke = int(seen.state.tension.argmax()) + 1
    return (gap_words(seen), f"{seen.true / MM:.2f} mm", f"{seen.round / MM:.2f} mm",
            f"{seen.highest:.0f} N, spoke {spoke}")


def steps(passes: Sequence[PlannedPass], width: float) -> Iterator[Step]:
    """A block a pass; nipples that are turned otherwise than the rest of their side get boxes to tick."""
    settled = False
    for one in passes:
        wheel = one.before.wheel
        mine = one.turns[wheel.pulling(one.side)]
        named = bool(np.ptp(mine) > 1e-9)
        then = f"No spoke should rise above {one.peak_tension:.0f} N on the way."
        if one.then:
            then += f" {'Settle and read again.' if settled else SETTLE}"
            settled = True
        yield Step(f"Pass {one.number}. {_action(one, named)}",
                   Table(READ, (("should show", *readings_of(one.after)), ("did show", "", "", "", ""))),
                   nipple_rows(wheel, one.turns, width) if named else None, then)


def _action(one: PlannedPass, named: bool) -> str:
    """The instruction; where boxes name the nipples, the words needn't."""
    if not named:
        return one.action
    count = int(np.count_nonzero(one.turns))
    many = "this nipple" if count == 1 else f"these {count} nipples"
    way = "clockwise" if one.verb == "tighten" else "anticlockwise"
    return (f"{one.side.capitalize()} flange, {one.verb} {many}, once round from the valve; {way} seen from the tyre "
            "side.")


def made_blocks(job: Job) -> Iterator[Block]:
    """What was turned, pass by pass."""
    rows = []
    for one in job.passes:
        if one.turns is None:
            continue
        turned = pass_turns(job.wheel, one.turns)
        if one.planned is True or (isinstance(one.planned, tuple)
                                   and np.allclose(pass_turns(job.wheel, one.planned), turned, atol=1e-9)):
            plan = "as planned"
        elif one.planned is None:
            plan = "not from a plan"
        else:
            plan = "planned: " + turns_words(job.wheel, pass_turns(job.wheel, one.planned))
        rows.append((f"pass {one.number}", turns_words(job.wheel, turned), plan))
    if rows:
        yield Table(("", "turned (plus tightens)", ""), tuple(rows))
    else:
        yield Paragraph("No pass is written down.")


def planned_end(job: Job, received: View) -> tuple[View, Turns] | None:
    """Where the passes as planned would have taken the wheel as received, and their turns; None if nothing was planned.

    A pass without a plan counts as made.
    """
    made = [one for one in job.passes if one.turns is not None]
    if not any(one.planned is not None for one in made):
        return None
    turns = sum((pass_turns(job.wheel, one.planned if isinstance(one.planned, tuple) else one.turns)
                 for one in made), np.zeros(job.wheel.n))
    state = received.state
    try:
        after = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
    except Unstable:
        return None
    return view(after, received.target_dish), turns


def made_turns(job: Job) -> Turns:
    """All that was turned, (n,). [turn]"""
    return np.asarray(sum((pass_turns(job.wheel, one.turns) for one in job.passes), np.zeros(job.wheel.n)))
