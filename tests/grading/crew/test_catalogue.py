"""A crew's catalogue of base systems: in one file for all its sites, each with who vouches for it.

What is told of a base system acts: its rating on where it may be laid, the size of its panels on
their count, their mass on trips, their fixing on the order and the hours, their price on the cost.
"""

from __future__ import annotations

import math

import pytest
from make.plans.jobs import crew, level_yard, line, patio, supply
from make.sites.on_a_plane import planar_spots, written

from grading.catalogue.bases import base_systems
from grading.crew.model import default_crew
from grading.crew.reading import crew_of
from grading.errors import SiteError
from grading.order.model import order_of
from grading.pipeline import plan
from grading.units import FOOT, HOUR, INCH, POUND

LAYERS = [
    {"name": "paver", "thickness": "2 3/8 in"},
    {"name": "panel", "thickness": "1 1/4 in"},
    {"name": "bedding", "thickness": "1 in"},
]
PINS = {"name": "locking pins", "each": 4}


def board(**more):
    return {"name": "board", "layers": LAYERS, **more}


def taken(own=None, **told):
    """Return the job of a patio of 20 x 14 ft on a base system that this is told of."""
    made = level_yard(bases=[board(**told)], base="board")
    return patio(order_of(made, own or default_crew()), "board")


def task(job, title):
    return next((one for one in job.tasks if one.title == title), None)


def test_a_larger_panel_is_fewer_of_them():
    """20 x 14 ft and 6 in of over-dig but at the house: 21 x 14.5 ft, in whole panels at least."""
    small, large = (taken(size=[f"{a} ft", f"{b} ft"]) for a, b in ((3, 2), (7, 4)))
    hole = 21 * 14.5
    for job, face in ((small, 6), (large, 28)):
        found = line(job, "panels, board")
        assert found.net == pytest.approx(hole / face)
        assert job.jobs[0].panels.units >= math.ceil(hole / face)
        assert job.jobs[0].panels.face == pytest.approx(face * FOOT**2)
    assert large.jobs[0].panels.units < small.jobs[0].panels.units / 3


def test_without_a_word_they_are_the_crews_panels():
    plain = taken()
    assert supply(plain, "panels").title == "panels"
    assert plain.jobs[0].panels.units == taken(size=["36 in", "24 in"]).jobs[0].panels.units


def test_heavy_panels_take_more_trips():
    """By their number 20 at once; by their weight what a barrow may."""
    light, heavy = taken(mass="2 lb"), taken(mass="40 lb")
    amount = line(light, "panels, board").amount
    assert light.haul.panels.count == math.ceil(amount / 20)
    limit = default_crew()["barrow-mass"]
    assert heavy.haul.panels.count == math.ceil(amount * 40 * POUND / limit)
    more = heavy.haul.panels.count - light.haul.panels.count
    assert heavy.haul.trips - light.haul.trips == more > 0
    assert heavy.time.mean > light.time.mean


def test_panels_on_stone_or_none_are_carried_too():
    made = level_yard()
    order = order_of(made, default_crew())
    assert patio(order, "dense").haul.panels.count == 0
    assert patio(order, "panel").haul.panels.count > 0


def test_a_fixing_is_ordered_and_takes_its_time():
    loose, fixed = taken(mass="2 lb"), taken(mass="2 lb", fixing=PINS)
    pieces = 4 * fixed.jobs[0].panels.units
    found = line(fixed, "locking pins")
    assert found.net == pieces
    assert found.amount == pytest.approx(4 * line(fixed, "panels, board").amount)
    ordered = supply(fixed, "fixings of board")
    assert ordered.title == "locking pins"
    assert ordered.count == math.ceil(found.amount - 1e-9)
    assert ordered.cost == pytest.approx(ordered.count * 0.35)
    # One to two in a minute, most likely two: 60, 120 and 240 an hour.
    work = task(fixed, "fix panels")
    assert work.time == pytest.approx(tuple(pieces * HOUR / each for each in (240, 120, 60)))
    assert task(loose, "fix panels") is None


def test_each_base_system_has_a_price_of_its_own():
    made = level_yard(bases=[board(price=31, fixing=PINS | {"price": 0.5})], base="board")
    order = order_of(made, crew(prices={"panels": 20}))
    mine, panel = patio(order, "board"), patio(order, "panel")
    assert supply(mine, "panels of board").price == 31
    assert supply(mine, "fixings of board").price == 0.5
    assert supply(panel, "panels").price == 20
    # What is not written is the crew's.
    unpriced = order_of(level_yard(bases=[board(mass="3 lb")], base="board"),
                        crew(prices={"panels": 20}))  # fmt: skip
    assert supply(patio(unpriced, "board"), "panels of board").price == 20
    assert made.order.crew.price("panels of board") == 31


def test_two_kinds_of_panels_are_two_lines_of_an_order():
    thick = board(name="thick", mass="9 lb", price=40)
    made = level_yard(bases=[board(mass="2 lb", price=10), thick], base="board")
    order = order_of(made, default_crew())
    jobs = [order.areas[0].takeoffs[name] for name in ("board", "thick")]
    from grading.order.model import job_of

    both = job_of(jobs, order.way, order.crew, "ft", True)
    assert {s.item: s.price for s in both.supplies if s.item.startswith("panels")} == {
        "panels of board": 10, "panels of thick": 40,
    }  # fmt: skip


