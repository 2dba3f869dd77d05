from math import pi

import pytest
import shapely
from make.sites.site_folder import AREA, HEAD, write_site

from grading.errors import SiteError
from grading.reading.site_file import read_site
from grading.site.model import Feature
from grading.units import DAY, FAHRENHEIT, FOOT, INCH

FULL = """
[house]
walls = [[0, 0], [32, 0]]
inside = [16, -8]
age = 3

[[feature]]
kind = "gas fire feature"
at = [15, 9]
size = ["4 ft"]
height = "18 in"

[[feature]]
name = "bench"
kind = "seat wall"
at = [10, 9]
size = ["12 ft", "18 in"]
bearing = 90
area = "patio"
stands = "own base"
base = "8 in"

[[feature]]
kind = "kitchen"
outline = [[3, 3], [9, 3], [9, 6], [3, 6]]

[access]
gate = "36 in"

[backfill]
width = "5 ft"
treatment = "stone"

[frost]
index = 1500
mean = "45 °F"
season = "120 days"
surface = 0.9
code = "42 in"
"""


def read(tmp_path, written, area=AREA):
    return read_site(write_site(tmp_path, HEAD + area + written))


def refused(tmp_path, written, area=AREA):
    with pytest.raises(SiteError) as error:
        read(tmp_path, written, area)
    return [str(problem) for problem in error.value.problems]


def test_one_length_is_a_diameter_with_or_without_brackets(tmp_path):
    one = read(tmp_path / "one", THING + 'at = [9, 9]\nsize = "3 ft"\n').features[0]
    other = read(tmp_path / "other", THING + 'at = [9, 9]\nsize = ["3 ft"]\n').features[0]
    assert one.size == other.size == (pytest.approx(3 * FOOT),)
    assert one.polygon.equals(other.polygon)


def test_the_tables_are_read_into_si(tmp_path):
    site = read(tmp_path, FULL)
    fire, bench, kitchen = site.features
    assert (fire.name, bench.name, kitchen.name) == ("gas fire feature", "bench", "kitchen")
    assert fire.polygon.area == pytest.approx(pi * (2 * FOOT) ** 2, rel=1e-9)
    assert fire.height == pytest.approx(18 * INCH)
    assert bench.polygon.bounds == pytest.approx((4 * FOOT, 8.25 * FOOT, 16 * FOOT, 9.75 * FOOT))
    assert (bench.stands, bench.area) == ("own base", "patio")
    assert bench.base == pytest.approx(8 * INCH)
    assert kitchen.polygon.area == pytest.approx(18 * FOOT**2)
    assert site.house.age == 3
    assert site.access.gate == pytest.approx(36 * INCH)
    assert site.backfill.width == pytest.approx(5 * FOOT)
    assert (site.backfill.treatment, site.backfill.depth) == ("stone", None)
    assert site.frost.index == pytest.approx(1500 * FAHRENHEIT * DAY)
    assert site.frost.mean == pytest.approx(13 * FAHRENHEIT)
    assert site.frost.season == pytest.approx(120 * DAY)
    assert (site.frost.surface, site.frost.code) == (0.9, pytest.approx(42 * INCH))


def test_left_out_they_are_empty(tmp_path):
    site = read(tmp_path, "")
    assert site.features == ()
    assert (site.access.gate, site.backfill.width, site.frost) == (None, None, None)
    assert site.backfill.treatment == "none"


def test_a_bearing_turns_the_length(tmp_path):
    north = Feature(kind="seat wall", at=(0, 0), size=(4, 1))
    assert north.polygon.bounds == pytest.approx((-0.5, -2, 0.5, 2))
    east = Feature(kind="seat wall", at=(0, 0), size=(4, 1), bearing=90)
    assert east.polygon.bounds == pytest.approx((-2, -0.5, 2, 0.5))
    slanted = Feature(kind="seat wall", at=(0, 0), size=(4, 1), bearing=45)
    assert slanted.polygon.contains(shapely.Point(1.3, 1.3))
    assert not slanted.polygon.contains(shapely.Point(1.3, -1.3))


