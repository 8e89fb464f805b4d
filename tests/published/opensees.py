"""A wheel in OpenSees, a general library of frames: large displacements, prestress and slack spokes.

The rim is straight corotational beams, several a gap, between points on the section's centre circle; a spoke is a
corotational truss to a fixed hub hole, of a material that pulls but doesn't push, with an initial strain that makes
it as short as its tension and its nipple's turns do. Signs as in ``test_frame_library``: the library's X is forward,
Y up, Z to the right; Iz is bending in the wheel's plane.
"""

import ctypes
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from tests.published.test_frame_library import there
from wheelsim.mechanics.influence import compression
from wheelsim.wheel.geometry import wheel_geometry

MEMBERS = 4  # a gap between spokes
E_RIM, G_RIM = 69e9, 26e9
GOES = 4  # to find the unstressed rim
FORCE_LEFT = 1e-5  # [N] where Newton's method stops


@cache
def library():
    """The library, or None where it can't be loaded.

    On Linux it comes with a BLAS beside it that its own LAPACK doesn't find; loaded first, it is found by name.
    """
    own = find_spec("openseespylinux")
    try:
        if own and own.origin:
            ctypes.CDLL(str(Path(own.origin).parent / "lib" / "libblas.so.3"))
        import openseespy.opensees as found
    except (ImportError, OSError, RuntimeError):  # it raises RuntimeError where its binary fits the system ill
        return None
    return found


def _circle(wheel):
    """Points (m, 3) of the true rim's section centre."""
    count = wheel.n * MEMBERS
    first = wheel_geometry(wheel).angle[0]
    return np.array([there(first + 2 * np.pi * k / count, (0.0, 0.0, wheel.rim.section_radius)) for k in range(count)])


class Frame:
    """A wheel at rest in the library after ``turns`` (n,), its unstressed rim through the points (m, 3).

    The library holds one model at a time: use one frame before building the next.
    """

    def __init__(self, wheel, turns, points):
        self.ops, self.wheel, self.points = library(), wheel, points
        self._build(turns)
        self._analysis()
        self.ops.integrator("LoadControl", 1.0)
        self.ops.analysis("Static")
        if self.ops.analyze(1) != 0:
            raise ArithmeticError("the frame comes to no rest")

    def _build(self, turns):
        ops, wheel, count = self.ops, self.wheel, len(self.points)
        g, rim = wheel_geometry(wheel), wheel.rim
        ops.wipe()
        ops.model("basic", "-ndm", 3, "-ndf", 6)
        for k, point in enumerate(self.points, 1):
            ops.node(k, *map(float, point))
        ops.geomTransf("Corotational", 1, 0.0, 0.0, 1.0)
        section = (rim.stretch / E_RIM, E_RIM, G_RIM, rim.torsion / G_RIM, rim.lateral_bending / E_RIM,
                   rim.radial_bending / E_RIM)
        for k in range(1, count + 1):
            ops.element("elasticBeamColumn", k, k, k % count + 1, *section, 1)
        pitch, centre = wheel.spokes.thread_pitch, np.array([0.0, 0.0, rim.section_radius])
        for i in range(wheel.n):
            seat, hub, spoke = i * MEMBERS + 1, count + i + 1, count + i + 1
            hole = there(g.angle[i], centre + g.hub[i])
            ops.node(hub, *map(float, hole))
            ops.fix(hub, *[1] * 6)
            apart = float(np.linalg.norm(self.points[seat - 1] - hole))
            unstretched = g.length[i] - g.tension[i] / g.stiffness[i] - pitch * turns[i]
            rigidity = float(g.stiffness[i] * apart)
            ops.uniaxialMaterial("Elastic", 2 * i + 1, rigidity, 0.0, 1e-9 * rigidity)
            ops.uniaxialMaterial("InitStrainMaterial", 2 * i + 2, 2 * i + 1, float((apart - unstretched) / apart))
            ops.element("corotTruss", spoke, seat, hub, 1.0, 2 * i + 2)

    def _analysis(self):
        self.ops.constraints("Plain")
        self.ops.numberer("RCM")
        self.ops.system("UmfPack")
        self.ops.test("NormUnbalance", FORCE_LEFT, 60, 0)
        self.ops.algorithm("Newton")

    def tension(self):
        """Of every spoke, (n,). [N]"""
        first = len(self.points) + 1
        return np.array([self.ops.basicForce(first + i)[0] for i in range(self.wheel.n)])

    def moved(self):
        """Where the points are now, (m, 3). [m]"""
        return self.points + np.array([self.ops.nodeDisp(k + 1)[:3] for k in range(len(self.points))])

    def lateral(self):
        """Of the section's centre at every spoke, (n,). [m]"""
        return self.moved()[::MEMBERS, 2]

    def pushed(self, shift, steps):
        """Load that holds spoke 1's station ``shift`` aside of where it was, gone to in steps. [m], [N]"""
        ops = self.ops
        ops.loadConst("-time", 0.0)
        ops.timeSeries("Linear", 2)
        ops.pattern("Plain", 2, 2)
        ops.load(1, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)
        ops.wipeAnalysis()
        self._analysis()
        ops.integrator("DisplacementControl", 1, 3, shift / steps)
        ops.analysis("Static")
        if ops.analyze(steps) != 0:
            raise ArithmeticError("the frame comes to no rest")
        return ops.getTime()


@cache
def unstressed(wheel):
    """Points of the rim that the nominal pulls bring to the true circle, as the product's nominal wheel is true."""
    g, true = wheel_geometry(wheel), _circle(wheel)
    points = true * (1 + compression(g.tension, g.axis) / wheel.rim.stretch)
    for _ in range(GOES):
        points = points - (Frame(wheel, np.zeros(wheel.n), points).moved() - true)
    return points


def frame(wheel, turns):
    """The wheel after turns (n,), true and at its nominal tensions without any."""
    return Frame(wheel, turns, unstressed(wheel))
