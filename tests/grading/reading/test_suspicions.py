import pytest
from make.sites.site_folder import AREA, HEAD, SPOTS, write_site

from grading.errors import SiteError
from grading.reading.site_file import read_site

HOUSE = "[house]\nwalls = [[0, 0], [32, 0]]\ninside = [16, -8]\n"


def warnings(folder, tables="", spots=SPOTS, area=AREA, unit="ft", head=""):
    head += HEAD.replace('"ft"', f'"{unit}"')
    return read_site(write_site(folder, head + tables + area, spots=spots)).warnings


def test_a_plain_yard_raises_no_suspicion(tmp_path):
    door = "[[door]]\nat = [12, 0]\nsill = 100.65\n"
    assert warnings(tmp_path, HOUSE + door) == ()


@pytest.mark.parametrize(
    ("tables", "sentence"),
    [
        ('[access]\ngate = "14 in"', "No barrow goes through a gate of 14 in: check its width."),
        ('[access]\nslope = "60 %"', "The way in slopes 60 %, more than a barrow is pushed up"),
        ('[storm]\nintensity = "40 in/h"', "Rain of 40.00 in/h is more than was ever measured"),
        (
            '[[feature]]\nname = "fire"\nkind = "gas fire feature"\n'
            'at = [18, 5]\nsize = ["3 ft", "3 ft"]\n'
            '[[feature]]\nname = "tub"\nkind = "hot tub"\nat = [18, 5]\nsize = ["6 ft", "6 ft"]\n',
            "fire and tub stand in one place, 9.0 ft² of it in common: check where they stand.",
        ),
        ('[[ceiling]]\nkind = "vent"\nat = [1, 0]\nz = 130', "The level of vent, 130, is"),
        ('[[floor]]\nkind = "outlet"\nat = [1, 0]\nz = 60', "The level of outlet, 60, is"),
        ("[[meet]]\nat = [1, 0]\nz = 60", "The level of existing paving, 60, is"),
        (
            HOUSE + "[[door]]\nat = [12, 9]\nsill = 100\n",
            "door is 9' 0\" away from the foundation line.",
        ),
        (
            "[house]\nwalls = [[0, 0], [384, 0]]\ninside = [192, -96]\n",
            "The foundation line reaches 354' 0\" past the survey: are its corners in the same",
        ),
        (
            "[house]\nwalls = [[0, -1], [9, -1], [9, -9], [0, -1]]\ninside = [0, -9]\n",
            "`inside` lies outside the closed foundation line: it is taken as a courtyard.",
        ),
    ],
)
def test_a_suspicious_table_is_told(tmp_path, tables, sentence):
    (told,) = warnings(tmp_path, tables + "\n")
    assert told == sentence if sentence[-1] in ".?" else told.startswith(sentence)


@pytest.mark.parametrize("tables", ["", "area = []\n"])
def test_a_site_without_areas_is_refused(tables, tmp_path):
    with pytest.raises(SiteError, match=r"key area: found no \[\[area\]\], expected one or more"):
        warnings(tmp_path, area="", head=tables)


def test_a_wall_that_no_house_has_is_refused(tmp_path):
    house = HOUSE.replace("[32, 0]", "[32, -1e6]").replace("[16, -8]", "[-9, -8]")
    with pytest.raises(SiteError, match=r"key house.walls: found a wall of 1000000' 0\" .number 1"):
        warnings(tmp_path, house)


def test_an_outline_of_hundreds_of_metres_is_told(tmp_path):
    area = AREA.replace("28", "428")
    (told,) = warnings(tmp_path, area=area)
    assert told == ('The area "patio" is 426\' 0" long, large for paving: is unit = "ft" meant?')


def test_an_outline_away_from_the_survey_is_told(tmp_path):
    (told,) = warnings(tmp_path, area=AREA.replace("[2, ", "[92, ").replace("[28, ", "[98, "))
    assert told.startswith('The area "patio" lies 62\' 0" away from the survey: are outline and')


def test_spots_too_far_apart_or_too_close_are_told(tmp_path):
    far = "x,y,z\n0,0,100\n120,0,101\n120,80,102\n0,80,99\n"
    (told,) = warnings(tmp_path, spots=far, area=AREA, unit="m")
    assert told.startswith("The spots are about 48.99 m apart, wide for a yard. Check unit")
    close = "x,y,z\n0,0,1\n0.9,0,1.1\n0.9,0.6,1.1\n0,0.6,1\n"
    area = AREA.replace("28", "0.9").replace("18", "0.5").replace("[2,", "[0,")
    (told,) = warnings(tmp_path, spots=close, area=area)
    assert told.startswith("The spots are about 0' 4 7/16\" apart, close for a yard.")


