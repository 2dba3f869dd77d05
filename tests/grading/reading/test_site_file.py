import os
import tomllib
from pathlib import Path

import numpy as np
import pytest
import shapely
from make.sites.on_a_plane import planar_spots, written
from make.sites.site_folder import AREA, FULL, HEAD, SPOTS, write_site

from grading.errors import SiteError
from grading.reading import written as written_module
from grading.reading.site_file import read_site
from grading.site.model import Arc, Area, Ceiling
from grading.units import FOOT, INCH


def sentences(folder):
    """Return what reading a folder says is wrong, a sentence each."""
    with pytest.raises(SiteError) as refused:
        read_site(folder)
    assert str(refused.value) == "\n".join(map(str, refused.value.problems))
    return [str(problem) for problem in refused.value.problems]


def test_a_full_site_is_read_into_si(tmp_path):
    site = read_site(write_site(tmp_path, FULL))
    assert (site.folder, site.name, site.unit) == (tmp_path, "Alder Row", "ft")
    np.testing.assert_allclose(site.spots.xyz[2], np.array([30, 20, 99.4]) * FOOT, rtol=1e-15)
    assert tuple(site.spots.ids) == ("1", "2", "3", "4", "5")
    assert site.spots.codes == ("GND",) * 5
    assert site.spots.notes[2] == "by the fence, low"
    assert list(site.spots.lines) == [2, 3, 4, 5, 6]
    assert site.spots.file == "spots.csv"

    assert (site.ground.soil, site.ground.surface) == ("clay", "smooth")
    assert site.ground.organics == pytest.approx(4 * INCH)
    assert site.ground.probes is None
    (crease,) = site.ground.breaklines
    np.testing.assert_allclose(
        crease, np.array([[0, 0, np.nan], [15, 10, np.nan], [28, 18, 99.5]]) * FOOT
    )

    assert site.house.walls.shape == (2, 2)
    first, kitchen = site.doors
    assert (first.name, first.step) == ("door", None)
    assert first.sill == pytest.approx(100 * FOOT + 7.8125 * INCH)
    assert kitchen.step == pytest.approx((INCH, 7 * INCH))
    siding, well = site.ceilings
    assert (siding.name, siding.kind, siding.area) == ("siding", "siding", None)
    assert siding.z == pytest.approx((100.9 * FOOT, 100.9 * FOOT))
    assert well.at == ((25 * FOOT, 0),)
    assert (well.name, well.area) == ("well", "patio")
    assert well.clearance == pytest.approx(3 * INCH)
    (lawn,) = site.floors
    assert (lawn.kind, lawn.z) == ("lawn", None)
    assert lawn.above == pytest.approx(INCH / 2)
    (walk,) = site.meets
    assert walk.z == pytest.approx((100.2 * FOOT, 100.1 * FOOT))

    patio, way = site.areas
    segment = (5**2 + 9**2) / (2 * 5)
    turn = 2 * np.arcsin(9 / segment)
    expected = 26 * 18 + segment**2 / 2 * (turn - np.sin(turn)) - 4
    assert patio.polygon.area == pytest.approx(expected * FOOT**2, rel=1e-12)
    assert isinstance(patio.outline[2], Arc)
    assert patio.plane.fall == pytest.approx(1 / 48)
    assert (way.use, way.accessible, way.toward) == ("front walkway", True, 270)
    (base,) = site.systems
    assert [layer.thickness for layer in base.layers] == pytest.approx([0.06, 0.5 * FOOT])
    assert base.layers[1].material == "dense-graded"
    assert site.limits == {
        "least-fall": pytest.approx(0.015),
        "door-step": pytest.approx((INCH, 0.5 * FOOT)),
    }
    assert site.warnings == ()


def test_the_least_site_has_the_defaults(tmp_path):
    site = read_site(write_site(tmp_path))
    assert (site.ground.soil, site.ground.organics, site.ground.surface) == ("loam", 0.0, "tin")
    assert site.house is None
    (area,) = site.areas
    assert (area.use, area.base, area.plane, area.accessible) == ("patio", None, None, False)
    assert site.warnings == ()


