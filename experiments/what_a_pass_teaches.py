"""What a pass teaches: how soon do readings before and after show that a rim is softer than its kind?

Question
    A rim is a quarter softer than its kind, and a turn gives less than its thread's pitch. Nobody knows either. All is
    read with erring tools, a side is turned and four nipples with it, and all is read again. What is known after one
    such pass, after two, after three?
Expect
    Slowly the one, sooner the other: a side's turns show what a turn gives, only single nipples show the rim.
Found
    Over 8 wheels the rim's stiffness is put at 100 % of its kind's before any pass, at 86 % after one, 84 % after two
    and 81 % after three; the truth is 75 %. What a turn gives is put 6.7 % of the pitch too high at first, then 3.5 %,
    3.5 % and 2.5 %.
    Never faster than the tools allow: after one pass the rim is still known to 17 % only.
Figure
    figures/what_a_pass_teaches.svg: what is thought of rim and thread after each pass, wheel by wheel.
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
WHEELS, PASSES, SOFT = 8, 3, 0.75
SIDES = ({"left": -QUARTER}, {"left": -QUARTER}, {"right": QUARTER})


@dataclass(frozen=True, eq=False)
class Found:
    """After no pass, one, two ...: stiffness and gain as thought, and the doubt about stiffness, (wheels, passes + 1);
    the true gain, (wheels,). All as shares."""

    stiffness: np.ndarray
    doubt: np.ndarray
    gain: np.ndarray
    true_gain: np.ndarray


def run():
    """Work on wheels whose rim is softer than written."""
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
    """Stiffness over gain, wheel by wheel, their mean and the truth."""
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
