"""Where steps go down to the lawn."""

import numpy as np
import pytest
import shapely

from grading.finish.lawn_steps import toward

SQUARE = shapely.box(0, 0, 2, 2)


@pytest.mark.parametrize(
    ("head", "inward"),
    [
        ([[0.5, 0], [1.5, 0]], (0, 1)), ([[1.5, 2], [0.5, 2]], (0, -1)),
        ([[0, 0.5], [0, 1.5]], (1, 0)), ([[2, 1.5], [2, 0.5]], (-1, 0)),
    ],
)  # fmt: skip
def test_the_way_off_an_edge_is_told_whichever_way_the_edge_was_drawn(head, inward):
    for line in (head, head[::-1]):
        assert toward(np.array(line, float), SQUARE) == pytest.approx(inward)
