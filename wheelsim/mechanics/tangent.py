"""Tangent stiffness of the wheel in a pose: how what is out of balance changes with the stations' displacements."""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.forces import ring_terms
from wheelsim.mechanics.pose import Body, Pose, PosedSpokes, motions_at
from wheelsim.mechanics.response import compression
from wheelsim.mechanics.structure import (
    CROSSES,
    Factored,
    Fails,
    Unstable,
    Updated,
    factor_wheel,
    spoke_stiffness,
)

# The inverse of the small matrix W in the tangent's low-rank part U W U': of the hoop's two terms, one of them
# subtracted, and of the moving frame's three pairs. It has one and three negative eigenvalues.
HOOP = np.diag([1.0, -1.0])
HOOP_AND_FRAME = np.zeros((8, 8))
HOOP_AND_FRAME[:2, :2] = HOOP
HOOP_AND_FRAME[2:5, 5:] = HOOP_AND_FRAME[5:, 2:5] = -np.eye(3)
# By their stiffness along themselves fewer spokes can't hold the rim's six rigid-body motions. Their string stiffness
# alone is taken as no hold, and whether a factor shows that is a matter of rounding. Own choice.
FEWEST = 6


def factor_of(body: Body, pose: Pose, spokes: PosedSpokes, *, at_rest: bool = True) -> Factored:
    """Factored tangent stiffness of the wheel in a pose.

    Before equilibrium is reached (``at_rest`` False) the rim's compression may exceed what the spokes' pulls account
    for. The smaller of the two is then used, and of the low-rank terms only those that leave the matrix positive
    definite, so that the step lowers the energy; in equilibrium all of that is without effect.

    Raises
    ------
    Unstable
        If the stiffness without the low-rank terms, or with them, is not positive definite; fewer than ``FEWEST``
        spokes pull.

    Notes
    -----
    A spoke's stiffness is taken for small rotations of its station, while ``shift`` holds rotation vectors. That counts
    where seats lie off the section's centre: some per cent at a lever of some millimetres.
    """
    if at_rest and np.count_nonzero(spokes.pulling) < FEWEST:
        raise Unstable(Fails.STIFFNESS)
    ring = body.ring
    _, geometric, first, second = ring_terms(body, pose)
    pressed = body.compression - ring.rigidity * (first + second)
    if not at_rest:
        pressed = min(pressed, compression(spokes.tension, spokes.axis))
    blocks = spoke_stiffness(spokes.axis, spokes.lever, spokes.length, spokes.stiffness, spokes.tension)
    factor = factor_wheel(ring, blocks, pressed)
    bent = geometric / ring.circumference
    if not np.any(bent):
        return factor
    # The hoop force depends on first- and second-order mean strain, with gradients s and b. Of its rank-one stiffness
    # (s + b)(s + b)' the ring's elastic matrix already has s s'.
    hoop = np.stack([ring.stretch + bent, ring.stretch], axis=2) * np.sqrt(ring.rigidity * ring.circumference)
    try:
        return Updated(factor, np.concatenate([hoop, *_frame_terms(body, pose, spokes, pressed, hoop)], axis=2),
                       HOOP_AND_FRAME, 4)
    except Unstable:
        if at_rest:
            raise
    try:
        return Updated(factor, hoop, HOOP, 1)
    except Unstable:
        return factor


def _frame_terms(body: Body, pose: Pose, spokes: PosedSpokes, pressed: float, hoop: Floats) -> tuple[Floats, Floats]:
    """Two factors (n, 6, 3) of what the moving frame adds to the tangent: ``-(first second' + second first')``.

    A displacement of the stations turns the frame by ``second'`` times it. The deformation left within the frame is
    less by that turn, so the ring's forces are less by what its matrix makes of a turn; and all forces are seen from
    turned axes (of moments half counts: so much of a turn across it a rotation vector follows). ``first`` vanishes for
    a wheel in its nominal pose.

    References
    ----------
    C. C. Rankin, B. Nour-Omid, The use of projectors to improve finite element performance, Computers & Structures 30,
    257-267, 1988 (from memory).
    """
    motions, whole = motions_at(body, pose)
    turning = motions[:, :, 3:]
    second = np.zeros_like(turning)
    second[:, :3] = (body.motions @ np.linalg.inv(whole)[3:].T).reshape(-1, 3, 3)
    elastic, geometric = body.ring.forces(turning)
    flat, of_turn = hoop.reshape(-1, 2), turning.reshape(-1, 3)
    share = (flat * (1.0, -1.0)) @ (flat.T @ of_turn)
    stiff = elastic - pressed * geometric + share.reshape(turning.shape)
    pull = spokes.force()
    seen = np.concatenate([(pull[:, :3] @ CROSSES).reshape(-1, 3, 3) @ body.frame,
                           (pull[:, 3:] @ CROSSES).reshape(-1, 3, 3) @ body.frame / 2], axis=1)
    first = stiff + seen
    both = (stiff.reshape(-1, 3) + seen.reshape(-1, 3)).T @ of_turn
    first -= second @ ((both + both.T) / 4)
    # Both of one size, so that rounding in the small matrix of the update stays small.
    even = np.sqrt(np.linalg.norm(second) / max(np.linalg.norm(first), np.finfo(float).tiny))
    return first * even, second / even
