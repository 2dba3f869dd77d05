"""The plan under a mouse, a finger and a keyboard, in a real browser."""

from __future__ import annotations

import shutil
import tomllib
from itertools import combinations

import numpy as np
import pytest
import shapely
from drive.browser import browsing, needs_browser
from drive.paged import SIZES, paged, wrong_for_somebody
from drive.patience import until
from drive.plan_page import begin, drawn, middle_of, planned, still, words_drawn
from drive.served import Served, copied
from make.sites.site_folder import LARCH_LANE

import grading
from grading.units import length
from viz import opening

pytestmark = needs_browser

F = "area/0/outline/4"  # of the back patio: its corner at [27, 16]
G = "area/0/outline/5"  # where its round edge begins, at [10, 16]

pytestmark = pytest.mark.long  # the whole job by keys alone stands in the suite


def document_of(folder):
    return tomllib.loads((folder / "site.toml").read_text())


def outline_of(folder):
    return document_of(folder)["area"][0]["outline"]


def level_in(folder, corner):
    """Return the finish at a corner of a folder as it is saved, as the papers write it."""
    plan = grading.plan(grading.read_site(folder))
    edge = plan.areas[0].area.outline[corner]
    xy = np.array([getattr(edge, "end", edge)])
    return length(float(plan.areas[0].finish.surface.at(xy)[0]), plan.site.unit)


def name_of(page, key):
    return page.locator(f'[data-key="{key}"]').get_attribute("aria-label")


@pytest.fixture
def site(tmp_path):
    return copied("back-patio", tmp_path / "site")


def test_a_corner_is_dragged_and_all_of_it_is_one_step_of_undo(site):
    with planned(site) as page:
        x, y = middle_of(page, F)
        page.mouse.move(x, y)
        page.mouse.down()
        for k in range(1, 9):
            page.mouse.move(x - 4 * k, y + 3 * k)
        page.locator(".plan.working").wait_for()  # its numbers are grey while it goes
        page.mouse.up()
        still(page)
        until(lambda: outline_of(site)[4] != [27, 16])
        assert name_of(page, F) == f"Corner f of patio, finish {level_in(site, 4)}"
        page.get_by_role("button", name="Undo corner f", exact=True).click()
        until(lambda: outline_of(site)[4] == [27, 16])
        still(page)
        assert page.locator("#undo").is_disabled()


def test_a_corner_goes_onto_a_wall_and_says_so(site):
    with planned(site) as page:
        (x, y), (wall, _) = middle_of(page, F), middle_of(page, "area/0/outline/3")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 40, y + 30, steps=4)
        page.mouse.move(wall + 5, y + 4, steps=8)  # a few pixels off: in line with corner e
        drawn(page)
        assert any("corner e" in words for words, *_ in words_drawn(page))
        page.mouse.up()
        still(page)
        assert name_of(page, F).startswith("Corner f of patio")
        until(lambda: True)
        assert outline_of(site)[4][0] == 27


def test_keys_move_a_corner_by_an_inch_and_a_foot(site):
    with planned(site) as page:
        page.locator(f'[data-key="{F}"]').focus()
        page.keyboard.press("ArrowDown")  # the yard lies below the house: y grows downward
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Shift+ArrowRight")  # and x grows to the left
        still(page)
        until(lambda: outline_of(site)[4] == [26, "16' 2\""])
        assert page.evaluate("document.activeElement.dataset.key") == F


def test_keys_move_a_corner_by_ten_and_a_hundred_millimetres(tmp_path):
    folder = tmp_path / "lane"
    shutil.copytree(LARCH_LANE, folder)
    first = outline_of(folder)[4]
    with planned(folder) as page:
        page.locator(f'[data-key="{F}"]').focus()
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Shift+ArrowUp")
        still(page)
        until(lambda: outline_of(folder)[4] != first)
        moved = np.array(outline_of(folder)[4]) - first
        assert sorted(np.abs(moved).tolist()) == pytest.approx([0, 0.11])


