"""A wheel solved anew for the tests: nothing of the product's mechanics is in it.

The rim is a closed chain of straight members in space, several a gap between spokes, with finite
rotations and forces that differ from member to member; spokes are springs of exact length. Newton's
method works on the whole energy in the wheel's own axes (right, forward, up); derivatives are taken
by complex steps. Only where spokes start and end and what they pull in the nominal wheel is taken
from ``wheel_geometry``, which has tests of its own.

References
----------
J. C. Simo, L. Vu-Quoc, Comput. Methods Appl. Mech. Eng. 58 (1986) 79: a rod with finite rotations.
R. H. MacNeal, Comput. Struct. 8 (1978) 175: the shear stiffness 12 EI / L^2 that makes a straight
member with one point of integration exact.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

from wheelsim.wheel.geometry import wheel_geometry

TINY, STEP = 1e-30, 1e-6
LEAST_MOVE = 1e-10  # Newton stops when no node moves further [m]


def turned(frame, spin):
    """Frames (..., 3, 3) rotated by rotation vectors well below a radian; analytic, so that it takes complex ones."""
    x, y, z = np.moveaxis(spin, -1, 0)
    square = x * x + y * y + z * z
    sine, cosine = 1 - square / 6 * (1 - square / 20), 0.5 - square / 24 * (1 - square / 30)
    # Unit matrix and the cross product with the vector, once and twice.
    turn = np.empty((*spin.shape, 3), dtype=spin.dtype)
    turn[..., 0, 0], turn[..., 1, 1], turn[..., 2, 2] = (
        1 - cosine * (y * y + z * z), 1 - cosine * (z * z + x * x), 1 - cosine * (x * x + y * y))
    turn[..., 0, 1], turn[..., 1, 0] = cosine * x * y - sine * z, cosine * x * y + sine * z
    turn[..., 1, 2], turn[..., 2, 1] = cosine * y * z - sine * x, cosine * y * z + sine * x
    turn[..., 2, 0], turn[..., 0, 2] = cosine * z * x - sine * y, cosine * z * x + sine * y
    return turn @ frame


def slopes(energy, size):
    """Gradient (k, size) and Hessian (k, size, size) of k energies in their own ``size`` variables, at zero.

    The gradient is exact (complex step); the Hessian its central difference.
    """
    unit = np.eye(size)
    gradient = energy(TINY * 1j * unit[:, None, :]).imag / TINY
    row, column = np.triu_indices(size)  # the rest is its mirror image
    beside = STEP * np.stack([unit[row], -unit[row]])[:, :, None, :] + TINY * 1j * unit[column, None, :]
    ahead, behind = energy(beside).imag / TINY
    hessian = np.empty((gradient.shape[1], size, size))
    hessian[:, row, column] = hessian[:, column, row] = (ahead - behind).T / (2 * STEP)
    return gradient.T, hessian


@dataclass
class Chain:
    """Where the nodes are, (m, 3), and how they are turned, (m, 3, 3): columns lateral, tangential, radial."""

    place: np.ndarray
    frame: np.ndarray

    def moved(self, change):
        return Chain(self.place + change[:, :3], turned(self.frame, change[:, 3:]))


class ExactWheel:
    """A wheel as members and springs.

    Parameters
    ----------
    wheel : Wheel
        Evenly drilled; a joint's edges should fall on nodes.
    members : int
        Straight members between two spokes.
    shape : callable, optional
        Lateral and radial out-of-true (2, m) [m] at angles (m,): where the rim stands by its own shape when
        every spoke has its nominal tension.
    """

    def __init__(self, wheel, members=6, shape=None):
        self.wheel, self.g, rim = wheel, wheel_geometry(wheel), wheel.rim
        count = wheel.n * members
        self.at = members * np.arange(wheel.n)  # nodes that hold a spoke
        angle = self.g.angle[0] + 2 * np.pi * np.arange(count) / count
        s, c, one, zero = np.sin(angle), np.cos(angle), np.ones(count), np.zeros(count)
        frame = np.array([[one, zero, zero], [zero, c, s], [zero, -s, c]]).transpose(2, 0, 1)
        circle = frame[:, :, 2] * rim.section_radius
        aside, out = np.zeros((2, count)) if shape is None else shape(angle)
        self.nominal = Chain(circle + aside[:, None] * frame[:, :, 0] + out[:, None] * frame[:, :, 2], frame)
        self.hub = circle[self.at] + np.einsum("nij,nj->ni", frame[self.at], self.g.hub)
        self.run = self._runs(self.nominal, np.zeros((wheel.n, 6)))
        self.length = 2 * rim.section_radius * np.sin(np.pi / count)  # of a member
        bend = 12 / self.length**2 * np.array([rim.lateral_bending, rim.radial_bending])
        self.stiffness = self.length * np.array([bend[0], rim.stretch, bend[1], rim.radial_bending, rim.torsion,
                                                 rim.lateral_bending])
        self.stiffness = np.outer(self._shares(angle + np.pi / count), self.stiffness)
        self.after = np.roll(np.arange(count), -1)
        still = np.zeros((count, 12))
        self.straight, self.held = self._measure(self.nominal, still), np.zeros((count, 6))
        self.held = self._held()

    def _shares(self, middle):
        """Stiffness of each member, as a share of the rim's, by its middle."""
        joint = self.wheel.rim.joint
        if joint is None:
            return np.ones(len(middle))
        away = (middle - joint.angle + np.pi) % (2 * np.pi) - np.pi
        return np.where(np.abs(away) < joint.arc / 2, joint.stiffness, 1.0)

    def _measure(self, chain, change):
        """Shear, stretch, shear; bending, twist, bending of every member after changes (..., count, 12)."""
        first = turned(chain.frame, change[..., 3:6])
        second = turned(chain.frame[self.after], change[..., 9:12])
        run = chain.place[self.after] + change[..., 6:9] - chain.place - change[..., :3]
        along = np.einsum("...ji,...j->...i", first + second, run) / 2
        between = np.swapaxes(first, -1, -2) @ second
        sine = np.stack([between[..., 2, 1] - between[..., 1, 2], between[..., 0, 2] - between[..., 2, 0],
                         between[..., 1, 0] - between[..., 0, 1]], axis=-1) / 2
        square = np.sum(sine**2, axis=-1)[..., None]
        bent = sine * (1 + square / 6 + 3 * square**2 / 40)  # arcsin
        return np.concatenate([along, bent], axis=-1) / self.length

    def _members(self, chain):
        def energy(change):
            strain = self._measure(chain, change) - self.straight
            return np.sum(strain * (self.stiffness * strain / 2 + self.held), axis=-1)

        return energy

    def _runs(self, chain, change):
        """From each seat to its hub hole, (..., n, 3)."""
        lever = np.einsum("...ij,...j->...i", turned(chain.frame[self.at], change[..., 3:]), self.g.lever)
        return self.hub - chain.place[self.at] - change[..., :3] - lever

    def _tension(self, chain, change, turns):
        g = self.g
        longer = np.sqrt(np.sum(self._runs(chain, change) ** 2, axis=-1)) - np.linalg.norm(self.run, axis=-1)
        return g.tension + g.stiffness * (longer + self.wheel.spokes.thread_pitch * turns)

    def _springs(self, chain, turns, holding):
        soft = np.where(holding, 1 / np.where(holding, self.g.stiffness, 1.0), 0.0)
        return lambda change: self._tension(chain, change, turns) ** 2 * soft / 2

    def _assemble(self, chain, turns=None, holding=None):
        """Gradient (6 m,) and Hessian of the energy; of the ring alone without turns."""
        count = len(chain.place)
        dof = 6 * np.arange(count)[:, None] + np.arange(6)
        parts = [(np.concatenate([dof, dof[self.after]], axis=1), *slopes(self._members(chain), 12))]
        if turns is not None:
            parts.append((dof[self.at], *slopes(self._springs(chain, turns, holding), 6)))
        gradient, rows, columns, entries = np.zeros(6 * count), [], [], []
        for where, slope, curve in parts:
            np.add.at(gradient, where, slope)
            rows.append(np.repeat(where, where.shape[1], axis=1).ravel())
            columns.append(np.tile(where, (1, where.shape[1])).ravel())
            entries.append(curve.ravel())
        shape = (6 * count, 6 * count)
        return gradient, coo_array((np.concatenate(entries), (np.concatenate(rows), np.concatenate(columns))), shape)

    def _held(self):
        """Forces in the members of the nominal wheel, in balance with its pulls as they run there.

        Those of the ring as the pulls would bend it, so that the choice among the forces that balance is natural.
        """
        g, count = self.g, len(self.nominal.place)
        frame = self.nominal.frame[self.at]
        pull = (g.tension / np.linalg.norm(self.run, axis=1))[:, None] * self.run
        moment = np.cross(np.einsum("nij,nj->ni", frame, g.lever), pull)
        load = np.zeros((count, 6))
        load[self.at] = np.concatenate([pull, moment], axis=1)
        _, ring = self._assemble(self.nominal)
        shift = np.zeros((count, 6))  # the first node is held: the pulls balance, so nothing bears on it
        shift[1:] = splu(ring.tocsc()[6:, 6:]).solve(load.ravel()[6:]).reshape(-1, 6)
        both = np.concatenate([shift, shift[self.after]], axis=1)
        return self.stiffness * self._measure(self.nominal, TINY * 1j * both).imag / TINY

    def rest(self, turns, holding=None, load=None):
        """The wheel at rest with the spokes of ``holding`` (n,) pulling or pushing, the others gone.

        Parameters
        ----------
        load : (n, 3) array_like, optional
            Force on the section's centre at each spoke: lateral, tangential, radial of the nominal wheel,
            which it keeps as the rim moves. [N]

        Returns
        -------
        lateral, radial, tension : (n,) ndarray
            As a State has them; tension is what a spoke would have, pushing or not, gone or not.
        """
        turns, chain = np.asarray(turns, dtype=float), self.nominal
        holding = self.g.present if holding is None else holding & self.g.present
        outside = np.zeros((len(chain.place), 6))
        if load is not None:
            outside[self.at, :3] = np.einsum("nij,nj->ni", chain.frame[self.at], load)
        parts = max(1, int(np.ceil(np.abs(turns).max() / 0.5)))
        for part in np.arange(1, parts + 1) / parts:
            for _ in range(30):
                gradient, curve = self._assemble(chain, part * turns, holding)
                change = splu(curve.tocsc()).solve(part * outside.ravel() - gradient).reshape(-1, 6)
                chain = chain.moved(change)
                if np.abs(change[:, :3]).max() < LEAST_MOVE:
                    break
            else:
                raise ArithmeticError("the exact wheel comes to no rest")
        at = np.einsum("nji,nj->ni", self.nominal.frame[self.at], chain.place[self.at])
        tension = self._tension(chain, np.zeros((self.wheel.n, 6)), turns)
        return at[:, 0], at[:, 2] - self.wheel.rim.section_radius, tension