def test_a_column_that_is_not_read_is_a_warning_with_what_may_be_meant(tmp_path):
    site = read_site(write_site(tmp_path, spots=_headed(SPOTS, "sd z", "0.01")))
    told = 'the column "sd z" of spots.csv is not read; call "sd z" sd_z if it is that.'
    assert told in site.warnings


def _headed(text, head, cell):
    first, *rows = text.strip().splitlines()
    return "\n".join([f"{first},{head}", *(f"{row},{cell}" for row in rows)])


def test_a_site_is_given_by_its_folder_or_its_file(tmp_path):
    write_site(tmp_path)
    for path in (tmp_path, str(tmp_path), tmp_path / "site.toml"):
        assert read_site(path).name == "Alder Row"


def test_feet_and_metres_give_the_same_site(tmp_path):
    feet = read_site(write_site(tmp_path / "feet"))
    metres = {
        'unit = "ft"': 'unit = "m"',
        "[[2, 0], [28, 0], [28, 18], [2, 18]]": str(
            [[x * FOOT, y * FOOT] for x, y in ((2, 0), (28, 0), (28, 18), (2, 18))]
        ),
    }
    text = HEAD + AREA
    for old, new in metres.items():
        text = text.replace(old, new)
    rows = "".join(f"{x!r},{y!r},{z!r}\n" for x, y, z in feet.spots.xyz.tolist())
    other = read_site(write_site(tmp_path / "metres", text, spots="x,y,z\n" + rows))
    np.testing.assert_array_equal(feet.spots.xyz, other.spots.xyz)
    assert feet.areas[0].polygon.equals(other.areas[0].polygon)


def test_a_byte_order_mark_before_the_toml_is_passed_over(tmp_path):
    write_site(tmp_path, "\ufeff" + HEAD + AREA)
    assert read_site(tmp_path).unit == "ft"


def test_probes_are_read_from_their_file(tmp_path):
    text = HEAD + '[ground]\norganics = "probes.csv"\n' + AREA
    folder = write_site(tmp_path, text, probes="depth,x,y\n4 in,1,2\n0.5,3,4\n")
    ground = read_site(folder).ground
    np.testing.assert_allclose(
        ground.probes, [[FOOT, 2 * FOOT, 4 * INCH], [3 * FOOT, 4 * FOOT, 0.5 * FOOT]]
    )
    assert ground.organics == 0.0


def test_files_may_lie_in_a_folder_inside_the_site(tmp_path):
    folder = write_site(tmp_path, HEAD.replace("spots.csv", "survey/spots.csv") + AREA)
    write_site(folder / "survey")
    assert read_site(folder).spots.file == "survey/spots.csv"


WRONG = tomllib.loads((Path(__file__).parent / "wrong_sites.toml").read_text(encoding="utf-8"))


def wrong(kind):
    return pytest.mark.parametrize("case", WRONG[kind], ids=lambda case: case["says"][0])


@wrong("table")
def test_a_wrong_table_gives_its_sentence_and_no_other(tmp_path, case):
    written = case["written"]
    below = written.startswith("[")
    text = HEAD + AREA + written if below else HEAD + written + AREA
    (only,) = sentences(write_site(tmp_path, text))
    assert only.startswith("site.toml, key ")
    for part in case["says"]:
        assert part in only


@wrong("area")
def test_a_wrong_area_gives_its_sentence(tmp_path, case):
    written = case["written"]
    said = sentences(write_site(tmp_path, f'{HEAD}{AREA}[[area]]\nname = "walk"\n{written}\n'))
    first = next(one for one in said if case["says"][0] in one)
    assert first.startswith("site.toml, key area[2]")
    for part in case["says"]:
        assert part in first
    # A misspelt key is also a missing one; nothing else may be said twice.
    assert len(said) == (2 if "outlin =" in written or "ark =" in written else 1)


@wrong("head")
def test_a_wrong_head_gives_its_sentence(tmp_path, case):
    text = HEAD.replace(case["line"], case["written"]) + AREA
    folder = write_site(tmp_path / "site", text)
    (tmp_path / "outside.csv").write_text(SPOTS)
    (folder / "link.csv").symlink_to(tmp_path / "outside.csv")
    said = sentences(folder)
    assert all(one.startswith("site.toml, key ") for one in said)
    assert any(case["says"][0] in one for one in said)