def test_elevations_of_another_unit_than_the_plan_are_told(tmp_path):
    spots = "x,y,z\n0,0,100\n9,0,103\n9,6,107\n0,6,108\n"
    area = AREA.replace("28", "9").replace("18", "6")
    (told,) = warnings(tmp_path, spots=spots, area=area)
    assert "(74 %): is z in the unit of x and y?" in told


def site_of(folder, unit, walk="", house="", spots=SPOTS):
    return warnings(folder, house, spots, AREA + walk, unit)


def test_feet_read_as_metres_are_asked_about(tmp_path):
    """28 by 18 of anything is a patio in feet and a square in metres."""
    (told,) = site_of(tmp_path, "m")
    assert told == (
        'The area "patio" of 468.00 m² and spots about 10.954 m apart: are these feet? '
        'unit = "m" reads every bare number as metres.'
    )
    assert site_of(tmp_path, "ft") == ()


def test_a_house_larger_than_houses_is_asked_about(tmp_path):
    (told,) = site_of(tmp_path, "m", house=HOUSE)
    assert told.startswith('The area "patio" of 468.00 m², a wall of 32.000 m and spots about ')
    assert "are these feet?" in told


def test_a_walkway_as_wide_as_a_road_is_asked_about(tmp_path):
    walk = AREA.replace("[28, 18], [2, 18]", "[28, 4], [2, 4]") + 'use = "walkway"\n'
    (told,) = warnings(tmp_path, area=walk, unit="m")
    assert told.startswith('The area "patio", a walkway 4.000 m wide and spots about')
    assert "are these feet?" in told


def test_metres_read_as_feet_are_asked_about(tmp_path):
    spots = "x,y,z\n" + "".join(f"{x},{y},{10 - y / 50}\n" for x in range(9) for y in range(7))
    area = AREA.replace("[2, 0], [28, 0], [28, 18], [2, 18]", "[1, 0], [8, 0], [8, 5], [1, 5]")
    assert warnings(tmp_path, spots=spots, area=area, unit="m") == ()
    wide = spots.replace("x,y,z\n", "x,y,z\n-8,0,10\n")
    (told,) = warnings(tmp_path, spots=wide, area=area)
    assert told == (
        "35.0 ft² of paving in all and spots about 1' 2 11/16\" apart: are these metres? "
        'unit = "ft" reads every bare number as feet.'
    )


FIRE = '[[feature]]\nkind = "gas fire feature"\nat = {at}\nsize = ["3 ft"]\n'
SPOUT = "[[downspout]]\nat = {at}\nroof = 200\n"


@pytest.mark.parametrize(
    ("tables", "sentence"),
    [
        (HOUSE + SPOUT.format(at="[12, 15]"), "downspout is 15' 0\" away from the foundation "
         "line: check its place."),
        ("[[door]]\nat = [12, 0]\nsill = 98\n", "The sill of door, 98, is 1' 3 5/8\" below every "
         "spot (99.3 to 100.1)."),
    ],
)  # fmt: skip
def test_what_lies_astray_is_told(tmp_path, tables, sentence):
    assert warnings(tmp_path, tables) == (sentence,)


@pytest.mark.parametrize(
    "tables",
    [
        FIRE.format(at="[29, 9]"),
        FIRE.format(at="[12, 9]") + 'area = "patio"\n',
        HOUSE + SPOUT.format(at="[31, 0]") + "to = [12, 22]\n",
        "[[door]]\nat = [12, 0]\nsill = 98.4\n",
    ],
)
def test_what_lies_on_or_beside_the_paving_is_not(tmp_path, tables):
    assert warnings(tmp_path, tables) == ()


def test_bare_millimetres_of_topsoil_in_a_file_in_metres_are_offered_as_such(tmp_path):
    text = HEAD.replace('unit = "ft"', 'unit = "m"') + "[ground]\norganics = 200\n"
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    (tmp_path / "spots.csv").write_text(SPOTS, encoding="utf-8")
    with pytest.raises(SiteError, match='Write "200 mm", or "200 m" where it is so deep'):
        read_site(tmp_path)
