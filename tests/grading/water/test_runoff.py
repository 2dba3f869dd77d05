import tomllib
from importlib.resources import files

import numpy as np
import pytest
import shapely

from grading.geometry.plane import Plane
from grading.units import FOOT, GALLON, HOUR, INCH, UnitError
from grading.units.rates import flow, read_area, read_rate, water_volume
from grading.water.hydraulics.channel import (
    Section,
    channel_flow,
)
from grading.water.runoff import (
    coefficients,
    drain_time,
    hours_to_drain,
    roughnesses,
    stored,
    void_ratio,
)

BOX = shapely.box(0, 0, 10, 5)


def test_every_number_says_where_it_comes_from():
    table = tomllib.loads(
        files("grading.water").joinpath("runoff.toml").read_text(encoding="utf-8")
    )
    data = [*coefficients().values(), *roughnesses().values(), void_ratio(), drain_time()]
    assert len(data) == len(table["coefficient"]) + len(table["roughness"]) + 2
    for datum in data:
        assert datum.kind in ("published", "from memory", "common practice")
        assert datum.source
        assert (datum.kind == "common practice") == datum.source.startswith("common practice")
    assert all(0 < datum.value < 1 for datum in coefficients().values())
    kinds = {"paving", "closed", "roof", "gravel", "sand", "loam", "clay"}
    assert kinds == set(coefficients())


@pytest.mark.parametrize(
    ("text", "size"),
    [("4 in/h", 4 * INCH / HOUR), ("100 mm/h", 0.1 / HOUR), ("0.5 in per hour", INCH / 2 / HOUR),
     ("1 ft/day", FOOT / 24 / HOUR), ("2in/hr", 2 * INCH / HOUR), ("1e3", None), ("4 in", None),
     ("four in/h", None), ("4 gal/h", None), (4, None), (True, None), (None, None)],
)  # fmt: skip
def test_a_rate_is_read_with_its_unit_and_never_without(text, size):
    if size is not None:
        assert read_rate(text) == pytest.approx(size, rel=1e-12)
        return
    with pytest.raises(UnitError) as refused:
        read_rate(text)
    assert 'expected a rate such as "4 in/h"' in str(refused.value)


@pytest.mark.parametrize(
    ("value", "unit", "size"),
    [(450, "ft", 450 * FOOT**2), ("450", "ft", 450 * FOOT**2), ("450 ft2", "m", 450 * FOOT**2),
     ("450 ft²", "m", 450 * FOOT**2), ("40 m2", "ft", 40.0), (40, "m", 40.0),
     ("450 sq ft", "m", 450 * FOOT**2)],
)  # fmt: skip
def test_an_area_is_read_in_the_square_of_the_unit_or_its_own(value, unit, size):
    assert read_area(value, unit) == pytest.approx(size, rel=1e-12)


@pytest.mark.parametrize("value", [0, "0 m2", -3, "40 m", "big", True, None, float("nan")])
def test_what_is_no_area_is_refused(value):
    with pytest.raises(UnitError, match="expected an area such as"):
        read_area(value, "ft")


def test_flows_and_volumes_are_written_in_the_unit_of_the_site():
    assert (flow(0.001, "ft"), flow(0.001, "m")) == ("15.9 gpm", "1.00 L/s")
    assert (water_volume(450 * GALLON, "ft"), water_volume(1.7, "m")) == ("450 gal", "1700 L")


def test_a_gutter_is_half_a_flat_triangle():
    """Against FHWA HEC-22, equation 4-2, from memory: Q = 0.376 / n Sx^(5/3) S^(1/2) T^(8/3), in
    metres. It and a wide triangular channel by Manning part by what the integral over the width
    gives more than the mean depth does, (3/8) 2^(5/3) = 1.191."""
    spread, cross, slope, n = 2.0, 0.02, 0.01, 0.016
    whole = channel_flow(Section(0.0, 1 / cross), spread * cross, slope, n)
    gutter = 0.376 / n * cross ** (5 / 3) * slope**0.5 * spread ** (8 / 3)
    assert 2 * gutter / whole == pytest.approx(1.191, rel=0.005)


def test_a_level_base_holds_its_voids():
    held = stored([(BOX, Plane(3.0, 0, 0))], 0.15, 0.4)
    assert held.volume == pytest.approx(0.4 * 0.15 * 50)
    assert held.volume == pytest.approx(held.capacity)
    assert (held.level, held.depth) == (pytest.approx(3.15), pytest.approx(0.15))


@pytest.mark.parametrize(("fall", "thickness"), [(0.05, 0.15), (0.02, 0.15), (0.1, 0.3)])
def test_a_sloping_base_holds_a_wedge(fall, thickness):
    held = stored([(BOX, Plane(3.0, 0, -fall))], thickness, 0.4)
    run = min(thickness / fall, 5.0)
    wedge = run * thickness - fall * run**2 / 2
    assert held.volume == pytest.approx(0.4 * 10 * wedge)
    assert held.low[1] == 5.0
    assert held.bottom == pytest.approx(3.0 - 5 * fall)


def test_an_outlet_at_the_subgrade_empties_the_base_and_one_above_it_does_not():
    slope = Plane(3.0, 0, -0.05)
    assert stored([(BOX, slope)], 0.15, 0.4, outlet=2.0).volume == 0.0
    half = stored([(BOX, slope)], 0.15, 0.4, outlet=2.75 + 0.05)
    assert half.volume == pytest.approx(0.4 * 10 * 0.05**2 / 0.05 / 2)
    above = stored([(BOX, slope)], 0.15, 0.4, outlet=99.0)
    assert above.volume == stored([(BOX, slope)], 0.15, 0.4).volume


def test_a_valley_of_two_planes_holds_one_level_of_water():
    left, right = shapely.box(0, 0, 4, 5), shapely.box(4, 0, 8, 5)
    held = stored([(left, Plane(1.0, -0.05, 0)), (right, Plane(0.6, 0.05, 0))], 0.1, 0.4)
    assert held.bottom == pytest.approx(0.8)
    assert held.volume == pytest.approx(2 * 0.4 * 5 * 0.1**2 / 0.05 / 2)


def test_the_wedge_drains_as_its_depth_over_the_rate():
    """Checked by letting it soak away step by step."""
    depth, voids, infiltration, fall = 0.12, 0.4, 0.5 * INCH / HOUR, 0.03
    level, seconds, step = depth, 0.0, 20.0
    while level > 1e-4:
        wet = level / fall
        volume = voids * level * wet / 2 - infiltration * wet * step
        level = np.sqrt(max(volume, 0) * 2 * fall / voids)
        seconds += step
    assert hours_to_drain(depth, voids, infiltration) == pytest.approx(seconds / HOUR, rel=0.01)
    assert hours_to_drain(depth, voids, 0.0) == np.inf
