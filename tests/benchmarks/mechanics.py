"""How fast the mechanics answers, all in one run on one thread: ``python -m tests.benchmarks.mechanics``.

Beside it, the same 36 turns by a general frame library, as 36 load combinations of one model, and by
the same ring and spokes assembled and solved densely in numpy. Times are medians of repeats.
"""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from statistics import median
from time import perf_counter

import numpy as np

from tests.published import test_frame_library as library
from tests.wheels import dished, make_wheel, side_turns
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import compression, influence
from wheelsim.mechanics.ring import arc_stiffness, ring_of
from wheelsim.mechanics.stability import buckling
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.lacing import laced_spokes
from wheelsim.wheel.parts import Joint

COUNTS = (16, 24, 36, 48)
REPEATS = 30
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Timing:
    """What was timed [s], what we require of it, and whether it is met; ``None`` where nothing is asked."""

    what: str
    seconds: float
    asked: str = ""
    met: bool | None = None


def laced(n):
    """A wheel with tension and levers: seats 5 mm inside the section's centre and 2 mm aside."""
    return make_wheel(n, cross=2 if n < 24 else 3, tension=800.0, inset=5e-3, seat_offset=-2e-3)


def forget(*, lacing=True):
    """Empty what the product remembers of a wheel: the ring, and with ``lacing`` the lacing and geometry."""
    for known in (ring_of, *((wheel_geometry, laced_spokes) if lacing else ())):
        known.cache_clear()


def timed(work: Callable, repeats, before: Callable = lambda: None):
    """Median seconds of ``work``, ``before`` done untimed each time."""
    seconds = []
    for _ in range(repeats):
        before()
        start = perf_counter()
        work()
        seconds.append(perf_counter() - start)
    return median(seconds)


def exponent(counts, seconds):
    """Power of the count with which the time grows."""
    return float(np.polyfit(np.log(counts), np.log(seconds), 1)[0])


def cross(vector):
    x, y, z = vector
    return np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])


def dense_influence(wheel, arc):
    """Lateral, radial and tension influence (n, n) by one dense solution; ``arc`` is an arc's two matrices."""
    g, n = wheel_geometry(wheel), wheel.n
    pressed = compression(g.tension, g.axis)
    whole, pull = np.zeros((6 * n, 6 * n)), np.zeros((6 * n, n))
    for i in range(n):
        after = (i + 1) % n
        where = np.r_[6 * i:6 * i + 6, 6 * after:6 * after + 6]
        whole[np.ix_(where, where)] += arc[0] - pressed * arc[1]
        axis, lever, tension = g.axis[i], g.lever[i], g.tension[i]
        along = np.outer(axis, axis)
        seat = g.stiffness[i] * along + tension / g.length[i] * (np.eye(3) - along)
        carry = np.hstack([np.eye(3), -cross(lever)])
        block = carry.T @ seat @ carry
        force = tension * axis
        block[3:, 3:] += force @ lever * np.eye(3) - (np.outer(force, lever) + np.outer(lever, force)) / 2
        whole[6 * i:6 * i + 6, 6 * i:6 * i + 6] += block
        pull[6 * i:6 * i + 6, i] = carry.T @ axis
    pitch = wheel.spokes.thread_pitch
    shift = np.linalg.solve(whole, pull * g.stiffness * pitch)
    tension = g.stiffness[:, None] * (pitch * np.eye(n) - pull.T @ shift)
    return shift[0::6], shift[2::6], tension


def arc_of(wheel):
    rim = wheel.rim
    return arc_stiffness(2 * np.pi / wheel.n, rim.section_radius, rim.radial_bending, rim.lateral_bending,
                         rim.torsion, rim.stretch)


def library_model(wheel, members):
    """The frame library's model of a wheel, each nipple's turn a load combination of its own."""
    with_members, library.MEMBERS = library.MEMBERS, members
    try:
        model = library.frame(wheel)
    finally:
        library.MEMBERS = with_members
    g = wheel_geometry(wheel)
    for i, angle in enumerate(g.angle):
        pull = g.stiffness[i] * wheel.spokes.thread_pitch
        seat = model.members[f"S{i}"].i_node.name
        for name, share in zip(("FX", "FY", "FZ"), library.there(angle, g.axis[i]), strict=True):
            model.add_node_load(seat, name, float(pull * share), case=f"turn {i}")
        model.add_load_combo(f"turn {i}", {f"turn {i}": 1.0})
    return model


