"""How many spokes does one nipple affect?

Question
    One nipple of the sample front wheel is turned a little. How many other spokes change their tension by at least a
    quarter, or a tenth, of what that spoke gains? At how many does the rim move by at least a quarter, or a tenth, of
    its shift at that spoke? And with other rims?
Expect
    A few neighbours; a stiffer rim spreads the movement over more spokes and makes the tension changes more even.
Found
    Four other spokes by a quarter, seventeen by a tenth of what the turned one gains. The rim moves by a quarter beside
    seven others, by a tenth beside seventeen. With a shallow rim 4 and 16 spokes, 6 and 18 places; with a deep one 3
    and 12 spokes, 8 and 20 places.
Figure
    figures/neighbours.svg: changes in order of size, for three kinds of rim.
"""

from dataclasses import dataclass, replace

import numpy as np

from experiments.common import FIGURES, front, page, rounded
from wheelsim.mechanics.influence import influence
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, LIMIT, SMALL, fixed_look
from wheelsim.wheel.kinds import KINDS

FIGURE = FIGURES / "neighbours.svg"
SPOKE = 17
QUARTER, TENTH = 0.25, 0.10
LOOKS = {"shallow alloy": ("s", "dotted"), "box alloy": ("o", "solid"), "deep alloy": ("^", "dashed")}


@dataclass(frozen=True, eq=False)
class Found:
    """By kind of rim, changes over that at the spoke turned, absolute and sorted, largest first: (n,)."""

    tension: dict
    lateral: dict


def count(shares, least):
    """Number of other spokes with at least this share."""
    return int(np.count_nonzero(shares[1:] >= least))


def run():
    """Calculate the influence of one nipple for three kinds of rim."""
    tension, lateral = {}, {}
    for name in LOOKS:
        kind = KINDS[name]
        wheel = front()
        wheel = replace(wheel, rim=replace(
            wheel.rim, kind=name, radial_bending=kind.radial_bending, lateral_bending=kind.lateral_bending,
            torsion=kind.torsion, stretch=kind.stretch))
        per_turn = influence(wheel)
        tension[name] = _shares(per_turn.tension)
        lateral[name] = _shares(per_turn.lateral)
    return Found(tension, lateral)


def _shares(per_turn):
    column = np.abs(per_turn[:, SPOKE - 1])
    return np.sort(column / column[SPOKE - 1])[::-1]


def draw(found):
    """Two panels, tension and rim shift: the shares of all other spokes in falling order."""
    box = "box alloy"
    sentence = (f"One nipple changes {_word(count(found.tension[box], QUARTER))} other spokes by a quarter of its own "
                f"change or more, and {_word(count(found.tension[box], TENTH))} by a tenth or more")
    with fixed_look():
        figure, top = page(sentence, (10.0, 4.9), "invented front wheel, 36 spokes, with three generic kinds of rim")
        panels = figure.subplots(1, 2, sharey=True, gridspec_kw={
            "left": 0.08, "right": 0.985, "bottom": 0.135, "top": top - 0.06, "wspace": 0.08})
        for axes, shares, title in ((panels[0], found.tension, "tension of the other spokes"),
                                    (panels[1], found.lateral, "sideways shift of the rim beside them")):
            for name, (mark, line) in LOOKS.items():
                rank = np.arange(1, len(shares[name]))
                axes.plot(rank, rounded(100 * shares[name][1:], 2), color=INK, lw=1.3, ls=line, marker=mark, ms=5,
                          mfc="white" if name != box else INK,
                          label=f"{name} rim: {count(shares[name], QUARTER)} by a quarter, "
                                f"{count(shares[name], TENTH)} a tenth")
            for least, words in ((QUARTER, "a quarter"), (TENTH, "a tenth")):
                axes.axhline(100 * least, color=LIMIT, lw=1.1, ls="dashed")
                axes.text(35, 100 * least + 1, words, ha="right", va="bottom", color=LIMIT, fontsize=SMALL)
            axes.set_title(title, loc="left", fontsize=SMALL + 1, color=INK)
            axes.set_xlim(0, 35.5)
            axes.set_ylim(0, 100)
            axes.set_xlabel("other spokes, most affected first [rank]")
            axes.grid(axis="y", color="#e4e4e4", lw=0.6)
            axes.legend(loc="upper right", fontsize=SMALL, frameon=False)
        panels[0].set_ylabel("change [% of that at the spoke turned]")
    return figure


def _word(number):
    return {3: "three", 4: "four", 5: "five", 15: "fifteen", 16: "sixteen", 17: "seventeen"}.get(number, str(number))


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
