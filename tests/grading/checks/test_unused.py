"""Whatever a person wrote is used, refused, or fails a check that says it is not used."""

import copy
import datetime
import json
from itertools import zip_longest

import numpy as np
import pytest
from make.sites.on_a_plane import spots_csv, written
from msgspec.structs import replace
from properties.test_site import as_toml

from grading.catalogue.rules import RULES
from grading.errors import GradingError
from grading.files.fields import Table
from grading.kept import Kept
from grading.pipeline import first_wave, plan
from grading.reading.site_file import Head
from grading.records.plan import record
from grading.site.base_tables import BaseSystemSpec, FixingSpec, LayerSpec
from grading.site.done_tables import Bought, Done, Dug
from grading.site.feature_tables import Access, Backfill, Feature, Frost, Laying
from grading.site.ground_table import GroundTable
from grading.site.hold_table import Hold, WallUnits
from grading.site.house import House
from grading.site.paver_table import Pavers
from grading.site.step_tables import Door, Step
from grading.site.survey_tables import Benchmark, LevelsTable, Reference, TwoPeg
from grading.site.tables import Area, Ceiling, FinishTable, Floor, GivenPlane, LawnEdge, Meet
from grading.site.water_tables import Downspout, Outfall, SoakTest, Storm

PATIO = [[2, 0], [28, 0], [28, 18], [2, 18]]
YARD = {
    "name": "Quince Court",
    "unit": "ft",
    "spots": "spots.csv",
    "ground": {"soil": "clay", "organics": "4 in", "surface": "tin", "breaklines": []},
    "house": {"walls": [[0, 0], [32, 0]], "inside": [16, -8], "age": 3},
    "door": [{"name": "back door", "at": [12, 0], "sill": 100.65, "step": ["1 in", "9 in"],
              "steps": 0}],
    "ceiling": [
        {"name": "siding", "kind": "siding", "at": [[2, 0], [28, 0]], "z": 100.8,
         "clearance": "2 in", "area": "patio"}
    ],
    "floor": [
        {"name": "low lawn", "kind": "lawn", "at": [[13, 19], [27, 19]], "z": 99.0,
         "above": "1/2 in", "area": "patio"}
    ],
    "meet": [{"name": "drive", "at": [[2, 24], [2, 26]], "z": 99.2, "area": "terrace"}],
    "step": [{"down": ["patio", "terrace"], "risers": 1, "riser": ["4 in", "8 in"]}],
    "finish": {"objective": "least earth"},
    "area": [
        {"name": "patio", "use": "patio", "outline": PATIO, "holes": [], "base": "dense",
         "accessible": False, "shape": "plane", "reason": "the drive stands on stone",
         "lawn": {"edge": "flush", "lip": "1/2 in", "slope": "8 %"},
         "pavers": {"length": "8 in", "width": "4 in", "joint": "1/8 in", "pattern": "running",
                    "soldier": [2]}},
        {"name": "terrace", "grade": "free", "outline": [[2, 18], [12, 18], [12, 26], [2, 26]]},
    ],
    "base": [
        {"name": "mine", "layers": [
            {"name": "paver", "thickness": "60 mm"}, {"name": "bedding", "thickness": "1 in"},
            {"name": "base", "thickness": "8 in", "material": "dense-graded"}]}
    ],
    "limits": {"fall-away": "2 %"},
    "outfall": [{"name": "swale", "kind": "swale", "at": [[-2, 28], [34, 28]], "z": 98.4}],
    "downspout": [{"name": "spout", "at": [30, 0], "roof": "400 ft2", "to": [31, 12]}],
    "storm": {"intensity": "4 in/h", "infiltration": "0.1 in/h"},
    "feature": [
        {"name": "bench", "kind": "seat wall", "at": [20, 9], "size": ["8 ft", "18 in"],
         "bearing": 90, "height": "18 in", "area": "patio", "stands": "bedding",
         "bedding": "1/2 in"}
    ],
    "access": {"gate": "36 in", "path": "80 ft", "slope": "2 %", "machine": "none"},
    "backfill": {"width": "4 ft", "depth": "18 in", "treatment": "none"},
    "frost": {"index": 1500, "mean": "45 °F", "season": "120 days", "surface": 0.75,
              "code": "36 in"},
    "done": {"dug": [{"area": "patio", "share": "50 %", "depth": "4 in"}],
             "bought": [{"item": "pavers", "count": 3}], "bins": 1},
    "laying": {"date": datetime.date(2027, 5, 20)},
}  # fmt: skip

