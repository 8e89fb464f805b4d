"""Forces and energy of ring and spokes in a pose: what is out of balance, and what an own shape of the rim adds."""

from functools import lru_cache

import numpy as np
from scipy.linalg.lapack import dgesv

from wheelsim.arrays import Floats
from wheelsim.mechanics.bent import bent_to
from wheelsim.mechanics.pose import Body, Pose, PosedSpokes, motions_at
from wheelsim.mechanics.ring import Ring


@lru_cache(maxsize=8)
def ring_terms(body: Body, pose: Pose) -> tuple[Floats, Floats, float, float]:
    """Elastic force and geometric force per newton of compression, (n, 6); first- and second-order mean hoop strain.

    Energy, residual and tangent of a pose all ask for them; shared, so don't write to them.
    """
    ring, shift = body.ring, pose.shift
    elastic, geometric = ring.forces(shift)
    second = float(np.vdot(shift, geometric)) / 2 + float(np.vdot(shift, body.bent))
    return elastic, geometric + body.bent, float(np.vdot(ring.stretch, shift)), second / ring.circumference


def hoop_compression(body: Body, pose: Pose) -> float:
    """Hoop compression of the rim in a pose. [N]"""
    _, _, first, second = ring_terms(body, pose)
    return body.compression - body.ring.rigidity * (first + second)


def energy_of(body: Body, pose: Pose, spokes: PosedSpokes) -> float:
    """Potential energy of ring and spokes, from that of the nominal ring; the line search lowers it. [N m]"""
    elastic, _, first, second = ring_terms(body, pose)
    ring = body.ring
    length = ring.circumference
    return (float(np.vdot(pose.shift, elastic)) / 2 + float(np.vdot(pose.shift, body.held))
            - body.compression * second * length
            + ring.rigidity * length * (first + second / 2) * second
            + spokes.work())


def residual_of(body: Body, pose: Pose, spokes: PosedSpokes) -> Floats:
    """Residual: force and moment out of balance on every station, (n, 6). [N, N m]"""
    ring = body.ring
    elastic, geometric, first, second = ring_terms(body, pose)
    pressed = body.compression - ring.rigidity * (first + second)
    inner = elastic + body.held - pressed * geometric + (ring.rigidity * ring.circumference * second) * ring.stretch
    # The ring's forces follow from its deformation in the moving frame, where they balance in the undeformed places of
    # the stations. Subtracting their resultant makes them balance in the present places.
    motions, whole = motions_at(body, pose)
    _, _, carry, _ = dgesv(whole.T, inner.ravel() @ motions.reshape(-1, 6))
    inner[:, :3] -= (body.motions @ carry).reshape(-1, 3)
    outer = spokes.force()
    outer[:, 3:] = np.einsum("nij,ni->nj", pose.rotations.tangent_maps(), outer[:, 3:])
    outer -= inner
    return outer


@lru_cache(maxsize=16)
def _geometric_of(ring: Ring, shape: bytes, count: int) -> Floats:
    """Geometric force (n, 6, m) per newton of compression on the ring bent to ``count`` shapes (n, 3, m), as bytes.

    An estimate asks for those of the same waves in each of its steps; shared, so don't write to them.
    """
    return ring.forces(bent_to(ring, np.frombuffer(shape).reshape(-1, 3, count)))[1]


def shape_load(body: Body, pose: Pose, spokes: PosedSpokes, shape: Floats) -> tuple[Floats, Floats]:
    """Derivative of the residual (n, 6, m) and of the tensions (n, m) by m own shapes (n, 3, m), displacements held.

    An own shape causes no residual at the nominal tensions, by definition. So what counts is the difference between the
    present and the nominal pulls and compression, and the hoop force that arises because the displaced rim is longer or
    shorter by the shape. [N/m, N; N/m]
    """
    g, ring = body.geometry, body.ring
    bent = _geometric_of(ring, shape.tobytes(), shape.shape[2])

    def turned(tension: Floats, axis: Floats, length: Floats) -> Floats:
        """Change of pulls (n, 3, m) because the shape moves the seats across the spokes and so turns them."""
        across = shape - axis[:, :, None] * np.einsum("ni,nim->nm", axis, shape)[:, None]
        pull: Floats = -(tension / length)[:, None, None] * across
        return pull

    tension = spokes.stiffness[:, None] * np.einsum("ni,nim->nm", g.axis - spokes.axis, shape)
    pull = (turned(spokes.tension, spokes.axis, spokes.length) - turned(g.tension, g.axis, body.rest)
            + spokes.axis[:, :, None] * tension[:, None])
    moment = np.cross(g.lever[:, None], pull.transpose(0, 2, 1)).transpose(0, 2, 1)
    _, geometric, first, second = ring_terms(body, pose)
    longer = np.einsum("nj,njm->m", pose.shift, bent) / ring.circumference
    hoop = -ring.rigidity * (geometric[:, :, None] + ring.circumference * ring.stretch[:, :, None]) * longer
    pressed = -ring.rigidity * (first + second)
    return np.concatenate([pull, moment], axis=1) + pressed * bent + hoop, tension