def test_a_link_to_a_file_inside_the_folder_is_followed(tmp_path):
    folder = write_site(tmp_path, HEAD.replace("spots.csv", "link.csv") + AREA)
    (folder / "link.csv").symlink_to(folder / "spots.csv")
    assert len(read_site(folder).spots.xyz) == 5


def test_what_is_no_site_folder_is_refused(tmp_path):
    (said,) = sentences(tmp_path / "nowhere")
    assert said == (
        f"{tmp_path / 'nowhere'}: found nothing there, expected a folder with site.toml."
        " Give the folder of a site, or its site.toml."
    )
    (said,) = sentences(tmp_path)
    assert said.startswith(f"{tmp_path}: found a folder without site.toml,")
    write_site(tmp_path)
    (said,) = sentences(tmp_path / "spots.csv")
    assert "found a file, expected a folder that holds site.toml." in said


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (b'name = "a"\nunit = \n', "site.toml, line 2, column 8: found `unit =`, expected toml"),
        (b'name = "a"\nname = "b"\n', 'site.toml, line 2, column 11: found `name = "b"`'),
        (b'name = "a', "site.toml, line 1, column 10: found"),
        (
            b'name = "a"\nx = "caf\xe9"\n',
            "site.toml, line 2: found the byte 0xe9, which is not UTF-8",
        ),
        (b"x = " + b"[" * 5000, "site.toml: found brackets nested too deep"),
        (b"", "key name: found nothing"),
    ],
)
def test_what_is_no_toml_is_refused_with_its_line(tmp_path, text, sentence):
    (tmp_path / "site.toml").write_bytes(text)
    assert sentences(tmp_path)[0].startswith(sentence) or sentence in sentences(tmp_path)[0]


def test_everything_wrong_is_said_at_once(tmp_path):
    text = """
name = ""
unit = "feet"
spots = "spots.csv"
[ground]
soil = "mud"
organics = "probes.csv"
[[door]]
at = [1, 0]
[[ceiling]]
kind = "vent"
at = [1, 0]
z = 3
area = "terrace"
[[area]]
name = "patio"
outline = [[0, 0], [9, 9], [9, 0], [0, 9]]
base = "opn"
[[area]]
name = "patio"
outline = [[2, 0], [30, 0], [30, 18], [2, 18]]
[[area]]
name = "walk"
outline = [[29, 0], [40, 0], [40, 18], [29, 18]]
[limits]
fall = 2
"""
    folder = write_site(tmp_path, text, spots="x,y,z\n1,2,high\n3,nan,4\n", probes="x,y,deep\n")
    with pytest.raises(SiteError) as refused:
        read_site(folder)
    assert [problem.where for problem in refused.value.problems] == [
        "site.toml, key name",
        "site.toml, key unit",
        "site.toml, key ground.soil",
        "site.toml, key door[1].sill",
        "site.toml, key area[1].outline",
        "site.toml, key limits.fall",
        "site.toml, key area[2].name",
        "site.toml, key area[1].base",
        "site.toml, key ceiling[1].area",
        "site.toml, key area[3].outline",
        "spots.csv, line 3, column y",
        "spots.csv, line 2, column z",
        "probes.csv, line 1",
    ]


def test_two_bases_of_one_name_are_refused(tmp_path):
    base = "[[base]]\nname = 'b'\nlayers = [{name = 'p', thickness = '1 in'}]\n"
    (said,) = sentences(write_site(tmp_path, HEAD + AREA + base + base))
    assert 'key base[2].name: found "b", which is base[1].name too' in said


def test_probes_below_zero_are_refused(tmp_path):
    text = HEAD + '[ground]\norganics = "probes.csv"\n' + AREA
    folder = write_site(tmp_path, text, probes="x,y,depth\n1,2,0.3\n1,3,-0.3\n")
    (said,) = sentences(folder)
    assert said == (
        "probes.csv, line 3, column depth: found -0.3, expected a depth of zero or more. "
        "Write 0 where the hole found no topsoil."
    )