GIVEN = {"at": [2, 0], "z": 100.3, "fall": "2.5 %", "bearing": 0}

# Each key with a value other than that of the yard; the same yard may first be changed in other
# ways, so that the key is about something.
TURNED = [[2, 18], [2, 0], [28, 0], [28, 17.5]]
CHANGES = {
    Head: {"name": "Medlar Court", "unit": "m", "spots": "other.csv"},
    GroundTable: {"soil": "sand", "organics": "6 in", "surface": "smooth",
                  "breaklines": [[[5, 5, 101], [20, 10, 101]]]},
    House: {"walls": [[0, -0.5], [32, -0.5]], "inside": [16, 8], "age": 20},
    Door: {"name": "side door", "at": [20, 0], "sill": 100.7, "step": ["1 in", "7 in"],
           "steps": 2},
    Ceiling: {"name": "boards", "kind": "vent", "at": [[20, 0], [28, 0]], "z": 100.7,
              "clearance": "3 in", "area": "terrace"},
    Floor: {"name": "grass", "kind": "swale", "at": [[13, 19], [20, 19]], "z": 99.1,
            "above": "1 in", "area": "terrace"},
    Meet: {"name": "slab", "at": [[2, 23], [2, 26]], "z": 99.25, "area": "patio",
           "kind": "driveway", "base": "open"},
    Step: {"down": ["terrace", "patio"], "risers": 2, "riser": ["4 in", "5 in"],
           "area": "terrace", "to": "lawn", "at": [24, 18], "width": "5 ft", "tread": "14 in",
           "sides": "cheek walls"},
    FinishTable: {"objective": "gentlest fall", "elevation": 100.0},
    Area: {"name": "court", "use": "driveway", "outline": TURNED, "base": "open", "plane": GIVEN,
           "grade": "as it lies",
           "holes": [[[10, 8], [12, 8], [12, 10], [10, 10]]], "accessible": True, "toward": 10,
           "shape": "ridge", "fold": [[4, 9], [20, 9]], "corner": [0, 0], "planes": 3,
           "between": [[[2, 0], [2, 18]], [[28, 0], [28, 18]]], "lawn": None, "pavers": None,
           "reason": "the crew has it in stock", "edge": "concrete edge", "joint": "jointing sand"},
    LawnEdge: {"edge": "bevelled", "lip": "1 in", "slope": "6 %"},
    Pavers: {"length": "9 in", "width": "5 in", "joint": "1/4 in", "pattern": "stack",
             "soldier": "all"},
    BaseSystemSpec: {"name": "ours", "layers": [{"name": "paver", "thickness": "80 mm"}],
                     "over": "sound concrete", "wheels": True, "source": "sheet 9",
                     "size": ["4 ft", "2 ft"], "mass": "9 lb", "price": 31,
                     "fixing": {"name": "pins", "each": 4}},
    LayerSpec: {"name": "slab", "thickness": "80 mm", "material": "concrete",
                "modulus": "9 MPa"},
    FixingSpec: {"name": "clips", "each": 3, "price": 0.5},
    Outfall: {"name": "ditch", "kind": "street", "at": [[-2, 3], [34, 3]], "z": 98.5,
              "outlet": "gully", "fall": "1 %", "width": "8 in", "pipe": "6 in",
              "via": [[30, 24]], "depth": "5 ft", "existing": True,
              "soak_test": {"pit": ["3 ft", "2 ft", "3 ft"], "minutes": 90}},
    SoakTest: {"pit": ["3 ft", "3 ft", "3 ft"], "minutes": 50},
    Downspout: {"name": "leader", "at": [30, 15], "roof": "600 ft2", "to": [31, 20],
                "pipe": "6 in", "via": [[32, 6]], "existing": True},
    Storm: {"intensity": "6 in/h", "infiltration": "1 in/h"},
    Feature: {"name": "wall", "kind": "kitchen", "at": [18, 9], "size": ["9 ft", "18 in"],
              "outline": [[18, 8], [22, 8], [22, 10], [18, 10]], "bearing": 45, "height": "2 ft",
              "area": "terrace", "stands": "own base", "bedding": "1 in", "base": "9 in",
              "course": "8 in"},
    Access: {"gate": "48 in", "path": "120 ft", "slope": "20 %", "machine": "mini loader",
             "over": "hard", "repair": "sod"},
    Backfill: {"width": "6 ft", "depth": "24 in", "treatment": "stone"},
    Frost: {"index": 2500, "mean": "40 °F", "season": "150 days", "surface": 0.9, "code": "48 in"},
    Done: {"dug": [{"area": "patio", "share": "50 %", "depth": "5 in"}], "bought": [], "bins": 0},
    Dug: {"area": "terrace", "share": "30 %", "volume": "1 yd3", "depth": "3 in"},
    Bought: {"item": "spikes", "count": 2},
    Laying: {"date": datetime.date(2027, 1, 10), "season": "winter"},
    LevelsTable: {"file": "other-levels.csv", "rod": "m", "placed": "by eye", "two_peg": None},
    TwoPeg: {"readings": [["5", "4.5"], ["4", "3.52"]], "distances": [[50, 50], [12, 88]]},
    Benchmark: {"name": "step", "z": 100.7},
    Reference: {"name": "B", "at": [31, 20]},
    Hold: {"area": "terrace", "kind": "grass slope", "at": [[28, 0], [28, 18]], "height": "8 in",
           "unit": {"height": "8 in"}, "product": "Rough face 6", "friction": 31,
           "pad_friction": 0.5, "grass": "seed",
           "behind": "clean stone"},
    WallUnits: {"height": "8 in", "depth": "10 in", "length": "18 in", "setback": "1 in",
                "cap": "3 in"},
    GivenPlane: {"at": [3, 1], "z": 100.35, "fall": "3 %", "bearing": 5},
}  # fmt: skip

