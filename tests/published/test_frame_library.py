"""A wheel rebuilt in PyNiteFEA, a general library of three-dimensional frames, without prestress.

The rim is 144 straight members between points on the section's centre circle: each chord is 8e-5
shorter than its arc, and the answers converge with the square of the members' length. Spokes are
members with pinned ends on fixed hub holes; a nipple's turn is the pull K p at both ends.

Signs: the library's X is forward, Y up, Z to the right (right-handed), for our (lateral, tangential,
radial) = (Z, X cos a - Y sin a, X sin a + Y cos a) at the angle a, clockwise from the top as seen from
the right. Its member's axial force is positive in compression, our tension in pull. Its local y lies in
the wheel's plane, so Iz is bending in the plane and Iy out of it.
"""

import numpy as np
import pytest

from tests.published.row import Row, assert_holds
from tests.published.wheels import REAR, wheel
from wheelsim.mechanics.influence import influence
from wheelsim.wheel.geometry import wheel_geometry

SOURCE = "PyNiteFEA"
MEMBERS = 4  # a gap between spokes
E_RIM, G_RIM = 69e9, 26e9
CASE = "Combo 1"
WHEELS = {
    "crossed, dished": REAR,
    "crossed, dished, seats 3 mm aside and 5 mm inside": {**REAR, "seat_offset": -3e-3, "seat": 0.296},
    "crossed, not dished": {**REAR, "flanges": (0.034, 0.034)},
}


def there(angle, vector):
    """Our (lateral, tangential, radial) at an angle as the library's X, Y, Z."""
    lateral, tangential, radial = vector
    return (tangential * np.cos(angle) + radial * np.sin(angle),
            radial * np.cos(angle) - tangential * np.sin(angle), lateral)


def frame(this):
    """The wheel as a frame: rim nodes r0, r1, ..., spokes S0, S1, ..."""
    from Pynite import FEModel3D  # here, so that only the worker that needs it loads it, and all that it brings in

    g, rim = wheel_geometry(this), this.rim
    model = FEModel3D()
    model.add_material("rim", E_RIM, G_RIM, 0.3, 2700.0)
    model.add_material("spoke", this.spokes.modulus, 80e9, 0.3, 7900.0)
    model.add_section("rim", rim.stretch / E_RIM, rim.lateral_bending / E_RIM, rim.radial_bending / E_RIM,
                      rim.torsion / G_RIM)
    model.add_section("arm", rim.stretch / E_RIM * 1e3, 1e-5, 1e-5, 1e-5)  # a rigid arm to the seat
    count = this.n * MEMBERS
    for k in range(count):
        model.add_node(f"r{k}", *there(g.angle[0] + 2 * np.pi * k / count, (0.0, 0.0, rim.section_radius)))
    for k in range(count):
        model.add_member(f"R{k}", f"r{k}", f"r{(k + 1) % count}", "rim", "rim")
    centre = np.array([0.0, 0.0, rim.section_radius])
    for i, angle in enumerate(g.angle):
        seat = f"r{i * MEMBERS}"
        if np.any(np.abs(g.lever[i]) > 1e-9):
            model.add_node(f"s{i}", *there(angle, centre + g.lever[i]))
            model.add_member(f"A{i}", seat, f"s{i}", "rim", "arm")
            seat = f"s{i}"
        model.add_node(f"h{i}", *there(angle, centre + g.hub[i]))
        model.def_support(f"h{i}", *[True] * 6)
        model.add_section(f"spoke {i}", g.stiffness[i] * g.length[i] / this.spokes.modulus, 1e-12, 1e-12, 1e-12)
        model.add_member(f"S{i}", seat, f"h{i}", "spoke", f"spoke {i}")
        model.def_releases(f"S{i}", Rxi=True, Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    return model


def turn_first(model, this):
    """Lateral and radial shift and tension at every spoke, (3, n), for one turn of nipple 1."""
    g = wheel_geometry(this)
    pull = g.stiffness[0] * this.spokes.thread_pitch
    seat = model.members["S0"].i_node.name
    for name, share in zip(("FX", "FY", "FZ"), there(g.angle[0], g.axis[0]), strict=True):
        model.add_node_load(seat, name, float(pull * share))
    model.analyze_linear()
    nodes = [model.nodes[f"r{i * MEMBERS}"] for i in range(this.n)]
    x, y, z = (np.array([getattr(node, name)[CASE] for node in nodes]) for name in ("DX", "DY", "DZ"))
    tension = -np.array([model.members[f"S{i}"].axial(0.0, CASE) for i in range(this.n)])
    tension[0] += pull
    return np.stack([z, x * np.sin(g.angle) + y * np.cos(g.angle), tension])


def one_turn():
    """One turn of one nipple, T = 0: lateral shift, radial shift and tensions all round, to 0.1 %."""
    for words, parts in WHEELS.items():
        this = wheel(**parts)
        theirs = turn_first(frame(this), this)
        own = influence(this)
        for what, unit, scale, printed, ours in (
            ("lateral shift", "mm", 1e3, theirs[0], own.lateral[:, 0]),
            ("radial shift", "mm", 1e3, theirs[1], own.radial[:, 0]),
            ("tension", "N", 1.0, theirs[2], own.tension[:, 0]),
        ):
            common = {"source": SOURCE, "kind": "frame library"}
            yield Row(**common, where=f"36 spokes, {words}", what=f"one turn of one nipple: {what} at it",
                      printed=float(printed[0] * scale), ours=float(ours[0] * scale), unit=unit,
                      why="144 straight members for the circle leave 3e-4",
                      rel=1e-3)
            yield Row(**common, where=f"36 spokes, {words}", what=f"{what} at all 36: largest difference over largest",
                      printed=0.0, ours=float(np.abs(ours - printed).max() / np.abs(printed).max()), unit="1",
                      why="144 straight members for the circle leave 3e-4",
                      absolute=1e-3)


CHECKS = (one_turn,)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_frame_library(check):
    """Same wheel, other program: every row within its tolerance."""
    assert_holds(check)


def test_frame_converges():
    """Twice the members, a quarter of the difference: what is left is the polygon, not the wheel."""
    this = wheel(**REAR)
    ours = influence(this).lateral[:, 0]

    def error(members):
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(globals(), "MEMBERS", members)
            return np.abs(turn_first(frame(this), this)[0] - ours).max()

    # Straight members are second order in their length; higher orders bend the four a little.
    assert error(2) / error(4) == pytest.approx(4.0, rel=0.05)