def test_a_finger_drags_a_corner_and_two_make_the_plan_larger(site):
    with planned(site, SIZES["phone"], has_touch=True, is_mobile=True) as page:
        hand = page.context.new_cdp_session(page)
        keys = page.locator(".plan-keys").bounding_box()
        handles = page.locator('[data-key*="/outline/"]').all()
        assert len(handles) >= 6
        for box in (handle.bounding_box() for handle in handles):
            assert box["x"] + box["width"] < keys["x"] or box["y"] > keys["y"] + keys["height"]

        def touch(kind, *points):
            told = [{"x": x, "y": y} for x, y in points]
            hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

        x, y = middle_of(page, F)
        touch("touchStart", (x, y))
        for k in range(1, 6):
            touch("touchMove", (x + 2 * k, y + 4 * k))
        touch("touchEnd")
        still(page)
        until(lambda: outline_of(site)[4] != [27, 16])
        before = np.subtract(middle_of(page, F), middle_of(page, G))
        touch("touchStart", (150, 250), (250, 250))
        for k in range(1, 6):
            touch("touchMove", (150 - 10 * k, 250), (250 + 10 * k, 250))
        touch("touchEnd")
        drawn(page)
        after = np.subtract(middle_of(page, F), middle_of(page, G))
        assert after == pytest.approx(before * 2, rel=0.02)


def test_a_dimension_is_typed_over(site):
    with planned(site) as page:
        page.locator(f'[data-edge="{G}/edge"]').click()
        page.keyboard.type("about so long")
        page.keyboard.press("Enter")
        page.locator(".plan-tell .wrong", has_text="expected a length").wait_for()
        assert outline_of(site)[5] == [10, 16]
        page.locator('.plan-tell [name="length"]').fill("17' 6\"")
        page.keyboard.press("Enter")
        page.locator(f'[data-edge="{G}/edge"][aria-label*="17\' 6"]').wait_for()
        still(page)
        until(lambda: outline_of(site)[4] != [27, 16] or outline_of(site)[5] != [10, 16])
        plan = grading.read_site(site).areas[0].outline
        assert abs(plan[4][0] - plan[5][0]) == pytest.approx(17.5 * 0.3048, abs=1e-6)
        assert plan[4][1] == pytest.approx(plan[5][1])


def test_a_round_edge_is_drawn_where_its_paving_is(tmp_path):
    folder = copied("garden-court", tmp_path / "site")
    site = grading.read_site(folder)
    with planned(folder) as page:
        drawn_points = page.evaluate(
            """() => [...document.querySelectorAll(".plan-picture .paving")].map((path) => {
                const long = path.getTotalLength();
                return Array.from({ length: 400 }, (_, k) => {
                    const at = path.getPointAtLength((long * k) / 400);
                    return [at.x, at.y];
                });
            })"""
        )
    for area, points in zip(site.areas, drawn_points, strict=True):
        edge = area.polygon.boundary
        off = shapely.distance(edge, shapely.points(points))  # the file is in metres
        assert off.max() < 2e-3