PLACES = {
    Head: (), GroundTable: ("ground",), House: ("house",), Door: ("door", 0),
    Ceiling: ("ceiling", 0), Floor: ("floor", 0), Meet: ("meet", 0), Step: ("step", 0),
    FinishTable: ("finish",), Area: ("area", 0), LawnEdge: ("area", 0, "lawn"),
    Pavers: ("area", 0, "pavers"), BaseSystemSpec: ("base", 0),
    LayerSpec: ("base", 0, "layers", 2), FixingSpec: ("base", 0, "fixing"),
    Outfall: ("outfall", 0), SoakTest: ("outfall", 0, "soak_test"), Downspout: ("downspout", 0),
    Storm: ("storm",), Feature: ("feature", 0), Access: ("access",), Backfill: ("backfill",),
    Frost: ("frost",), Laying: ("laying",), Done: ("done",), Dug: ("done", "dug", 0),
    Bought: ("done", "bought", 0), GivenPlane: ("area", 0, "plane"),
    LevelsTable: ("levels", 0), TwoPeg: ("levels", 0, "two_peg"), Benchmark: ("benchmark", 0),
    Reference: ("reference", 0), Hold: ("hold", 0), WallUnits: ("hold", 0, "unit"),
}  # fmt: skip


def spots(shift=0.0):
    x, y = np.meshgrid(np.linspace(-4, 36, 6), np.linspace(-4, 32, 6))
    rough = 0.04 * np.sin(3.1 * x + 1.7 * y)
    z = 100.1 - 0.03 * np.maximum(y, 0) + rough + shift
    return spots_csv(np.column_stack([x.ravel(), y.ravel(), z.ravel()]))


def read(folder, yard):
    """Return a yard written and read."""
    folder.mkdir(exist_ok=True)
    (folder / "other.csv").write_text(spots(0.02), encoding="utf-8")
    (folder / "levels.csv").write_text(BOOK, encoding="utf-8")
    (folder / "other-levels.csv").write_text(BOOK.replace("5.83", "5.86"), encoding="utf-8")
    text = "\n".join(f"{key} = {as_toml(value)}" for key, value in yard.items())
    return written(folder, text, spots())


def told(folder, yard):
    """Yield what is told of a yard, what takes longest last; or the sentence that refuses it."""
    try:
        made = plan(read(folder, yard))
    except GradingError as error:
        yield str(error)
        return
    yield repr([made.warnings, made.area_checks, [area.unknowns.tolist() for area in made.areas]])
    checks = made.checks
    assert all(check.status == "fail" for check in checks if check.rule == "not-used")
    yield repr(checks)
    yield json.dumps(record(made))


