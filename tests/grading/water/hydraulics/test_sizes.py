"""What channels and pipes there are to choose from."""

import pytest

from grading.units import INCH
from grading.water.hydraulics.channel import DRAIN_WIDTHS
from grading.water.hydraulics.pipe import PIPE_SIZES


def test_drains_and_pipes_are_of_the_sizes_that_are_sold():
    """Nominal widths and diameters; common practice, no source."""
    assert [width / INCH for width in DRAIN_WIDTHS] == pytest.approx([4, 6, 8, 12])
    assert [size / INCH for size in PIPE_SIZES] == pytest.approx([4, 6, 8])