def test_the_plan_is_turned_and_not_mirrored_on_the_screen(site):
    corners = [(22, 9), (27, 16), (10, 16)]
    keys = ["area/0/outline/2", F, G]
    with planned(site) as page:
        seen = [middle_of(page, key) for key in keys]
        house, yard = middle_of(page, "house/walls/1"), middle_of(page, F)

    def turn(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    # On a screen y runs down: to the left in the yard is the other sign there.
    assert turn(*corners) * turn(*seen) < 0
    assert house[1] < yard[1]


@pytest.mark.parametrize("name", ["back-patio", "garden-court", "drained-patio", "side-walkway"])
def test_words_lie_over_no_other_words_and_inside_the_picture(tmp_path, name):
    """One of them with a door whose name is as long as a person may make it."""
    folder = copied(name, tmp_path / "site")
    file = folder / "site.toml"
    long = "the door of the kitchen beside the great stair of blue stone"
    file.write_text(file.read_text().replace('"side door"', f'"{long}"'), encoding="utf-8")
    with planned(folder) as page:
        for wide, high in (SIZES["desk"], SIZES["phone"], (2560, 1300)):
            page.set_viewport_size({"width": wide, "height": high})
            drawn(page)
            apart(page.locator(".plan-picture").bounding_box(), words_drawn(page))


def apart(frame, words):
    assert len(words) > 4
    for text, left, top, right, bottom in words:
        assert left >= frame["x"] - 1, text
        assert right <= frame["x"] + frame["width"] + 1, text
        assert bottom <= frame["y"] + frame["height"] + 1, text
        assert top >= frame["y"] - 1, text
    for one, two in combinations(words, 2):
        # Lines of one label stand closer than labels do.
        wide = min(one[3], two[3]) - max(one[1], two[1])
        high = min(one[4], two[4]) - max(one[2], two[2])
        assert wide < 1 or high < 4, (one, two)


TWICE = """each => {
  for (let k = 0; k < 2; k += 1) each.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter" }));
}"""
"""Enter, and once more, as a finger presses that was not answered yet: one point all the same."""


def test_a_yard_is_drawn_by_keys_alone(tmp_path):
    folder = tmp_path / "new"
    folder.mkdir()
    (folder / "site.toml").write_text('name = "New yard"\nunit = "ft"\n')
    with planned(folder, whole=False) as page:

        def press(*keys):
            for key in keys:
                page.keyboard.press(key)

        def points(count: int) -> None:
            until(lambda: page.locator(".begun-point").count() == count)

        def done() -> None:
            page.locator(".plan-bar").get_by_role("button", name="Done", exact=True).focus()
            press("Enter")
            page.locator(".plan-bar").wait_for(state="detached")
            drawn(page)

        page.locator(".plan-lead button").wait_for()  # what is not seen yet takes no keys
        page.locator(".plan-lead button").focus()
        press("Enter")
        page.locator(".plan-bar").wait_for()
        press("Shift+ArrowUp", "Enter")  # the cross of the plan, and a point there
        page.locator('.plan-bar [name="length"]').wait_for()
        page.keyboard.type("28'")
        press("Enter")
        done()
        until(lambda: "house" in document_of(folder))
        (x0, y0), (x1, y1) = document_of(folder)["house"]["walls"]
        assert (x0 - x1, y0 - y1) == (28, 0)  # to the right as one faces the house: x falls
        page.locator("li.open").get_by_role("button", name="Place a door").focus()
        press("Enter")
        page.locator(".plan-bar summary").focus()
        press("Enter")
        page.locator('.plan-bar [name="x"]').focus()
        page.keyboard.type(str(x1 + 10))
        press("Tab")
        page.keyboard.type(str(y1))
        press("Enter")
        page.locator('.plan-bar [name="sill"]').wait_for()
        page.keyboard.type("back door")
        press("Tab")
        page.keyboard.type("100' 3\"")
        press("Enter")
        page.locator(".plan-bar").wait_for(state="detached")
        until(lambda: "door" in document_of(folder))
        door = document_of(folder)["door"][0]
        assert door == {"name": "back door", "sill": "100' 3\"", "at": [x1 + 10, y1]}
        begin(page, "draw-outline")
        page.locator(".plan-bar summary").focus()
        press("Enter")
        page.locator('.plan-bar [name="x"]').focus()
        page.keyboard.type(str(x1 + 4))
        press("Tab")
        page.keyboard.type(str(y1))
        press("Enter")
        for count, (words, way) in enumerate((
            ("14' 6\"", "to the left"), ("12'", "turn left"), ("14' 6\"", "turn left"),
        ), 1):  # fmt: skip
            points(count)
            box = page.locator('.plan-bar [name="length"]')
            box.fill(words)
            page.locator('.plan-bar [name="turn"]').select_option(label=way)
            box.evaluate(TWICE)
        points(4)
        done()
        until(lambda: "area" in document_of(folder))
        assert not wrong_for_somebody(page)
    ring = shapely.Polygon(np.array(grading_outline(folder)))
    assert ring.area == pytest.approx(14.5 * 12)
    assert ring.bounds == pytest.approx((x1 + 4, y1, x1 + 18.5, y1 + 12))


def grading_outline(folder):
    """Return the outline of the first area in feet, read by hand."""
    found = []
    for corner in outline_of(folder):
        place = []
        for each in corner:
            if isinstance(each, str):
                feet, inches = each.removesuffix('"').split("' ")
                sign = -1 if feet.startswith("-") else 1
                place.append(sign * (abs(int(feet)) + int(inches) / 12))
            else:
                place.append(each)
        found.append(place)
    return found


def test_a_drop_of_water_is_run_from_where_one_taps(site):
    with planned(site) as page:
        x, y = middle_of(page, F)
        begin(page, "drop-water")
        page.mouse.click(x + 80, y - 60)
        page.locator(".plan-told", has_text="swale").wait_for()
        page.locator(".plan-picture path.drop").wait_for()
        page.keyboard.press("Escape")
        page.locator(".plan-bar").wait_for(state="detached")


def test_the_line_of_the_cut_is_dragged_by_its_end(site):
    with planned(site) as page:
        page.evaluate(
            "async () => (await import('/web/live.js')).desk.see({ cut: [[12, 0], [12, 16]] })"
        )
        page.locator('[data-key="cut/1"]').wait_for()
        x, y = middle_of(page, "cut/1")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x - 60, y, steps=4)
        page.mouse.up()
        still(page)
        (one, other) = page.evaluate(
            "async () => (await import('/web/live.js')).desk.state.asked.cut"
        )
        assert one == [12, 0]
        assert other[0] > 13  # the house is at the top, so the left is farther along the wall
        assert other[1] == pytest.approx(16, abs=0.5)


