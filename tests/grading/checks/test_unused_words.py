"""What the plan makes no use of is told in one sentence, and fails; what is used is not told."""

import copy

import numpy as np
import pytest
from make.sites.on_a_plane import spots_csv, written
from properties.test_site import as_toml

from grading.checks.guards import highest_drop
from grading.checks.unused import unused_checks
from grading.pipeline import plan
from grading.units import FOOT, INCH

YARD = {
    "name": "Rowan Close",
    "unit": "ft",
    "spots": "spots.csv",
    "house": {"walls": [[0, 0], [32, 0]], "inside": [16, -8]},
    "door": [{"at": [12, 0], "sill": 100.65}],
    "area": [
        {"name": "patio", "outline": [[2, 0], [28, 0], [28, 18], [2, 18]], "base": "dense"}
    ],
}  # fmt: skip


def planned(folder, more=None, height=lambda x, y: 100.1 - 0.03 * y):
    folder.mkdir(exist_ok=True)
    x, y = np.meshgrid(np.linspace(-4, 40, 12), np.linspace(-4, 32, 12))
    spots = spots_csv(np.column_stack([x.ravel(), y.ravel(), height(x, y).ravel()]))
    yard = copy.deepcopy(YARD) | (more or {})
    text = "\n".join(f"{key} = {as_toml(value)}" for key, value in yard.items())
    return plan(written(folder, text, spots))


def failed(made):
    """Return the sentences of what is not used, each of which fails the plan."""
    checks = unused_checks(made, made.advice)
    assert all((check.rule, check.status) == ("not-used", "fail") for check in checks)
    assert [each for each in made.checks if each.rule == "not-used"] == list(checks)
    assert made.failed or not checks
    return [check.text for check in checks]


FAR = {"at": [[12, 25], [20, 25]], "name": "far"}
ROUND = {"kind": "hot tub", "size": "6 ft", "name": "tub"}


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"door": [*YARD["door"], {"name": "side door", "at": [35, 5], "sill": 101}]},
         "side door is not used: it is 7' 0\" from any paving, so no step down from its sill is "
         "held: bring it and the paving within 3' 0\" of each other, or leave out a door that does "
         "not open onto it"),
        ({"ceiling": [FAR | {"kind": "siding", "z": 101}]},
         "far is not used: it is 7' 0\" from any paving, so nothing is kept below it: bring the "
         "two within 3' 0\" of each other, or leave it out"),
        ({"ceiling": [FAR | {"kind": "vent", "z": 101, "area": "patio"}]},
         "far is not used: it is 7' 0\" from the paving of patio, so nothing is kept below it: "),
        ({"floor": [FAR | {"kind": "lawn"}]}, "so nothing is kept above it: bring the two"),
        ({"floor": [FAR | {"kind": "outlet", "z": 101.2}]},
         "above the highest paving, so no water runs to it: correct its z, or leave it out"),
        ({"meet": [FAR | {"z": 99}]}, "so nothing is brought to meet it: bring the two"),
        ({"feature": [ROUND | {"at": [35, 9]}]},
         "tub is not used: it stands 4' 0\" off any paving, so nothing is made level under it: "
         "move it onto the paving, or leave it out"),
        ({"feature": [ROUND | {"at": [35, 9], "area": "patio"}]}, "4' 0\" off the paving of patio"),
        ({"outfall": [{"name": "creek", "kind": "swale", "at": [[0, 40], [9, 40]], "z": 98}]},
         "creek is not used: it lies 8' 0\" off the survey, so no water is followed to it: shoot "
         "spots as far as it, or leave it out"),
        ({"downspout": [{"name": "leader", "at": [30, 0], "roof": 200, "to": [30, 45]}]},
         "leader is not used: it ends 13' 0\" off the survey, so its water is not followed: "),
        ({"downspout": [{"name": "leader", "at": [60, 0], "roof": 200}]},
         "leader is not used: it is 20' 0\" off the survey, so"),
        ({"house": {"walls": [[0, -3], [32, -3]], "inside": [16, 8]}, "door": []},
         "wall 1 is not used: patio lies within 10' 0\" behind it, on the side that `inside` says "
         "is the house, so no fall away from it is held there: check `inside` and the"),
        ({"backfill": {"treatment": "stone"},
          "house": {"walls": [[0, -6], [32, -6]], "inside": [16, -16]}, "door": []},
         "[backfill] is not used: no paving lies on the 4' 0\" of it by the foundation: leave it"),
    ],
)  # fmt: skip
def test_what_is_not_used_fails_with_a_sentence(tmp_path, more, sentence):
    (told,) = failed(planned(tmp_path, more))
    assert sentence in told
    assert told.startswith(sentence) or " is not used: " not in sentence


