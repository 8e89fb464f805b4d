"""A wheel pushed aside at one spoke, further and further, spokes letting go: the shift is set, the load found.

The product has no load path of its own; this follows one on its exact equilibrium (``mechanics.forces``).
"""

import numpy as np

from wheelsim.mechanics import pose as poses
from wheelsim.mechanics.forces import hoop_compression, residual_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import spoke_stiffness
from wheelsim.wheel.geometry import wheel_geometry

FORCE_LEFT, GAP_LEFT = 1e-4, 1e-8  # [N], [m] where an iteration stops
FIRM = 1e6  # [N/m] puts the shift's error among the forces


class NoRest(ArithmeticError):
    """The iterations come to no rest: beyond what the model follows."""


class Pushed:
    """A wheel with one station, ``at``, pushed along the axle and held to a shift; ``push`` lets spokes push."""

    def __init__(self, wheel, at=0, *, push=False):
        self.body, self.still, self.at, self.push = poses.body_of(wheel), np.zeros(wheel.n), at, push
        self.pose = poses.Pose(np.eye(3), np.zeros(3), np.zeros((wheel.n, 6)))
        self.load = 0.0  # [N]

    def _now(self, target):
        """Spokes, direction of the load in the moved frame, and what is out of balance, the shift's error last."""
        body, pose, at = self.body, self.pose, self.at
        spokes = poses.PosedSpokes(body, pose, self.still, push=self.push)
        along = np.zeros_like(pose.shift)
        along[at, :3] = body.frame[at] @ pose.turn.T[:, 0]
        place = pose.turn @ (body.frame[at].T @ (body.place[at] + pose.shift[at, :3])) + pose.move
        force = residual_of(body, pose, spokes) + self.load * along
        return spokes, along.ravel(), np.append(force.ravel(), FIRM * (target - place[0]))

    def _start(self, spokes, along):
        """Inverse of a near enough tangent, bordered by the load."""
        body, ring = self.body, self.body.ring
        pressed = hoop_compression(body, self.pose)
        own = (ring.own - pressed * ring.own_geometric
               + spoke_stiffness(spokes.axis, spokes.lever, spokes.length, spokes.stiffness, spokes.tension))
        own[:, 1, 1] += 1e-9 * np.abs(ring.own).max()  # turning about the axle
        tangent = ring_matrix(own, ring.next - pressed * ring.next_geometric)
        return np.linalg.inv(np.block([[tangent, -along[:, None]], [FIRM * along[None], np.zeros((1, 1))]]))

    def to(self, target):
        """Push to a shift [m]: the load there [N] and what each spoke pulls, or would push, (n,) [N].

        Newton's first step, then Broyden's, which finds what the tangent leaves out.
        """
        inverse = step = last = None
        for _ in range(60):
            spokes, along, out = self._now(target)
            if np.abs(out[:-1]).max() < FORCE_LEFT and abs(out[-1]) < FIRM * GAP_LEFT:
                g = self.body.geometry
                return self.load, g.tension + g.stiffness * (spokes.length - self.body.rest)
            if inverse is None:
                inverse = self._start(spokes, along)
            else:
                seen = inverse @ (last - out)
                inverse += np.outer(step - seen, step @ inverse) / (step @ seen)
            last, step = out, inverse @ out
            if not np.isfinite(step).all() or np.abs(step[:-1]).max() > 0.1:
                break
            self.pose = poses.moved(self.body, self.pose, step[:-1].reshape(-1, 6))
            self.load += step[-1]
        raise NoRest(f"no rest at {1e3 * target:g} mm")


def path(wheel, shifts, at=0, halvings=4):
    """Loads (m,) at shifts (m,) of one station, as far as it is followed; a step too long is halved. [m], [N]"""
    pushed, loads, before = Pushed(wheel, at), [], 0.0
    for shift in shifts:
        for half in range(halvings + 1):
            kept = pushed.pose, pushed.load
            try:
                for target in np.linspace(before, shift, 2**half + 1)[1:]:
                    load, _ = pushed.to(target)
                break
            except NoRest:
                pushed.pose, pushed.load = kept
        else:
            break
        loads.append(load)
        before = shift
    return np.array(loads)


def first_slack(wheel, sign, at=0, step=2.5e-4):
    """Load at which the first spoke lets go; as it may push just beyond, the path is smooth between steps. [N]"""
    pushed, before = Pushed(wheel, at, push=True), (0.0, wheel_geometry(wheel).tension)
    for count in range(1, 60):
        load, tension = pushed.to(sign * step * count)
        if tension.min() < 0:
            share = np.min((before[1] / (before[1] - tension))[tension < 0])
            return abs(before[0] + share * (load - before[0]))
        before = load, tension
    raise NoRest("no spoke lets go")
