"""Wheels of any number of spokes, and states of them with numbers chosen by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from wheelsim.files import sample_job
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import State


@pytest.fixture
def make_wheel():
    def make(n=32, missing=(), **limits):
        wheel = sample_job().wheel
        side = replace(wheel.spokes.left, cross=n // 12)
        return replace(
            wheel, rim=replace(wheel.rim, hole_angles=tuple(2 * math.pi * (i + 0.5) / n for i in range(n))),
            spokes=replace(wheel.spokes, sides="RL" * (n // 2), left=side, right=side,
                           missing=frozenset(missing)),
            limits=replace(wheel.limits, **limits),
        )
    return make


@pytest.fixture
def make_view():
    """A view of a state whose every number is told apart from the others, or given."""
    def make(wheel, *, dish=0.0, slack=(), scale=1.0):
        n = wheel.n
        k = np.arange(n)
        tension = np.where(k % 2, 600.0, 1000.0) + scale * k
        for spoke in [*wheel.spokes.missing, *slack]:
            tension[spoke - 1] = 0.0
        is_slack = np.isin(k + 1, list(slack))
        return view(State(
            wheel=wheel, turns=np.zeros(n), own_shape=np.zeros((2, n)),
            lateral=dish + scale * 1e-4 * np.cos(2 * math.pi * k / n), radial=scale * 1e-4 * np.sin(0.5 * k),
            twist=np.zeros(n), tension=tension, slack=is_slack, compression=0.0, pose=None,
        ))
    return make