@pytest.mark.parametrize(
    ("key", "value", "sentence"),
    [
        ("lawn", {"edge": "bevelled"}, "its `lawn` has no open edge to be brought to: leave"),
        ("edge", "concrete edge", 'its edge = "concrete edge" has no open edge to hold: leave'),
    ],
)  # fmt: skip
def test_what_is_said_of_an_edge_that_no_paving_has_is_not_used(tmp_path, key, value, sentence):
    """Three sides of the patio are the house's, and a terrace lies along the fourth."""
    house = {"walls": [[2, 18], [2, 0], [28, 0], [28, 18]], "inside": [16, -8]}
    level = {"z": 100.1, "fall": "2 %", "bearing": 0}
    patio = YARD["area"][0] | {"plane": level | {"at": [2, 0]}}
    outline = [[2, 18], [28, 18], [28, 26], [2, 26]]
    terrace = patio | {"name": "terrace", "outline": outline}
    more = {"house": house, "door": []}
    assert failed(planned(tmp_path / "plain", more | {"area": [patio, terrace]})) == []
    (told,) = failed(planned(tmp_path / "told", more | {"area": [patio | {key: value}, terrace]}))
    assert told.startswith(f"patio is not used: {sentence}")


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"door": [{"at": [12, -2.9], "sill": 100.65}]},
        {"ceiling": [{"kind": "siding", "at": [[0, 0], [32, 0]], "z": 101}]},
        {"floor": [FAR | {"kind": "swale", "z": 98}]},
        {"feature": [ROUND | {"at": [28, 9]}]},
        {"downspout": [{"at": [30, 0], "roof": 200, "to": [30, 34.9]}]},
        {"outfall": [{"kind": "swale", "at": [[0, 34], [9, 50]], "z": 98}]},
        {"house": {"walls": [[0, 0], [32, 0], [32, 18]], "inside": [38, -8]}},
        {"house": {"walls": [[0, 18], [0, 0], [32, 0]], "inside": [-6, -8]}},
        {"house": {"walls": [[2, -30], [2, 0], [30, 0], [30, -4]], "inside": [16, -2]}},
    ],
)
def test_what_is_used_is_not_told(tmp_path, more):
    assert failed(planned(tmp_path, more)) == []


def test_a_wing_thinner_than_the_reach_of_a_wall_hides_no_paving_beyond_it(tmp_path):
    """Behind the back of a wing 6 ft deep lies its own front, and what is paved before that."""
    house = {"walls": [[2, 18], [28, 18], [28, 24], [2, 24]], "inside": [16, 20]}
    area = {"name": "patio", "base": "dense", "outline": [[2, 2], [28, 2], [28, 18], [2, 18]]}
    more = {"house": house, "area": [area], "door": []}
    assert failed(planned(tmp_path, more, lambda x, y: 100.1 + 0.03 * y)) == []


def test_topsoil_deeper_than_a_yard_has_fails(tmp_path):
    made = planned(tmp_path, {"ground": {"organics": "4 ft"}})
    (check,) = (each for each in made.checks if each.rule == "organics")
    assert check.status == "fail"
    assert 'were inches meant, write "4 in"' in check.text


# IRC R312.1.1, from memory: more than 30 in, at any point within 36 in of the edge.
@pytest.mark.parametrize(
    ("drop", "away", "asked"), [(31, 12, True), (29, 12, False), (31, 37, False), (31, 30, True)]
)
def test_an_edge_more_than_thirty_inches_over_the_ground_may_want_a_guard(
    tmp_path, drop, away, asked
):
    """The yard is level with the paving and steps down by a bank, of a foot, out from its end."""
    area = YARD["area"][0] | {"plane": {"at": [2, 0], "z": 100.1, "fall": "0 %", "bearing": 0}}
    bank = 18 + away / 12 - 0.02
    x = np.linspace(-4, 40, 12)
    rows = [(-4, 0.0), (bank - 0.5, 0.0), (bank, drop / 12), (32, drop / 12)]
    spots = np.array([(each, y, 100.1 - low) for y, low in rows for each in x])
    yard = copy.deepcopy(YARD) | {"area": [area], "door": []}
    text = "\n".join(f"{key} = {as_toml(value)}" for key, value in yard.items())
    made = plan(written(tmp_path, text, spots_csv(spots)))
    found = [check for check in made.checks if check.rule == "guard-height"]
    assert bool(found) == asked
    if asked:
        (check,) = found
        assert (check.status, check.limit) == ("warn", pytest.approx(30 * INCH))
        assert check.value == pytest.approx(drop * INCH, rel=0.02)
        assert "a guard may be asked for (IRC R312.1.1, 2018 edition)" in check.text
        assert "ask the local building department" in check.text
        assert "IRC R312.1.1" in check.source
    assert highest_drop(made, made.areas[0], 1e-3)[0] < 1 * INCH


def test_a_lower_terrace_counts_as_what_lies_below(tmp_path):
    patio = YARD["area"][0] | {"plane": {"at": [2, 0], "z": 103, "fall": "0 %", "bearing": 0}}
    lower = {
        "name": "lower", "base": "dense", "outline": [[2, 18], [28, 18], [28, 26], [2, 26]],
        "plane": {"at": [2, 18], "z": 100, "fall": "0 %", "bearing": 0},
    }  # fmt: skip
    step = [{"down": ["patio", "lower"], "risers": 5, "riser": ["6 in", "7.5 in"]}]
    more = {"area": [patio, lower], "door": [], "step": step}
    made = planned(tmp_path, more, lambda x, y: np.where(y < 20, 102.9, 102.9))
    drop, at = highest_drop(made, made.areas[0], 36 * INCH)
    assert drop == pytest.approx(3 * FOOT)
    assert at[1] == pytest.approx(18 * FOOT)
