"""The finish at a corner, typed or moved up and down: held there, carried along, let go."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from drive.browser import needs_browser
from drive.plan_page import middle_of, planned, still
from drive.served import copied
from make.plans.looked_at import looked
from make.sites.seven_elms import SITE, SPOTS
from make.sites.site_folder import write_site

from grading.errors import SiteError
from grading.reading.site_edit import Edit
from grading.units import INCH, read_length
from viz.desk.plan.calls import PLAN_CALLS
from viz.desk.plan.view import plan_view

CORNER = "area/0/outline/2"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_site(tmp_path_factory.mktemp("levels"), SITE, spots=SPOTS.format(99.8, 99.8))


@pytest.fixture(scope="module")
def seen(folder):
    return looked(folder, whole=False)


def corner_of(seen, at=CORNER):
    return seen.partly.areas["area/0"].outline[int(at.rpartition("/")[2])]


def level_at(seen, at=CORNER):
    """Return the finish at a corner [m], by the surface of the plan."""
    (area,) = seen.plan.areas
    return float(area.finish.surface.at(np.array([corner_of(seen, at)], float))[0])


def asked(seen, z, by=0, at=CORNER, held=""):
    return PLAN_CALLS["corner-level"](seen, {"at": at, "z": z, "by": by, "held": held})


def edits_of(seen, changes):
    """Return what a browser sends, as edits of the document."""
    found = []
    for change in changes:
        way = tuple(int(each) if each.isdigit() else each for each in change["at"].split("/"))
        if change["do"] == "add":
            way = (*way, len(seen.document.get(way[0], ())))
        found.append(Edit(way, change["to"]))
    return found


def drawn_of(seen):
    drawn = plan_view(seen.document, seen.partly, seen.plan, seen.stale, {})
    return drawn["areas"][0]["rings"][0]["corners"]


def test_a_level_that_is_typed_is_written_as_typed_and_the_finish_goes_through_it(folder, seen):
    unit = seen.partly.unit
    start = drawn_of(seen)[2]["level"]
    told = asked(seen, start, by=-1)
    (change,) = told["changes"]
    assert (change["at"], change["do"]) == ("meet", "add")
    assert change["to"]["at"] == seen.document["area"][0]["outline"][2]
    after = looked(folder, *edits_of(seen, told["changes"]), whole=False)
    assert not after.conflict, after.conflict
    lower = INCH / 4 if unit == "ft" else 0.005
    wanted = read_length(start, unit) - lower
    assert level_at(after) == pytest.approx(wanted, abs=1e-4)
    # A second time the same point is set, and in the words that were typed.
    held = drawn_of(after)[2]["held"]
    assert held["z"] == change["to"]["z"]
    (again,) = asked(after, start, held=held["at"])["changes"]
    assert again["at"].startswith("meet/")
    assert again["at"].endswith("/z")
    assert again["to"] == start
    assert again["at"] == f"{held['at']}/z"
    (gone,) = asked(after, " ", held=held["at"])["changes"]
    assert (gone["at"], gone["do"]) == (held["at"], "remove")


def test_while_a_hand_slides_each_look_begins_from_what_is_kept(folder, seen):
    """What is looked at on the way has a point there already, which the document has not."""
    start = drawn_of(seen)[2]["level"]
    first = asked(seen, start, by=1)["changes"]
    glanced = looked(folder, *edits_of(seen, first), whole=False)
    (change,) = asked(glanced, start, by=2)["changes"]
    assert (change["at"], change["do"]) == ("meet", "add")
    assert change["to"]["name"] == first[0]["to"]["name"]


def test_what_holds_a_corner_goes_with_it_when_an_edge_is_made_longer(folder, seen):
    told = asked(seen, drawn_of(seen)[2]["level"])
    after = looked(folder, *edits_of(seen, told["changes"]), whole=False)
    document = copy.deepcopy(after.document)
    for k in (2, 3):
        answer = PLAN_CALLS["edge-length"](
            after, {"at": f"area/0/outline/{k}", "length": "6 ft 1 in"}
        )
        places = {change["at"]: change["to"] for change in answer["changes"]}
        if "area/0/outline/2" in places:
            (meet,) = (way for way in places if way.startswith("meet/"))
            assert places[meet] == places["area/0/outline/2"] != document["meet"][-1]["at"]
            return
    raise AssertionError("no edge moves that corner")


@pytest.mark.parametrize("words", ["about there", "5 lb"])
def test_what_is_no_level_is_refused_in_a_sentence(seen, words):
    with pytest.raises(SiteError, match="expected"):
        asked(seen, words)


def test_a_corner_of_nothing_is_refused(seen):
    for at in ("area/0/outline/99", "area/7/outline/0", "door/0/at", "area/0/outline/x"):
        with pytest.raises(SiteError, match="a corner of paving"):
            asked(seen, "100", at=at)


@needs_browser
@pytest.mark.long
def test_a_corner_is_slid_up_by_keys_and_what_it_violates_is_told_while_it_goes(tmp_path):
    folder = copied("back-patio", tmp_path / "site")
    with planned(folder) as page:
        page.mouse.click(*middle_of(page, "area/0/outline/4"))
        page.get_by_role("slider", name="Finish here, down or up").focus()
        for _ in range(12):
            page.keyboard.press("ArrowRight")
        page.locator("#problems").get_by_text("meeting corner f").wait_for()
        assert "no finish plane has all of these together" in page.locator("#problems").inner_text()
        page.locator("#problems .offer button").first.wait_for()
        # All of it is taken back by its name, and the panel stands as it stood.
        while page.locator("#undo").is_enabled():
            assert "finish at corner f" in page.locator("#undo").inner_text()
            page.locator("#undo").click()
            page.locator("html:not(.working)").wait_for(state="attached")
        still(page)
        assert page.locator("#problems").is_hidden()
        assert page.get_by_label("Finish here", exact=True).input_value() == "99' 6 3/4\""
