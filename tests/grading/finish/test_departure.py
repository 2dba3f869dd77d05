"""What the height of a finish over the lawn costs, against the sum over many short pieces."""

from __future__ import annotations

import numpy as np
import pytest

from grading.finish.departure import Departure, Hinge

ROUNDED = 0.02  # m


def edge(lawn, hinge):
    """Return the cost of a level finish along 3 m of edge over a lawn with these two ends."""
    return Departure(
        ends=np.ones((1, 2, 1)), lawn=np.array([lawn]), lengths=np.array([3.0]),
        tilts=np.zeros((0, 1)), earned=np.zeros(0), paved=(), hinges=(hinge,), free=3.0,
    )  # fmt: skip


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    "lawn",
    [
        (0.0, 0.0), (-0.01, -0.01), (-0.1, -0.1), (0.1, 0.1),  # level, and by how much it lies off
        (-0.1, 0.1), (0.1, -0.1), (-0.005, -0.015), (-0.015, -0.1), (0.001, -0.021),
    ],
)  # fmt: skip
def test_a_height_costs_its_square_where_it_is_rounded_and_itself_beyond(sign, lawn):
    limit, weight = 0.03, 2.0
    # The finish stands at the limit over a lawn at nought: what the lawn lies off it is over it.
    found = edge([sign * each for each in lawn], Hinge(sign, limit, weight)).moments(
        np.array([limit]), ROUNDED
    )
    at = (np.arange(200_000) + 0.5) / 200_000
    over = np.maximum(-(lawn[0] + at * (lawn[1] - lawn[0])), 0.0)
    cost = np.where(over < ROUNDED, over**2 / (2 * ROUNDED), over - ROUNDED / 2)
    slope = np.minimum(over / ROUNDED, 1.0)
    assert found.moved == pytest.approx(weight * 3.0 * cost.mean(), rel=1e-6, abs=1e-12)
    assert found.gradient[0] == pytest.approx(sign * weight * 3.0 * slope.mean(), rel=1e-6)