def test_one_for_whom_it_is_built_looks_and_changes_nothing(site):
    before = (site / "site.toml").read_text()
    with planned(site) as page:
        page.get_by_role("button", name="Show it to the homeowner").click()
        page.locator("html[data-who=home]").wait_for()
        still(page)
        x, y = middle_of(page, F)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 60, y + 60, steps=5)
        page.mouse.up()
        page.locator(f'[data-key="{F}"]').focus()
        page.keyboard.press("ArrowDown")
        still(page)
        page.locator(f'[data-key="{F}"]').click()
        page.locator(".plan-tell", has_text="Corner f").wait_for()
        assert page.locator(".plan-tell input, .plan-tell .btn").count() == 0
    assert (site / "site.toml").read_text() == before


def test_a_crease_turns_at_spots_wherever_one_taps_beside_them(site):
    with planned(site) as page:
        begin(page, "draw-crease")
        box = page.locator(".plan-picture").bounding_box()
        for share in (0.2, 0.5, 0.8):
            page.mouse.click(box["x"] + box["width"] * share, box["y"] + box["height"] * 0.85)
        page.locator(".plan-bar").get_by_role("button", name="Done", exact=True).click()
        page.locator(".plan-bar").wait_for(state="detached")
        still(page)
        until(lambda: len(document_of(site)["ground"]["breaklines"][-1]) == 3)
    spots = {(x, y) for x, y, _ in (grading.read_site(site).spots.xyz / 0.3048).round(4)}
    line = document_of(site)["ground"]["breaklines"][-1]
    assert all(tuple(np.round(xy, 4)) in spots for xy in line)


def test_a_finger_that_is_lifted_presses_no_key_that_came_to_lie_under_it(tmp_path):
    folder = opening.begin(tmp_path, "Two taps")
    with Served(folder) as served, browsing() as browser:
        phone = {"has_touch": True, "is_mobile": True}
        with paged(browser, served, SIZES["phone"], **phone) as page:
            page.get_by_role("button", name="Draw the house walls").first.tap()
            bar = page.locator(".plan-bar")
            bar.wait_for()
            box = page.locator("#plan").bounding_box()
            page.touchscreen.tap(60, box["y"] + 180)
            bar.get_by_text("Tap the next corner").wait_for()
            foot = bar.bounding_box()
            # Just below the bar, where it grows to once there are two corners.
            page.touchscreen.tap(320, foot["y"] + foot["height"] + 30)
            bar.get_by_text("Go on from corner to corner").wait_for()
            page.wait_for_timeout(400)  # the click that follows a touch
            low = bar.bounding_box()
            for each in page.locator(".plan-picture .begun-point").all():
                dot = each.bounding_box()
                assert dot["y"] > low["y"] + low["height"]