THING = '[[feature]]\nkind = "other"\n'
PLACED = THING + "at = [9, 9]\nsize = [2]\n"


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("[feature]\nkind = 'other'\n", ["key feature: found one table [feature]", "[[feature]]"]),
        ('[[feature]]\nkind = "wall"\nat = [1, 1]\nsize = [1]\n',
         ['key feature[1].kind: found "wall"', '"seat wall"', "Did you mean `seat wall`?"]),
        (THING, ["key feature[1]: found", "either an `outline`, or `at` with `size`"]),
        (THING + "at = [9, 9]\n", ["key feature[1].size: found nothing", "a length and a width"]),
        (THING + "at = [9, 9]\nsize = [1, 2, 3]\n", ["found 3 lengths", "or a diameter"]),
        (THING + "at = [9, 9]\nsize = [0]\n", ["key feature[1].size[1]", "greater than zero"]),
            (THING + "outline = [[0, 0], [1, 1]]\n", ["key feature[1].outline: found"]),
        (THING + "outline = [[0, 0], [9, 9], [9, 0], [0, 9]]\n",
         ["key feature[1].outline", "crosses or touches itself"]),
        (THING + "outline = [[0, 0], [1, 0], [1, 1]]\nat = [1, 1]\nsize = [1]\n",
         ["either an `outline`, or `at` with `size`"]),
        (THING + "outline = [[0, 0], [1, 0], [1, 1]]\nsize = [1]\n",
         ["key feature[1].size", "an `outline` without a `size`"]),
        (PLACED + 'area = "pato"\n', ['key feature[1].area: found "pato"', "`patio`"]),
        (PLACED + "heigth = 2\n", ["the key `heigth`", "Did you mean `height`?"]),
        (PLACED + "height = -2\n", ["key feature[1].height: found -2", "zero or more"]),
        (PLACED + 'stands = "sand"\n', ['key feature[1].stands: found "sand"', '"own base"']),
        (PLACED + "bearing = 'north'\n", ["key feature[1].bearing", "degrees clockwise"]),
        ("[access]\ngate = 0\n", ["key access.gate: found 0", "more than zero"]),
        ("[access]\ngate = 'wide'\n", ['key access.gate: found "wide"', "a length such as"]),
        ("[access]\ngates = 3\n", ["the key `gates`", "Did you mean `gate`?"]),
        ("[backfill]\ntreatment = 'gravel'\n", ["key backfill.treatment", '"stone"']),
        ("[backfill]\nwidth = 0\n", ["key backfill.width: found 0", "more than zero"]),
        ("[frost]\n", ["key frost.index: found nothing", "1500 °F·days", "Add `index`."]),
        ("[frost]\nindex = 'cold'\n", ['key frost.index: found "cold"', "a freezing index such"]),
        ("[frost]\nindex = 0\n", ["key frost.index: found 0", "more than zero"]),
        ("[frost]\nindex = 900\nmean = '7 in'\n", ["key frost.mean", "a temperature such as"]),
        ("[frost]\nindex = 900\nseason = 'long'\n", ["key frost.season", "a number of days"]),
        ("[frost]\nindex = 900\nsurface = 75\n", ["key frost.surface: found 75", "0.75"]),
        ("[house]\nwalls = [[0, 0], [9, 0]]\ninside = [4, -4]\nage = -1\n",
         ["key house.age: found -1", "a number of years, zero or more"]),
        ("[house]\nwalls = [[0, 0], [9, 0]]\ninside = [4, -4]\nage = '3'\n",
         ['key house.age: found "3"', "a number of years"]),
        ("[[base]]\nname = 'b'\nover = 'gravel'\nlayers = [{name = 'p', thickness = 1}]\n",
         ['key base[1].over: found "gravel"', '"sound concrete"']),
    ],
)  # fmt: skip
def test_a_wrong_table_gives_its_sentence(tmp_path, written, says):
    (only,) = refused(tmp_path, written)
    assert only.startswith("site.toml, key ")
    for part in says:
        assert part in only


def test_a_reason_without_a_base_is_refused(tmp_path):
    (only,) = refused(tmp_path, "", AREA + 'reason = "stock"\n')
    assert "key area[1].reason" in only
    assert "Add `base`." in only
    site = read(tmp_path, "", AREA + 'base = "open"\nreason = "stock"\n')
    assert site.areas[0].reason == "stock"
