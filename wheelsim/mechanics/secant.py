"""The quasi-Newton step toward equilibrium."""

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import Factored


def secant_step(factor: Factored, memory: list[tuple[Floats, Floats, float]], residual: Floats) -> Floats:
    """A step (n, 6): the tangent solution, corrected by the limited-memory BFGS update.

    The tangent neglects how the correction for the moving frame in ``residual_of`` changes with the displacement. That
    matters far from equilibrium; the residuals of the last steps (s, y and s'y in ``memory``) make up for it.

    References
    ----------
    J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., 2006, algorithm 7.4 (two-loop recursion).
    """
    kept = [one for one in memory if one[2] > 0]
    shares = []
    for s, y, along in reversed(kept):
        share = float((s * residual).sum()) / along
        residual = residual - share * y
        shares.append(share)
    change = factor.solve(residual)
    for (s, y, along), share in zip(kept, reversed(shares), strict=True):
        change = change + (share - float((y * change).sum()) / along) * s
    return change