def within(yard, place):
    for step in place:
        yard = yard[step]
    return yard


# What must be there for a key to be about something.
BARE = {"step": [], "meet": [], "area": [YARD["area"][0] | {"plane": GIVEN}]}
FRONT = {"area": [YARD["area"][0], YARD["area"][1] | {"use": "front walkway"}]}
BOOK = """point,distance,bs,is,fs,x,y,to A,to H1,side
sill,20,5.25,,,,,,,
a,25,,5.83,,8,20,,,
b,35,,5.95,,,,9,30,left
sill,20,,,5.25,,,,,
"""
BOOKED = {
    "levels": [
        {
            "file": "levels.csv",
            "rod": "ft",
            "placed": "by tape",
            "two_peg": {
                "readings": [["5", "4.5"], ["4", "3.51"]],
                "distances": [[50, 50], [10, 90]],
            },
        }
    ],
    "benchmark": [{"name": "sill", "z": 100.65}],
    "reference": [{"name": "A", "at": [31, 21]}],
}
HELD = BARE | {
    "area": [BARE["area"][0] | {"plane": GIVEN | {"z": 101.0}}],
    "hold": [
        {"area": "patio", "kind": "block wall", "at": [[2, 18], [28, 18]], "height": "20 in",
         "product": "Split face 6", "friction": 28, "pad_friction": 0.6, "behind": "natural ground",
         "unit": {"height": "6 in", "depth": "12 in", "length": "16 in", "setback": "3/4 in",
                  "cap": "2 1/4 in"}},
    ],
}  # fmt: skip
BOARDS = YARD["base"][0] | {
    "source": "sheet 8", "size": ["3 ft", "2 ft"], "mass": "5 lb", "price": 20,
    "fixing": {"name": "pins", "each": 2},
    "layers": [{"name": "paver", "thickness": "60 mm"}, {"name": "bedding", "thickness": "1 in"},
               {"name": "panel", "thickness": "1 in"}]}  # fmt: skip
DOWN = {"area": "patio", "to": "lawn", "at": [20, 18], "width": "4 ft", "tread": "12 in",
        "risers": 2}  # fmt: skip
ON_BOARDS = {"base": [BOARDS]}
SWALE = YARD["outfall"][0]
CHANNEL = {"outfall": [
    {"name": "channel", "kind": "drain", "at": [[13, 18], [27, 18]], "outlet": "swale"},
    SWALE, SWALE | {"name": "gully", "z": 98.2}]}  # fmt: skip
WELL = {"outfall": [
    {"name": "well", "kind": "dry well", "at": [[22, 26]], "depth": "4 ft",
     "soak_test": {"pit": ["3 ft", "2 ft", "3 ft"], "minutes": 40}}, SWALE],
    "downspout": [YARD["downspout"][0] | {"to": [22, 26]}]}  # fmt: skip
BUILT = {"outfall": [{"kind": "drain", "at": [[13, 18], [27, 18]]}, SWALE]}
ABOUT = {
    **dict.fromkeys(
        ((Outfall, key) for key in ("outlet", "fall", "width", "pipe", "via")), CHANNEL
    ),
    **{(Outfall, key): WELL for key in ("depth", "soak_test")},
    SoakTest: WELL,
    (Outfall, "existing"): BUILT,
    **{(BaseSystemSpec, key): ON_BOARDS for key in ("size", "mass", "price", "fixing", "wheels")},
    (LayerSpec, "modulus"): ON_BOARDS,
    FixingSpec: ON_BOARDS,
    GivenPlane: BARE,
    **dict.fromkeys((Hold, WallUnits), HELD),
    (Meet, "kind"): FRONT,
    (Meet, "base"): FRONT | {"meet": [YARD["meet"][0] | {"kind": "driveway", "base": "dense"}]},
    (Laying, "season"): {"laying": {}},
    **dict.fromkeys((LevelsTable, TwoPeg, Benchmark, Reference), BOOKED),
    **{(Step, key): {"step": [DOWN]} for key in ("area", "at", "width", "tread", "sides")},
    (Hold, "grass"): HELD
    | {"hold": [{"area": "patio", "kind": "grass slope", "at": [[2, 18], [28, 18]]}]},
    (Storm, "infiltration"): {"area": [YARD["area"][0] | {"base": "open"}, YARD["area"][1]]},
}


