"""Faces of a cut that are none: what lies apart on one of its stops."""

import pytest
from shapely import box

from viz.scene.slicing import SUBGRADE, _under


def test_a_sheet_lies_where_something_laid_lies_on_the_soil_and_nowhere_else():
    """A stop may meet the soil under one area, and of another what is laid alone."""
    soil, base = box(0, 0, 3, 1), box(0, 1, 2, 1.2)
    (sheet,) = _under({SUBGRADE: [soil], "base": [base]})
    assert sheet.length == pytest.approx(2.0, abs=0.05)
    assert _under({SUBGRADE: [soil], "base": [box(8, 5, 9, 6)]}) == []
