"""Does the second plan know the wheel better than the first?

``python -m tests.benchmarks.loop [wheels] [seed] [words]``; words choose of the ways and parts below, default all but
"remembering" and "anew".

A simulated bench: fronts, dished rears and disc fronts whose rim is 25 per cent softer or stiffer than its kind, whose
turns give 85 to 100 per cent of the thread, whose nipples are turned some degrees off and whose spokes wind up and are
backed off by the usual twist where threads rub by a quarter more or less, read with erring tools, off centre, uneven
and slack or tight. The wheel itself is the nonlinear one.

Ways of working, each by two seconds' effort a plan:
- learning: all readings and turns so far in one state, rim and thread learnt from them;
- remembering: the same, but rim and thread taken as their kind's: tells what of it is learning;
- last: only what was read last, as if the wheel came in anew;
- rule: the rule of thumb on what was read last.

Parts. As received everything is read in all of them: the gauge, both dials and the meter at every spoke. Then
- all: a plan is made whole, everything is read again, and it is planned anew;
- hand: a plan is made whole, then what a hand reads again: the gauge, both dials all round, four tensions a side;
- pass: the same read after every single pass, but planned anew only when the plan is made whole;
- anew: the same, and planned anew after every single pass, of which only the first is made.

Told: the share within limits after each plan and after each pass; passes, turns, plans with something to turn; the
highest tension on the way; and how often the outlook's 95 per cent intervals held, of each wheel's first plan, of all
later ones, which are mostly of wheels that were misjudged (with a meter whose scale is far off, a wheel counts several
times), and of all together. A wheel at which nothing more is turned counts as it is in all later passes.
"""

import sys
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from unittest.mock import patch

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

KINDS = {"front": (0.034, 0.034), "rear": (0.0195, 0.036), "disc front": (0.034, 0.022)}
WAYS = ("learning", "last", "rule")
PARTS = ("all", "hand", "pass")
PLANS = {"all": 3, "hand": 3, "pass": 3, "anew": 8}  # times that it is planned
TOLD_PASSES = (1, 2, 3, 4, 6, 8)
# Nothing is learnt with next to no doubt about rim and thread beforehand.
AS_ITS_KIND = {"GAIN_SD": 1e-4, "MORE_SD": 1e-4, "SOFT_SD": 1e-4}


@dataclass
class Story:
    """One wheel by one way of working.

    Whether it was within its limits after each plan and each pass; turns; plans with something to turn; the highest
    tension on the way and its rise above what was allowed [N]; whether the intervals of gap and highest held.
    """

    plans: list[bool] = field(default_factory=list)
    passes: list[bool] = field(default_factory=list)
    turns: float = 0.0
    worked: int = 0
    highest: float = 0.0
    above: float = 0.0
    held: list[tuple[bool, bool]] = field(default_factory=list)

    def after(self, number):
        """Whether it was within after so many passes."""
        return bool(self.passes) and self.passes[min(number, len(self.passes)) - 1]


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


def read(tools, state, part="all"):
    """What is read of a wheel, all of it as received; the gauge's feet stand anywhere, the same place both times."""
    found = tools.everything(state, float(tools.errors.uniform(0, np.pi)))
    if part == "all":
        return found
    wheel, from_spoke = state.wheel, int(tools.errors.integers(4))
    again = {i + 1 for side in ("right", "left") for i in wheel.on_side(side)[from_spoke::4]}
    return replace(found, tension=tuple(one for one in found.tension if one[0] in again))


