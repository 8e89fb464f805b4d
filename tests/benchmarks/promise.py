"""Do plans keep the tension limits as often as they promise? ``python -m tests.benchmarks.promise [wheels] [seed]``

Random wheels (``coverage.random_case``: the rim 15 per cent stiffer or softer than its kind, flanges half a millimetre
off, hidden turns) brought up or down by whole turns, all spokes, gauge and dial read with erring tools. The highest
tension allowed lies where the plan must press against it. Each plan is carried out on the wheel itself: how often is
the limit passed at the end and on the way, and how often did the readings say it would be?
"""

import sys
from dataclasses import dataclass, replace

import numpy as np

from tests.benchmarks.coverage import random_case, read_with_errors
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.measures.on_the_way import most_allowed, top_on_the_way
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.plan import plan
from wheelsim.wheel.parts import Limits

MARGIN = 1.0
EFFORT = 3.0


@dataclass(frozen=True)
class Kept:
    """One plan: what share of drawn wheels passes the highest tension, and whether the wheel itself did."""

    end_promised: float
    end_passed: bool
    way_promised: float
    way_passed: bool
    above: bool  # came in above the limit


def passes_limit(received, tops, limit):
    """Whether any spoke (n, ...) passes what it may have: the limit, or so much above where it came in above it."""
    return (tops > most_allowed(received, limit) + 0.5).any(axis=0)


def tried(rng):
    """One random wheel, planned and carried out; None where no plan was found or nothing was to be done."""
    case = random_case(rng, read=99)
    share = rng.uniform(0.75, 1.05)
    truth = case.truth
    try:
        truth = equilibrium(truth.wheel, truth.turns + rng.uniform(-0.8, 0.8), truth.own_shape, start=truth)
    except Unstable:
        return None
    if truth.slack.any() or truth.tension.max() > 2000:
        return None
    usual = float(truth.tension[truth.wheel.on_side("right")].mean()) / share
    wheel = replace(case.wheel, tension=usual, limits=Limits(max_tension=usual * rng.uniform(1.06, 1.16),
                                                             min_tension=100.0, lateral_runout=1e-3,
                                                             radial_runout=1e-3, side_spread=0.35))
    known = Known(Job(wheel, (read_with_errors(rng, truth, 99),)))
    found = plan(known, margin=MARGIN, effort=EFFORT, seconds=600)
    if found.turns is None or not found.turns.any():
        return None
    return _carried_out(known, found, truth, resolved(wheel).max_tension)


def _carried_out(known, found, truth, limit):
    drawn = known.found.draw(1000)[2]
    deviation = drawn - known.found.state.tension[:, None]
    state, passed, promised = truth, False, np.zeros(drawn.shape[1], dtype=bool)
    for one in found.passes:
        after = equilibrium(state.wheel, state.turns + one.turns, state.own_shape, start=state)
        passed |= bool(passes_limit(truth.tension, top_on_the_way(state, after, one.turns), limit))
        state = after
        top = top_on_the_way(one.before.state, one.after.state, one.turns)
        promised |= passes_limit(drawn, top[:, None] + deviation, limit)
    end = found.after.state.tension
    return Kept(float(np.mean((end[:, None] + deviation).max(axis=0) > limit)), bool(state.tension.max() > limit + 0.5),
                float(promised.mean()), passed, bool(truth.tension.max() > limit))


def main():
    wheels = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    rng, kept = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 4), []
    while len(kept) < wheels:
        one = tried(rng)
        if one is not None:
            kept.append(one)
    print(f"{wheels} plans, margin {MARGIN:g} (at most 15.9 % may pass)")
    for name, promised, passed in (("at the end", "end_promised", "end_passed"),
                                   ("on the way", "way_promised", "way_passed")):
        asked, found = (np.array([getattr(one, key) for one in kept], dtype=float) for key in (promised, passed))
        pressed = asked > 0.05
        print(f"{name}: promised {asked.mean():.1%}, passed {found.mean():.1%}; of the {pressed.sum()} that press "
              f"against it: promised {asked[pressed].mean():.1%}, passed {found[pressed].mean():.1%}")
    print(f"came in above the limit: {sum(one.above for one in kept)}")


if __name__ == "__main__":
    main()
