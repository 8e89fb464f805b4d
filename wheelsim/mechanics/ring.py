"""Stiffness of the rim alone: a closed elastic ring with a node (station) at each spoke.

Each arc between two stations is a thin curved beam (stretch, bending in and out of plane, torsion, no shear). Its
stiffness comes from the transfer matrix of the beam's differential equations, so there is no discretisation error.
Hoop compression enters through a geometric stiffness that is exact to first order in the compression.

A station has six degrees of freedom: displacement, then rotation, each in the station's frame
(lateral, tangential, radial).

References
----------
S. Timoshenko, J. Gere, Theory of Elastic Stability, 2nd ed., 1961, ch. 7 (rings).
C. F. Van Loan, Computing integrals involving the matrix exponential, IEEE Trans. Autom. Control 23
(1978) 395: the derivative of a matrix exponential as a block of a larger one.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TypeAlias

import numpy as np
from scipy.linalg import expm

from wheelsim.arrays import Floats
from wheelsim.wheel.parts import Rim

# An arc as pieces of constant stiffness from its start on: (angle [rad], stiffness as a share of the rim's) of each.
Pieces: TypeAlias = tuple[tuple[float, float], ...]

# Matrices of the cross product with the tangent and with the ring's axis, in (lateral, tangential, radial).
CROSS_TANGENT = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 0.0], [-1.0, 0.0, 0.0]])
CROSS_AXIS = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


@dataclass(frozen=True, eq=False)
class Ring:
    """Stiffness of a free ring, as 6 x 6 blocks of a cyclic block-tridiagonal matrix.

    ``own[i]`` is the diagonal block of station i, ``next[i]`` the block of rows i and columns i + 1.

    Attributes
    ----------
    own, next : (n, 6, 6) ndarray
        Elastic stiffness. [N/m, N, N m]
    own_geometric, next_geometric : (n, 6, 6) ndarray
        Geometric stiffness: what each newton of compression subtracts from it. [1/m, 1, m]
    stretch : (n, 6) ndarray
        Mean hoop strain per displacement of each station. [1/m, 1]
    rigidity : float
        EA; with a joint, the mean round the rim. [N]
    circumference : float
        At the section's centre. [m]
    """

    own: Floats
    next: Floats
    own_geometric: Floats
    next_geometric: Floats
    stretch: Floats
    rigidity: float
    circumference: float

    @cached_property
    def rows(self) -> Floats:
        """Elastic blocks above geometric ones, from the station before, the own and the next station: (n, 12, 18)."""
        before = np.roll(np.concatenate([self.next, self.next_geometric], axis=2), 1, axis=0).transpose(0, 2, 1)
        own = np.concatenate([self.own, self.own_geometric], axis=1)
        after = np.concatenate([self.next, self.next_geometric], axis=1)
        return np.concatenate([before, own, after], axis=2)

    def forces(self, shift: Floats) -> tuple[Floats, Floats]:
        """Elastic forces on the stations, and geometric ones per newton of compression, for displacements of them.

        Displacements (n, 6) or (n, 6, m); forces of the same shape. [N, N m; 1, m per m or rad]
        """
        columns = shift.reshape(len(shift), 6, -1)
        n, _, m = columns.shape
        round_it = np.concatenate([columns[-1:], columns, columns[:1]])
        # Those of three neighbouring stations lie one after the other in memory: one view of 18 rows for each station.
        three: Floats = np.ndarray((n, 18, m), buffer=round_it, strides=(48 * m, 8 * m, 8))
        both = (self.rows @ three).reshape(n, 12, *shift.shape[2:])
        return both[:, :6], both[:, 6:]


@lru_cache(maxsize=64)
def ring_of(rim: Rim) -> Ring:
    """The ring of a rim; equal arcs are worked out once. Cached, so don't write to its arrays."""
    pieces = pieces_of(rim)
    stiffness = (rim.radial_bending, rim.lateral_bending, rim.torsion, rim.stretch)
    known = {}
    for piece in set(pieces):
        both = arc_stiffness(piece, rim.section_radius, *stiffness)
        known[piece] = *both, _hoop_strain(both[0], piece, rim)
    elastic, geometric, hoop = (np.array(part) for part in zip(*(known[piece] for piece in pieces), strict=True))
    circumference = 2 * np.pi * rim.section_radius
    at_start, at_end = hoop[:, :6] / circumference, hoop[:, 6:] / circumference
    softness = sum(angle / share for piece in pieces for angle, share in piece) / (2 * np.pi)
    return Ring(
        own=elastic[:, :6, :6] + np.roll(elastic[:, 6:, 6:], 1, axis=0),
        next=elastic[:, :6, 6:],
        own_geometric=geometric[:, :6, :6] + np.roll(geometric[:, 6:, 6:], 1, axis=0),
        next_geometric=geometric[:, :6, 6:],
        stretch=at_start + np.roll(at_end, 1, axis=0),
        rigidity=rim.stretch / softness,
        circumference=circumference,
    )


