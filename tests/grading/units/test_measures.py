import pytest

from grading.units import FOOT, UnitError
from grading.units.measures import read_measure


def test_a_measure_is_read_with_the_unit_beside_it():
    assert read_measure("4 ft3")[0] == pytest.approx(4 * FOOT**3)
    assert read_measure("5 %")[0] == pytest.approx(0.05)
    with pytest.raises(UnitError):
        read_measure("4 furlongs")
