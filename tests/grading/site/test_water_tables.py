import pytest
import shapely
from make.sites.site_folder import AREA, HEAD, write_site

from grading.reading.site_file import read_site
from grading.site.model import Downspout, Outfall, Storm
from grading.units import FOOT, HOUR, INCH

WATER = """
[[outfall]]
kind = "lawn"
name = "back lawn"
at = [[0, 18], [30, 18], [30, 20], [0, 20], [0, 18]]

[[outfall]]
kind = "drain"
at = [[4, 17], [20, 17]]
z = "99' 6\\""

[[outfall]]
kind = "street"
at = [0, 0]

[[downspout]]
at = [2, 0]
roof = "450 ft2"

[[downspout]]
name = "garage"
at = [28, 0]
roof = 200
to = [28, 6]

[storm]
intensity = "4 in/h"
infiltration = "0.5 in/h"
"""


def test_the_tables_of_water_are_read_into_si(tmp_path):
    site = read_site(write_site(tmp_path, HEAD + AREA + WATER))
    lawn, drain, street = site.outfalls
    assert (lawn.name, lawn.kind, lawn.z, lawn.closed) == ("back lawn", "lawn", None, True)
    assert lawn.geometry.area == pytest.approx(60 * FOOT**2)
    assert (drain.name, drain.closed) == ("drain", False)
    assert drain.z == pytest.approx(99.5 * FOOT)
    assert drain.geometry.length == pytest.approx(16 * FOOT)
    assert isinstance(street.geometry, shapely.Point)
    first, garage = site.downspouts
    assert (first.name, first.to) == ("downspout", None)
    assert first.roof == pytest.approx(450 * FOOT**2)
    assert garage.roof == pytest.approx(200 * FOOT**2)
    assert garage.to == pytest.approx([28 * FOOT, 6 * FOOT])
    assert site.storm.intensity == pytest.approx(4 * INCH / HOUR)
    assert site.storm.infiltration == pytest.approx(0.5 * INCH / HOUR)


def test_a_site_need_not_tell_of_water(tmp_path):
    site = read_site(write_site(tmp_path))
    assert (site.outfalls, site.downspouts, site.storm) == ((), (), None)


def test_a_closed_line_is_an_outline_only_where_that_makes_sense():
    ring = [[0, 0], [4, 0], [4, 4], [0, 0]]
    assert Outfall(kind="lawn", at=ring).closed
    assert not Outfall(kind="swale", at=ring).closed
    assert not Outfall(kind="lawn", at=ring[:3]).closed


def test_tables_are_made_from_si_in_code():
    assert Downspout(at=[1, 2], roof=40).roof == 40
    assert Storm(intensity="36 mm/h").infiltration is None
    assert Storm(intensity="36 mm/h").intensity == pytest.approx(1e-5)