def library_lateral(model, wheel, members):
    """Its lateral influence (n, n)."""
    nodes = [model.nodes[f"r{i * members}"] for i in range(wheel.n)]
    return np.array([[node.DZ[f"turn {i}"] for i in range(wheel.n)] for node in nodes])


def own_times(repeats):
    """The product alone."""
    cold, ring, warm = ([timed(partial(influence, laced(n)), repeats, clear) for n in COUNTS]
                        for clear in (forget, partial(forget, lacing=False), lambda: None))
    for n, seconds in zip(COUNTS, cold, strict=True):
        asked = {"asked": "2 ms", "met": seconds <= 2e-3} if n == 36 else {}
        yield Timing(f"influence, {n} spokes, prestress and levers, nothing known before", seconds, **asked)
    for words, found in (("nothing known", cold), ("geometry known", ring), ("geometry and ring known", warm)):
        power = exponent(COUNTS, found)
        yield Timing(f"influence, 36 spokes, {words}: grows with the power {power:.2f} from 16 to 48", found[2],
                     "at most 2", power <= 2)
    bent = replace(laced(36), rim=replace(laced(36).rim, joint=Joint(np.pi, 0.2, 3.0)))
    joint = timed(lambda: influence(bent), repeats, forget)
    yield Timing("influence, 36 spokes, rim with a joint, nothing known", joint, "10 ms", joint <= 10e-3)
    bare = make_wheel(36, tension=0.0)
    yield Timing("influence, 36 spokes, no prestress, no levers, nothing known",
                 timed(lambda: influence(bare), repeats, forget))
    wheel = laced(36)
    turns = side_turns(wheel, right=0.25)
    state = equilibrium(wheel, turns)
    yield Timing("equilibrium after a quarter turn of a side, 36 spokes",
                 timed(lambda: equilibrium(wheel, turns), repeats))
    yield Timing("re-linearisation there (State.influence)", timed(lambda: replace(state).influence, repeats))
    loose = np.where(np.arange(32) < 12, -3.0, 0.0)
    slack = int(equilibrium(dished(), loose).slack.sum())
    yield Timing(f"equilibrium with {slack} of 32 spokes slack", timed(lambda: equilibrium(dished(), loose), repeats))
    yield Timing("buckling, 36 spokes", timed(lambda: buckling(wheel), max(3, repeats // 3)))


def beside_times(repeats):
    """The product beside the frame library and the dense solution, doing the same."""
    wheel = laced(36)
    cold, warm = timed(lambda: influence(wheel), repeats, forget), timed(lambda: influence(wheel), repeats)
    arc = arc_of(wheel)
    dense = timed(lambda: dense_influence(wheel, arc), repeats)
    dense_cold = timed(lambda: dense_influence(wheel, arc_of(wheel)), repeats, forget)
    yield Timing(f"dense in numpy, geometry and arc known: {dense / warm:.1f} times ours", dense, "10 times",
                 dense >= 10 * warm)
    yield Timing(f"dense in numpy, nothing known: {dense_cold / cold:.1f} times ours", dense_cold)
    still = replace(wheel, tension=0.0)  # the library knows no prestress
    ours = timed(lambda: influence(still), repeats, forget)
    for members in (4, 1):
        # Solved anew each time; making the model is not counted.
        models = iter([library_model(still, members) for _ in range(3)])
        seconds = timed(lambda models=models: next(models).analyze_linear(), 3)
        asked = {"asked": "300 times", "met": seconds >= 300 * ours} if members == 4 else {}
        yield Timing(f"frame library, {36 * members} straight rim members, solving alone: {seconds / ours:.0f} times "
                     "ours with nothing known", seconds, **asked)


def as_text(timings):
    """The table as Markdown."""
    lines = ["| what | ms | asked | met |", "|---|---|---|---|"]
    words = {None: "", True: "yes", False: "no"}
    lines += [f"| {t.what} | {1e3 * t.seconds:.3g} | {t.asked} | {words[t.met]} |" for t in timings]
    return "\n".join(lines)


def main():
    """Time everything, in a fresh process on one thread if this one may use more."""
    if any(os.environ.get(name) != value for name, value in ONE_THREAD.items()):
        command = [sys.executable, "-m", "tests.benchmarks.mechanics"]
        subprocess.run(command, env={**os.environ, **ONE_THREAD}, check=True)
        return
    print(as_text([*own_times(REPEATS), *beside_times(REPEATS)]))


if __name__ == "__main__":
    main()