def test_areas_that_share_an_edge_do_not_overlap(tmp_path):
    shared = "{arc = [[33, 9], [28, 18]]}"
    text = f"""{HEAD}[[area]]
name = "patio"
outline = [[2, 0], [28, 0], {shared}, [2, 18]]
[[area]]
name = "walk"
outline = [[28, 0], [60, 0], [60, 18], [28, 18], {{arc = [[33, 9], [28, 0]]}}]
"""
    patio, walk = read_site(write_site(tmp_path, text)).areas
    assert patio.polygon.area + walk.polygon.area == pytest.approx(58 * 18 * FOOT**2, rel=1e-12)


def test_tables_are_built_from_metres_without_a_file():
    ceiling = Ceiling(kind="vent", at=(1, 2), z=3)
    assert (ceiling.at, ceiling.z) == (((1, 2),), (3,))
    area = Area(name="patio", outline=[[0, 0], [4, 0], {"arc": [[5, 2], [4, 4]]}, [0, 4]])
    again = Area(**{key: getattr(area, key) for key in Area.model_fields})
    assert again.polygon.equals(area.polygon)
    assert again.outline == area.outline


def test_a_copy_with_another_outline_has_another_polygon():
    area = Area(name="patio", outline=[[0, 0], [4, 0], [4, 4]])
    assert area.polygon.area == 8
    assert area.model_copy(update={"base": "open"}).polygon.area == 8
    wider = area.model_copy(update={"outline": ((0.0, 0.0), (8.0, 0.0), (4.0, 4.0))})
    assert wider.polygon.area == 16


def test_what_was_read_cannot_be_written_to(tmp_path):
    site = read_site(write_site(tmp_path, FULL))
    for array in (site.spots.xyz, site.house.walls, site.doors[0].at, *site.ground.breaklines):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0
    with pytest.raises(ValueError, match="frozen"):
        site.areas[0].name = "other"
    assert isinstance(site.areas[0].polygon, shapely.Polygon)


def test_a_file_that_holds_the_same_is_parsed_once_and_a_changed_one_again(tmp_path, monkeypatch):
    read, parsed = written_module.read_points, []
    monkeypatch.setattr(
        written_module, "read_points", lambda *told: parsed.append(told[0]) or read(*told)
    )
    text = planar_spots((20.0, 10.0), (100.03, -0.02, 0.01))
    toml = (
        'name = "Medlar"\nunit = "ft"\nspots = "spots.csv"\n[[area]]\nname = "patio"\n'
        "outline = [[0, 0], [10, 0], [10, 8], [0, 8]]\n"
    )
    first = written(tmp_path, toml, text)
    again = written(tmp_path, toml.replace("[10, 8]", "[10, 9]"), text)
    assert len(parsed) == 1
    assert (again.spots.xyz == first.spots.xyz).all()
    # As long, and by the clock of the file as old: it is told by what it holds.
    file = tmp_path / "spots.csv"
    clock = file.stat().st_mtime_ns
    line = text.splitlines()[1]
    other = line[:-1] + ("1" if line[-1] != "1" else "2")
    file.write_text(text.replace(line, other, 1), encoding="utf-8")
    os.utime(file, ns=(clock, clock))
    changed = read_site(tmp_path)
    assert len(parsed) == 2
    assert changed.spots.xyz[0, 2] != first.spots.xyz[0, 2]
    # Another unit is another way to read the same.
    metres = written(tmp_path, toml.replace('"ft"', '"m"'), text)
    assert len(parsed) == 3
    assert metres.spots.xyz[0, 2] == pytest.approx(first.spots.xyz[0, 2] / FOOT)


def test_an_outlet_that_names_a_place_with_a_fault_of_its_own_is_not_told_as_one(tmp_path):
    drains = """
[[outfall]]
kind = "drain"
name = "channel"
at = [[4, 18], [18, 18]]
outlet = "{outlet}"
[[outfall]]
kind = "dry well"
name = "well"
at = [31, 20]
depth = "{depth}"
"""
    for number, (outlet, depth, told) in enumerate(
        (("well", "4 ft", []), ("well", "deep", ["depth"]), ("wall", "deep", ["outlet", "depth"]))
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        site = write_site(folder, HEAD + AREA + drains.format(outlet=outlet, depth=depth))
        if not told:
            assert len(read_site(site).outfalls) == 2
            continue
        said = sentences(site)
        assert len(said) == len(told)
        assert all(any(key in each for each in said) for key in told)
