from itertools import combinations

import pytest

from grading.units import FOOT, INCH, POUND, UnitError
from grading.units.measures import read_measure


def test_a_measure_is_read_with_the_unit_beside_it():
    assert read_measure("4 ft3")[0] == pytest.approx(4 * FOOT**3)
    assert read_measure("5 %")[0] == pytest.approx(0.05)
    with pytest.raises(UnitError):
        read_measure("4 furlongs")


@pytest.mark.parametrize(
    ("written", "value", "dimension"),
    [
        ("2 m3", 2.0, "m3"),
        ("5 cm", 0.05, "m"),
        ("20 mm", 0.02, "m"),
        ("110 lb/ft3", 110 * POUND / FOOT**3, "kg/m3"),
        ("0.06 lb/in2", 0.06 * POUND / INCH**2, "kg/m2"),
        ("4.50 /ft2", 4.50 / FOOT**2, "money/m2"),
        ("$38 /yd", 38 / (3 * FOOT), "money/m"),
        ("100 ft2/h", 3600 / (100 * FOOT**2), "s/m2"),
    ],
)
def test_a_measure_is_told_by_its_dimension(written, value, dimension):
    found, told = read_measure(written)
    assert (found, told) == (pytest.approx(value, rel=1e-12), dimension)


def test_one_length_is_the_same_in_every_unit():
    """Of the units' own definitions: yards and feet by 0.3048 m, the rest by the metre."""
    same = ["1 yd", "3 ft", "36 in", "0.9144 m", "91.44 cm", "914.4 mm"]
    for one, other in combinations(same, 2):
        assert read_measure(one)[0] == pytest.approx(read_measure(other)[0], rel=1e-12)
