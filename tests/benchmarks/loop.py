"""Does the second plan know the wheel better than the first? ``python -m tests.benchmarks.loop [wheels] [seed] [way]``

A simulated bench: fronts, dished rears and disc fronts whose rim is 25 per cent softer or stiffer than its kind, whose
turns give 85 to 100 per cent of the thread, whose nipples are turned some degrees off and whose spokes wind up and are
backed off by the usual twist where threads rub by a quarter more or less, read with erring tools, and
off centre, uneven and slack or tight. Each is planned (two seconds' effort), turned pass by pass, read again and
planned again: once with all visits in one state (learning), once with the last reading alone, and once by the rule of
thumb on the last reading. Told: the share within limits after each visit, turns made, and how far the highest spoke
rose above its limit; and how often the outlook's 95 per cent intervals held.
"""

import sys
from dataclasses import dataclass, field, replace

import numpy as np

from tests.wheels import make_wheel
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Pass, Work
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.on_the_way import top_on_the_way
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.plan import plan
from wheelsim.planning.rule import by_rule
from wheelsim.readings.simulated import Hand, Tools
from wheelsim.wheel.parts import Limits

VISITS = 3
KINDS = {"front": (0.034, 0.034), "rear": (0.0195, 0.036), "disc front": (0.034, 0.022)}


@dataclass
class Story:
    """One wheel by one way of working: after each visit whether it is within limits; turns; rise above the limit."""

    within: list[bool] = field(default_factory=list)
    turns: float = 0.0
    above: float = 0.0
    held: list[tuple[bool, bool]] = field(default_factory=list)  # gap, highest


def made(rng, kind):
    """A wheel as its file has it, and the same as it really is, out of true."""
    right, left = KINDS[kind]
    wheel = make_wheel(32, right=right, left=left, tension=1000.0)
    wheel = replace(wheel, limits=Limits(max_tension=1300.0 if kind == "rear" else 1250.0, min_tension=250.0))
    off = 1 + 0.25 * rng.choice([-1, 1])
    rim = replace(wheel.rim, lateral_bending=wheel.rim.lateral_bending * off, torsion=wheel.rim.torsion * off,
                  radial_bending=wheel.rim.radial_bending * off)
    real = replace(wheel, rim=rim)
    while True:
        turns = rng.normal(0, 0.18, wheel.n) + rng.uniform(-0.7, 0.2)
        turns[wheel.on_side("left")] += rng.uniform(-0.5, 0.5)
        try:
            state = equilibrium(real, turns)
        except Unstable:
            continue
        if not state.slack.any() and state.tension.max() < 1500:
            return wheel, state


def read(tools, state):
    """Everything read of a wheel; the gauge's feet stand anywhere, the same place both times."""
    return tools.everything(state, float(tools.errors.uniform(0, np.pi)))


def story(seed, kind, way):
    """One wheel worked on: ``way`` is "learning", "last reading" or "rule"."""
    rng = np.random.default_rng(seed)
    wheel, state = made(rng, kind)
    tools, hand = Tools.with_errors(rng), Hand.of(rng, wheel.n)
    limits = resolved(wheel)
    received, out = state.tension, Story()
    job = Job(wheel, (replace(read(tools, state), after_pass=0),), Work(time=600.0))
    for visit in range(VISITS):
        steps, ahead = _steps(job, way)
        for turns in steps:
            number = len(job.passes) + 1
            after = hand.turn(state, turns)
            real = after.turns - state.turns
            out.turns += float(np.abs(turns).sum())
            allowed = np.maximum(limits.max_tension, received)
            out.above = max(out.above, float((top_on_the_way(state, after, real) - allowed).max()))
            state = after
            pairs = tuple((i + 1, float(t)) for i, t in enumerate(turns) if t)
            job = replace(job, passes=(*job.passes, Pass(number, pairs)))
        seen = view(state)
        out.within.append(not broken(seen.values, replace(limits, off_usual=np.inf)))
        if ahead is not None and steps:
            out.held.append((ahead.gap[0] <= seen.gap <= ahead.gap[1],
                             ahead.highest[0] <= seen.highest <= ahead.highest[1]))
        if visit < VISITS - 1:
            job = replace(job, readings=(*job.readings, replace(read(tools, state), after_pass=len(job.passes))))
    return out


def _steps(job, way):
    """What is turned next, pass by pass, and the outlook."""
    if way != "learning":
        job = Job(job.wheel, (replace(job.last, after_pass=None),), job.work)
    if way == "rule":
        found = Known(job).found.state
        return [one.turns for one in by_rule(found, resolved(job.wheel)).passes], None
    found = plan(job, effort=2.0, seconds=600)
    return [one.turns for one in found.passes], found.outlook


def main():
    wheels = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    held = []
    for way in sys.argv[3:] or ("learning", "last reading", "rule"):
        stories = [story(seed, list(KINDS)[seed % 3], way) for seed in range(first, first + wheels)]
        shares = np.mean([one.within for one in stories], axis=0)
        print(f"{way:<13} within limits after 1, 2, 3 visits: {', '.join(f'{share:.0%}' for share in shares)}; "
              f"turns {np.mean([one.turns for one in stories]):.1f}; above its limit on the way: "
              f"{np.mean([one.above > 1.0 for one in stories]):.0%} of wheels, by up to "
              f"{max(one.above for one in stories):.0f} N", flush=True)
        if way == "learning":
            held = [pair for one in stories for pair in one.held]
    if held:
        gap, highest = np.mean(held, axis=0)
        print(f"intervals of 95 per cent held ({len(held)} visits): gap {gap:.1%}, highest tension {highest:.1%}")


if __name__ == "__main__":
    main()