def story(seed, kind, way, part):
    """One wheel worked on."""
    rng = np.random.default_rng(seed)
    wheel, state = made(rng, kind)
    tools, hand = Tools.with_errors(rng), Hand.of(rng, wheel.n)
    limits = resolved(wheel)
    allowed = np.maximum(limits.max_tension, state.tension)
    job, out = Job(wheel, (replace(read(tools, state), after_pass=0),), Work(time=600.0)), Story()

    def within(seen):
        return not broken(seen.values, replace(limits, off_usual=np.inf))

    for _ in range(PLANS[part]):
        steps, ahead = _steps(job, way, 1 if part == "anew" else None)
        for k, turns in enumerate(steps):
            after = hand.turn(state, turns)
            top = top_on_the_way(state, after, after.turns - state.turns)
            out.highest, out.above = max(out.highest, float(top.max())), max(out.above, float((top - allowed).max()))
            out.turns += float(np.abs(turns).sum())
            state = after
            out.passes.append(within(view(state)))
            pairs = tuple((i + 1, float(t)) for i, t in enumerate(turns) if t)
            job = replace(job, passes=(*job.passes, Pass(len(job.passes) + 1, pairs)))
            if part == "pass" and k < len(steps) - 1:
                job = _logged(job, read(tools, state, part))
        seen = view(state)
        out.plans.append(within(seen))
        out.worked += bool(steps)
        if ahead is not None and steps:
            out.held.append((ahead.gap[0] <= seen.gap <= ahead.gap[1],
                             ahead.highest[0] <= seen.highest <= ahead.highest[1]))
        if not steps and part == "anew":
            break
        job = _logged(job, read(tools, state, part))
    out.plans += out.plans[-1:] * (PLANS[part] - len(out.plans))
    out.passes = out.passes or out.plans[:1]
    return out


def _logged(job, reading):
    """The job with a reading after all passes made."""
    return replace(job, readings=(*job.readings, replace(reading, after_pass=len(job.passes))))


def _steps(job, way, most):
    """What is turned next, pass by pass, ``most`` of them, and the outlook where they are all."""
    if way in ("last", "rule"):
        job = Job(job.wheel, (replace(job.last, after_pass=None),), job.work)
    if way == "rule":
        return [one.turns for one in by_rule(Known(job).found.state, resolved(job.wheel)).passes[:most]], None
    as_its_kind = patch.multiple("wheelsim.estimation.course", **AS_ITS_KIND)
    with as_its_kind if way == "remembering" else nullcontext():
        found = plan(job, effort=2.0, seconds=600)
    return [one.turns for one in found.passes[:most]], found.outlook if most is None else None


def told(part, way, stories):
    """What is printed of one way of working in one part."""
    def shares(values):
        return ", ".join(f"{share:.0%}" for share in values)

    plans = np.mean([one.plans for one in stories], axis=0)
    passes = [np.mean([one.after(number) for one in stories]) for number in TOLD_PASSES]
    above = np.array([one.above for one in stories])
    lines = [f"{part:<5}{way:<12}within limits after plans 1 to {PLANS[part]}: {shares(plans)}",
             f"after passes {', '.join(map(str, TOLD_PASSES))}: {shares(passes)}"]
    lines.append(f"passes {np.mean([len(one.passes) for one in stories]):.1f}, turns "
                 f"{np.mean([one.turns for one in stories]):.1f}, plans with work "
                 f"{np.mean([one.worked for one in stories]):.2f}; highest on the way "
                 f"{np.mean([one.highest for one in stories]):.0f} N on average, above its limit in "
                 f"{np.mean(above > 1.0):.0%} of wheels, by up to {above.max():.0f} N")
    for which, some in (("first plan", slice(1)), ("later plans", slice(1, None)), ("all plans", slice(None))):
        held = [pair for one in stories for pair in one.held[some]]
        if held:
            gap, highest = np.mean(held, axis=0)
            lines.append(f"intervals of 95 per cent held, {which} ({len(held)}): gap {gap:.1%}, highest tension "
                         f"{highest:.1%}")
    return f"\n{'':17}".join(lines)


def main():
    numbers, words = ([one for one in sys.argv[1:] if one.isdigit() == number] for number in (True, False))
    wheels, first = (int(one) for one in (*numbers, *("200", "0")[len(numbers):]))
    ways = [one for one in (*WAYS, "remembering") if one in words] or WAYS
    for part in [one for one in PLANS if one in words] or PARTS:
        for way in ways:
            stories = [story(seed, list(KINDS)[seed % 3], way, part) for seed in range(first, first + wheels)]
            print(told(part, way, stories), flush=True)


if __name__ == "__main__":
    main()