CATALOGUE = """
unit = "ft"

[[base]]
name   = "board"
wheels = true
source = "sheet 12 of its maker"
layers = [{name = "paver", thickness = "2 3/8 in"}, {name = "panel", thickness = "1 1/4 in"},
          {name = "bedding", thickness = "1 in"}]
"""
SITE = """
name = "yard"
unit = "m"
spots = "spots.csv"
[house]
walls = [[-1, 0], [7, 0]]
inside = [3, -2]
[[area]]
name = "drive"
use = "driveway"
outline = [[0, 0], [6, 0], [6, 5], [0, 5]]
base = "board"
plane = {at = [0, 0], z = 10.0, fall = "2 %", bearing = 0}
"""
SPOTS = planar_spots((6, 5), (10.0, 0.0, -0.02))


def yard(folder, site=SITE, catalogue=CATALOGUE):
    """Return a site in a folder whose catalogue lies in the folder above."""
    (folder / "crew.toml").write_text(catalogue, encoding="utf-8")
    (folder / "one").mkdir()
    return written(folder / "one", site, SPOTS)


def test_one_catalogue_for_all_the_sites_of_a_folder(tmp_path):
    site = yard(tmp_path)
    (tmp_path / "two").mkdir()
    other = written(tmp_path / "two", SITE, SPOTS)
    for each in (site, other):
        (system,) = each.systems
        assert (system.name, system.wheels) == ("board", True)
        # Bare lengths are in the unit of the catalogue, not of the site.
        assert system.layers[1].thickness == pytest.approx(1.25 * INCH)


def test_a_site_has_the_last_word_on_a_base_of_the_catalogue(tmp_path):
    own = SITE + '[[base]]\nname = "board"\nlayers = [{name = "paver", thickness = "80 mm"}]\n'
    (system,) = yard(tmp_path, own).systems
    assert len(system.layers) == 1


def test_a_base_rated_for_wheels_is_not_ruled_out_on_a_drive(tmp_path):
    made = plan(yard(tmp_path))
    advice = made.advice.area("drive").base
    assert "panel-wheels" in {reason.rule for reason in advice.of("panel").reasons}
    mine = advice.of("board")
    assert mine.level != "rules out"
    assert {"rated-for-wheels"} <= {reason.rule for reason in mine.reasons}
    assert any("sheet 12 of its maker" in reason.text for reason in mine.reasons)
    checks = {check.rule: check for check in made.checks if check.area == "drive"}
    assert checks["panel-use"].status == "pass"
    assert "sheet 12 of its maker" in checks["panel-use"].text
    assert all(not one.refused for one in made.advice.loads if one.base == "board")


def test_one_that_is_not_rated_still_is(tmp_path):
    made = plan(yard(tmp_path, catalogue=CATALOGUE.replace("wheels = true\n", "")))
    assert made.advice.area("drive").base.of("board").level == "rules out"
    checks = {check.rule: check for check in made.checks if check.area == "drive"}
    assert checks["panel-use"].status == "fail"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('source = "sheet 12 of its maker"\n', "", "base[1].source: found `wheels = true` without"),
        ('wheels = true\nsource = "sheet 12 of its maker"\n', "",
         "base[1].source: found a base of a catalogue without one"),
        ("wheels = true", "wheels = 1", "base[1].wheels: found 1, expected whether it is made"),
        ("wheels = true", "wheels = true\nmass = 14", "base[1].mass: found 14, expected a measure"),
        ("wheels = true", 'wheels = true\nmass = "0 lb"', "expected more than zero"),
        ("wheels = true", 'wheels = true\nprice = "3 /ft"', "a measure of the same kind"),
        ("wheels = true", "wheels = true\nsize = [48, 24]", 'Inches are written as "6 in"'),
        ("wheels = true", 'wheels = true\nfixing = {name = "pins", each = 0}', "1 to 100"),
        ('name = "panel", thickness', 'name = "panel", modulus = 5, thickness', '"5 MPa"'),
        ('"2 3/8 in"}', '"2 3/8 in", modulus = "5 MPa"}', "a modulus of a panel"),
        ('name = "panel"', 'name = "slag"', None),
        ("[[base]]", "[base]", "expected a list of tables [[base]]"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_catalogue_is_told(tmp_path, old, new, said):
    assert old in CATALOGUE
    text = CATALOGUE.replace(old, new, 1)
    if said is None:
        text = text.replace("wheels = true", 'size = ["4 ft", "2 ft"]')
        said = "found `size` of a base system that has none"
    with pytest.raises(SiteError) as error:
        yard(tmp_path, catalogue=text)
    told = str(error.value)
    assert said in told
    assert str(tmp_path / "crew.toml") in told
    # That the site calls a base of it by its name is no second fault.
    assert "key area[1].base" not in told


def test_a_name_twice_in_a_catalogue_is_told():
    table = {"name": "board", "source": "sheet 1", "layers": LAYERS}
    with pytest.raises(SiteError, match=r'base\[2\]\.name: found "board", which base\[1\] is too'):
        crew_of({"base": [table, dict(table)]}, "ft")


def test_a_base_of_the_site_that_claims_nothing_needs_no_source(tmp_path):
    plain = SITE.replace('base = "board"', 'base = "mine"') + (
        '[[base]]\nname = "mine"\nlayers = [{name = "paver", thickness = "80 mm"}, '
        '{name = "panel", thickness = "20 mm"}]\n'
    )
    assert yard(tmp_path, plain).systems[1].source is None
    rated = plain.replace('name = "mine"\nl', 'name = "mine"\nwheels = true\nl')
    with pytest.raises(SiteError, match=r"site\.toml, key base\[1\]\.source"):
        written(tmp_path / "one", rated, SPOTS)


def test_the_systems_know_what_was_told_of_them():
    system = base_systems(level_yard(bases=[board(mass="3 lb", fixing=PINS)]).site.systems)["board"]
    assert system.panel.mass == pytest.approx(3 * POUND)
    assert system.panel.fixing.each == 4
    assert system.panel.size is None