def pieces_of(rim: Rim) -> list[Pieces]:
    """Each arc as pieces of constant stiffness, cut at the joint's edges; rounded, so that equal arcs compare equal."""
    angles, joint = np.asarray(rim.hole_angles), rim.joint
    arcs = np.diff(angles, append=angles[0] + 2 * np.pi)
    if joint is None:
        return [((round(arc, 12), 1.0),) for arc in arcs]
    out = []
    for start, arc in zip(angles, arcs, strict=True):
        # The part of the joint inside this arc, in angles from the arc's start; one full turn either way is tried too.
        inside = sorted(
            (max(low, 0.0), min(low + joint.arc, arc))
            for turn in (-1, 0, 1) for low in [joint.angle - joint.arc / 2 - start + 2 * np.pi * turn]
            if low < arc and low + joint.arc > 0)
        cuts, at = [], 0.0
        for low, high in inside:
            cuts += [(low - at, 1.0), (high - low, joint.stiffness)]
            at = high
        cuts.append((arc - at, 1.0))
        out.append(tuple((round(angle, 12), share) for angle, share in cuts if angle > 1e-9))
    return out


def _hoop_strain(elastic: Floats, pieces: Pieces, rim: Rim) -> Floats:
    """Lengthening of an arc per displacement of its two ends, (12,). [1, m]

    Between its ends an arc is unloaded: its force is constant in space, so its tangential component, integrated over
    the arc, follows from the force at the start.
    """
    start = -elastic[:3, :]
    total, at = np.zeros(12), 0.0
    for angle, share in pieces:
        ends = np.array([at, at + angle])
        sine, versine = np.diff(np.sin(ends))[0], -np.diff(np.cos(ends))[0]
        total = total + (sine * start[1] - versine * start[2]) / share
        at += angle
    return total * rim.section_radius / rim.stretch


def arc_stiffness(pieces: float | Pieces, radius: float, radial_bending: float, lateral_bending: float,
                  torsion: float, stretch: float) -> tuple[Floats, Floats]:
    """Stiffness of one arc of the ring between two stations.

    Parameters
    ----------
    pieces : float, or tuple of (float, float)
        Central angle; or ``Pieces``. [rad]
    radius : float
        Of the section's centre. [m]
    radial_bending, lateral_bending, torsion : float
        EI in the ring's plane, EI out of it, GJ. [N m2]
    stretch : float
        EA. [N]

    Returns
    -------
    elastic, geometric : (12, 12) ndarray
        Degrees of freedom of the start, then of the end; ``elastic - P * geometric`` is the stiffness
        under the compression P. [N/m, N, N m; 1/m, 1, m]

    Notes
    -----
    Per length of arc, with displacement U, rotation T, force F and moment M on the face toward increasing angle, t the
    tangent and the ring's curvature vector k = -axis / R:
        U' = -k x U + T x t + t (F.t) / EA        T' = -k x T + M / (EI, GJ, EI)
        F' = -k x F                               M' = -k x M - t x F - P (T - t (T.t))
    The last term comes from the work of the compression on the second-order shortening, P/2 T^2 (T across t).
    """
    # Dimensionless, so that the matrix is well conditioned for any rim: lengths over R, forces over EI/R^2.
    bend = lateral_bending
    rates = np.zeros((12, 12))
    eye = np.arange(3)
    for block in (slice(0, 3), slice(3, 6), slice(6, 9), slice(9, 12)):
        rates[block, block] = CROSS_AXIS
    rates[0:3, 3:6] = -CROSS_TANGENT
    rates[1, 7] = bend / (stretch * radius**2)
    rates[3 + eye, 9 + eye] = bend / np.array([radial_bending, torsion, lateral_bending])
    rates[9:12, 6:9] = -CROSS_TANGENT
    per_compression = np.zeros((12, 12))
    per_compression[9, 3] = per_compression[11, 5] = -1.0

    # exp of [[A, B], [0, A]] holds exp(A) and its derivative in direction B; consecutive pieces multiply.
    both = np.eye(24)
    for angle, share in pieces if isinstance(pieces, tuple) else ((pieces, 1.0),):
        here = rates.copy()
        here[0:6, 6:12] /= share
        both = expm(np.block([[here, per_compression], [np.zeros((12, 12)), here]]) * angle) @ both
    transfer, change = both[:12, :12], both[:12, 12:]
    # Back to SI units.
    to_si = np.tile(np.repeat([1.0, radius], 3), 2)
    elastic, geometric = _end_stiffness(transfer, change)
    outer = np.outer(to_si, to_si)
    return elastic * outer * bend / radius**3, geometric * outer / radius


def _end_stiffness(transfer: Floats, change: Floats) -> tuple[Floats, Floats]:
    """Stiffness (12, 12) of a beam from its transfer matrix, and minus its derivative, made symmetric."""
    dd, df, fd, ff = transfer[:6, :6], transfer[:6, 6:], transfer[6:, :6], transfer[6:, 6:]
    cdd, cdf, cfd, cff = change[:6, :6], change[:6, 6:], change[6:, :6], change[6:, 6:]
    flex = np.linalg.inv(df)
    dflex = -flex @ cdf @ flex
    stiffness = np.block([[flex @ dd, -flex], [fd - ff @ flex @ dd, ff @ flex]])
    derivative = np.block([
        [dflex @ dd + flex @ cdd, -dflex],
        [cfd - (cff @ flex + ff @ dflex) @ dd - ff @ flex @ cdd, cff @ flex + ff @ dflex],
    ])
    return (stiffness + stiffness.T) / 2, -(derivative + derivative.T) / 2
