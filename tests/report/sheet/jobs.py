"""Invented jobs on the shipped rear wheel for the sheets' tests: read without error, by side or spoke by spoke."""

from pathlib import Path

import numpy as np
from scipy.optimize import fsolve

import wheelsim
from wheelsim.mechanics.equilibrium import equilibrium

SAMPLES = Path(wheelsim.__file__).parent / "samples"
HEAD = 'format = 1\nwheel = "dished-rear-wheel.toml"\n'
TAIL = "[errors]\nmeter_percent = 2.0\nsides_percent = 2.0\n"


def listed(values, digits):
    return "[" + ", ".join(f"{value:.{digits}f}" for value in values) + "]"


def reading(state, label):
    """A reading of everything, as a table of a job."""
    gap = 2e3 * state.dish
    return (f'[[reading]]\nlabel = "{label}"\n'
            f'gauge = {{ set_on = "{"right" if gap < 0 else "left"}", gap_mm = {abs(gap):.2f}, gap_at = "hub" }}\n'
            f"lateral_mm = {listed(1e3 * (state.lateral - state.lateral.mean()), 2)}\n"
            f"radial_mm = {listed(1e3 * (state.radial - state.radial.mean()), 2)}\n"
            f"tension_N = {listed(state.tension, 0)}\n")


def made(number, turns, planned="true"):
    return f"[[pass]]\nnumber = {number}\nturns = {{ {turns} }}\nplanned = {planned}\n"


def kept(number, turns):
    return f"[[pass]]\nnumber = {number}\nplanned = {{ {turns} }}\n"


def write_jobs(folder):
    """The jobs by name: three passes, thirty named nipples, none possible, finished, half done, undone of a plan."""
    wheel_text = (SAMPLES / "dished-rear-wheel.toml").read_text()
    sample = (SAMPLES / "dished-rear.toml").read_text()
    (folder / "dished-rear-wheel.toml").write_text(wheel_text)
    (folder / "tight-wheel.toml").write_text(wheel_text.replace("max_tension_N = 1270.0", "max_tension_N = 1165.0"))
    wheel = wheelsim.read_wheel(folder / "dished-rear-wheel.toml")
    right, left = (wheel.on_side(side) for side in ("right", "left"))

    def at(x, more_right=0.0, more_left=0.0):
        turns = np.zeros(wheel.n)
        turns[right], turns[left] = x[0] + more_right, x[1] + more_left
        return equilibrium(wheel, turns)

    x = fsolve(lambda x: (1e3 * at(x).dish + 1.5, at(x).tension[right].mean() - 1145), (0.0, 0.0), epsfcn=1e-6)
    # Fifteen nipples of each flange, an eighth or a quarter, as kept from a plan.
    named = [", ".join(f'{i + 1} = "-1/{4 if k % 3 else 8}"' for k, i in enumerate(side[:15]))
             for side in (right, left)]
    first = HEAD + reading(at(x), "as received (invented)")
    half, end = reading(at(x, 0.0, -0.25), "after pass 1"), reading(at(x, 0.25, -0.5), "after pass 3")
    texts = {
        "three": sample,
        "named": first + kept(1, named[0]) + kept(2, named[1]) + TAIL,
        "none": sample.replace("dished-rear-wheel", "tight-wheel") + 'leave = [1, 2, 3, 4]\ndirection = "tighten"\n',
        "finished": first + made(1, 'left = "-1/4"') + made(2, 'left = "-1/4"', '{ left = "-1/4", 7 = "1/8" }')
        + made(3, 'right = "1/4"') + end + TAIL,
        "half": first + made(1, 'left = "-1/4"') + half + kept(2, 'left = "-1/4"') + kept(3, 'right = "1/4"') + TAIL,
        "kept": sample.replace("[errors]", kept(1, 'left = "-1/4"') + kept(2, 'left = "-1/4"')
                               + kept(3, 'right = "1/4"') + "[errors]"),
    }
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text)
    return {name: folder / f"{name}.toml" for name in texts}
