"""What a pass teaches: how soon do readings before and after it show that a rim is softer than its kind?

Question
    A rim is a quarter softer than its kind, and a turn moves a nipple less than the thread's pitch; neither is known.
    Everything is read with the usual errors of tools, a side and four single nipples are turned, and everything is read
    again. What is known after one such pass, after two, after three?
Expect
    What a turn gives is learnt soon, since turning a whole side shows it. The rim's stiffness is learnt slowly, since
    only single nipples show it.
Found
    Over 8 wheels the rim's stiffness is put at 100 % of its kind's before any pass, at 86 % after one, 84 % after two
    and 81 % after three; the truth is 75 %. What a turn gives is put 6.7 % of the pitch too high at first, then 3.5 %,
    3.5 % and 2.4 %.
    The tools' errors limit this: after one pass the rim's stiffness is still known to 17 % only.
Figure
    figures/what_a_pass_teaches.svg: the estimates of stiffness and of what a turn gives after each pass, by wheel.
"""

from dataclasses import dataclass, replace

import numpy as np

from experiments.common import FIGURES, dished_rear, page, rounded, side_turns
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.simulated import Hand, Tools
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import QUARTER

FIGURE = FIGURES / "what_a_pass_teaches.svg"
WHEELS, PASSES, SOFT = 8, 3, 0.75  # SOFT: true stiffness of the rim over that of its kind
SIDES = ({"left": -QUARTER}, {"left": -QUARTER}, {"right": QUARTER})  # turned in each pass [turn]


@dataclass(frozen=True, eq=False)
class Found:
    """Estimates after no pass, one, two ..., (wheels, passes + 1) each, as shares of the usual value."""

    stiffness: np.ndarray
    doubt: np.ndarray  # standard deviation of the stiffness
    gain: np.ndarray  # movement per turn over the thread's pitch
    true_gain: np.ndarray  # (wheels,)


def run():
    """Simulate work on wheels whose rim is softer than their file states."""
    told = [_story(seed) for seed in range(WHEELS)]
    stiffness, doubt, gain, true_gain = (np.array(one) for one in zip(*told, strict=True))
    return Found(stiffness, doubt, gain, true_gain)


def _story(seed):
    wheel, rng = dished_rear(), np.random.default_rng(seed)
    rim = wheel.rim
    real = replace(wheel, rim=replace(rim, lateral_bending=SOFT * rim.lateral_bending, torsion=SOFT * rim.torsion,
                                      radial_bending=SOFT * rim.radial_bending))
    hand, tools = Hand.of(rng, wheel.n), Tools.with_errors(rng)
    received = side_turns(wheel, right=-QUARTER, left=2 * QUARTER) + rng.normal(0, 0.1, wheel.n)
    state = equilibrium(real, received)
    job = Job(wheel, (tools.everything(state, after_pass=0),))
    stiffness, doubt, gain = [1.0], [0.25], [1.0]
    for number, sides in enumerate(SIDES, 1):
        turns = side_turns(wheel, **sides)
        turns[[(4 * number - 1 + 8 * k) % wheel.n for k in range(4)]] += [QUARTER, -QUARTER, QUARTER, -QUARTER]
        state = hand.turn(state, turns)
        made = Pass(number, tuple((i + 1, float(turn)) for i, turn in enumerate(turns) if turn))
        job = replace(job, passes=(*job.passes, made),
                      readings=(*job.readings, tools.everything(state, after_pass=number)))
        learnt = {one.name: one for one in Known(job).found.learnt}
        stiffness.append(learnt["lateral_stiffness"].value)
        doubt.append(learnt["lateral_stiffness"].sd / learnt["lateral_stiffness"].value)
        gain.append(learnt["gain_per_turn"].value)
    return stiffness, doubt, gain, hand.gain


def draw(found):
    """Two panels over the passes, stiffness and gain: each wheel, their mean and the truth."""
    mean = found.stiffness.mean(axis=0)
    with fixed_look():
        figure, top = page(f"A rim a quarter softer than its kind is put at {100 * mean[1]:.0f} % after one pass and "
                           f"{100 * mean[-1]:.0f} % after three; what a turn gives is known sooner",
                           note="invented wheels and hands, no real one was measured")
        panels = figure.subplots(2, sharex=True, gridspec_kw={"left": 0.1, "right": 0.78, "bottom": 0.11, "top": top,
                                                              "hspace": 0.14})
        number = np.arange(PASSES + 1)
        for axes, values, truth, words in (
                (panels[0], found.stiffness, 100 * SOFT, "stiffness sideways\n[% of its kind]"),
                (panels[1], 1 + found.gain - found.true_gain[:, None], 100.0, "what a turn gives\n[% of the truth]")):
            for one in values:
                axes.plot(number, rounded(100 * one, 1), color=FAINT, lw=0.9, marker="o", ms=3)
            axes.plot(number, rounded(100 * values.mean(axis=0), 1), color=INK, lw=2.0, marker="D", ms=5)
            axes.axhline(truth, color=LIMIT, lw=1.2, ls="dashed")
            axes.text(1.012, truth, "the truth", transform=axes.get_yaxis_transform(), color=LIMIT, fontsize=SMALL,
                      va="center")
            axes.text(1.012, float(rounded(100 * values.mean(axis=0)[-1], 1)) + 4, f"mean of {WHEELS} wheels",
                      transform=axes.get_yaxis_transform(), color=INK, fontsize=SMALL, va="center")
            axes.set_ylabel(words)
            axes.grid(axis="y", color="#e4e4e4", lw=0.6)
        panels[-1].set_xticks(number)
        panels[-1].set_xlabel("passes made and read again")
        figure.align_ylabels(panels)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