@pytest.fixture(scope="module")
def first_told(tmp_path_factory):
    """Return what is told of the yard before a key is changed, each made once."""
    made = {}

    def of(key):
        if key not in made:
            yard = YARD | ABOUT.get(key, {})
            if key in (GivenPlane, Hold, WallUnits):
                yard.pop("finish")
            made[key] = list(told(tmp_path_factory.mktemp("yard"), yard))
        return made[key]

    return of


def test_every_key_of_every_table_is_looked_at():
    for table, changes in CHANGES.items():
        assert set(changes) == set(table.model_fields), table


def test_the_yard_itself_is_used_up(first_told):
    _, checks, words = first_told(None)
    assert "not-used" not in checks
    assert words.startswith('{"schema"')


KEYS = [(table, key) for table, keys in CHANGES.items() for key in keys]
EACH = 45
"""Of so many keys one is looked at in the short run: a whole plan for each takes minutes."""


def changed(table, key):
    """Return what a key is about, the yard before it is changed, and after."""
    about = next((one for one in ((table, key), table) if one in ABOUT), None)
    before = YARD | ABOUT.get(about, {})
    if table in (GivenPlane, Hold, WallUnits):
        del before["finish"]
    yard = copy.deepcopy(before)
    place, value = within(yard, PLACES[table]), CHANGES[table][key]
    assert place.get(key) != value
    if value is None:
        del place[key]
    else:
        place[key] = value
    return about, before, yard


@pytest.mark.parametrize(
    ("table", "key"),
    [
        pytest.param(table, key, marks=[pytest.mark.long] if number % EACH else [],
                     id=f"{table.__name__}-{key}")
        for number, (table, key) in enumerate(KEYS)
    ],
)  # fmt: skip
def test_a_key_changed_changes_the_plan_or_is_refused_or_fails_a_check(
    tmp_path, first_told, table, key
):
    about, _, yard = changed(table, key)
    pairs = zip_longest(told(tmp_path / "yard", yard), first_told(about))
    assert any(one != other for one, other in pairs)
    assert issubclass(table, Table)


def numbers(site, kept):
    """Return what the first wave tells of a site, every dig and wish of it; or what refuses it."""
    try:
        made = first_wave(site, kept).plan
    except GradingError as error:
        return str(error)
    return repr([
        made.warnings, made.area_checks,
        [(area.unknowns.tolist(), area.wishes, area.finish.work, area.walls,
          [(dig.system, dig.polygon.wkt, dig.cut, dig.fill, dig.max_dig, dig.spoil_loose)
           for dig in area.digs.values()]) for area in made.areas],
    ])  # fmt: skip


def some(names, each):
    """Return one of so many for the short run, and the others marked as long."""
    return [
        pytest.param(*name, marks=[pytest.mark.long] if number % each else [], id=str(name[-1]))
        for number, name in enumerate(names)
    ]


@pytest.mark.parametrize(("table", "key"), some(KEYS, 7))
def test_a_key_changed_is_planned_with_what_was_kept_as_without(tmp_path, table, key):
    _, before, after = changed(table, key)
    kept = Kept()
    numbers(read(tmp_path / "before", before), kept)
    try:
        site = read(tmp_path / "after", after)
    except GradingError:
        return  # nothing to plan
    assert numbers(site, kept) == numbers(site, Kept())


NUMBERS = [name for name, rule in RULES.items() if isinstance(rule.limit, float) and rule.limit]


@pytest.mark.parametrize("name", some([(name,) for name in NUMBERS], 9))
def test_a_limit_changed_is_planned_with_what_was_kept_as_without(quince, name):
    site, kept = quince
    limit = RULES[name].limit * 1.1
    other = replace(site, limits={**site.limits, name: limit})
    assert numbers(other, kept) == numbers(other, Kept())


@pytest.fixture(scope="module")
def quince(tmp_path_factory):
    """Return the yard, with no measure that would stand in for a limit, and what is kept of it."""
    own = {"clearance", "above", "step", "riser"}
    limited = {
        table: [
            {key: value for key, value in each.items() if key not in own} for each in YARD[table]
        ]
        for table in ("ceiling", "floor", "door", "step")
    }
    site, kept = read(tmp_path_factory.mktemp("quince"), YARD | limited), Kept()
    numbers(site, kept)
    return site, kept
