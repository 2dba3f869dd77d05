"""The model in a real browser: drawn when asked, cut exactly, told in words, kept as a picture."""

from __future__ import annotations

import base64
import io
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from drive.browser import browsing
from drive.paged import paged, settled
from drive.patience import until
from drive.served import Served, copied
from make.plans.sampled import sampled
from PIL import Image

from viz.desk.model.bodies import bodies_of, stand_for
from viz.desk.model.frame import Held
from viz.desk.model.turning import Turning
from viz.desk.seen import Asked

PHONE, DESK = (390, 844), (1280, 800)
VIEWS = ("whole", "behind", "cut", "apart")


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with Served(copied("back-patio", tmp_path_factory.mktemp("model") / "site")) as page:
        yield page


@pytest.fixture(scope="module")
def browser():
    with browsing() as found:
        yield found


@pytest.fixture(scope="module")
def page(served, browser):
    """A window for all that changes nothing but what is shown."""
    with paged(browser, served, DESK) as found:
        yield found


@pytest.fixture(scope="module")
def plan():
    return sampled("back-patio")


def shown(page, view="whole"):
    """Show the model in one of its views, and wait until it is there."""
    page.locator("#tabs button[data-view=model]").click()
    page.locator(".model[data-drawn]").wait_for()
    page.locator(f"button[data-model={view}]").click()
    page.locator(".model:not([data-moving])").wait_for()
    settled(page)


def drawn(page, frames=1):
    """How many pictures were drawn, so many frames of the browser from now."""
    return int(
        page.evaluate(
            """async (frames) => {
                for (let k = 0; k < frames; k++) await new Promise(requestAnimationFrame);
                return document.querySelector(".model").dataset.drawn;
            }""",
            frames,
        )
    )


def test_nothing_is_drawn_while_nothing_changes(page):
    shown(page)
    before = drawn(page, 10)
    assert drawn(page, 60) == before
    page.locator(".model canvas").press("ArrowLeft")
    assert drawn(page, 5) == before + 1


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_labels_are_few_and_none_lies_on_another(served, browser, size):
    with paged(browser, served, size) as page:
        for view in VIEWS:
            shown(page, view)
            boxes = page.locator(".space-label").evaluate_all(
                """all => all.map((each) => {
                    const {left, top, right, bottom} = each.getBoundingClientRect();
                    return [left, top, right, bottom];
                })"""
            )
            assert 2 <= len(boxes) <= 8, view
            shapes = [shapely.box(*box) for box in boxes]
            for k, one in enumerate(shapes):
                assert all(one.intersection(other).area < 1 for other in shapes[:k]), view
                assert one.bounds[0] >= 0, view
                assert one.bounds[2] <= size[0] + 1, view


def test_a_tap_tells_the_layer_and_enter_tells_each_of_them(page, plan):
    layers = [layer.name for layer in plan.areas[0].chosen_dig.system.layers]
    shown(page, "behind")
    box = page.locator(".model canvas").bounding_box()
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    assert page.locator(".model-told").inner_text().startswith("paver, 2 3/8 in")
    told = []
    for _ in layers:
        page.locator(".model canvas").press("Enter")
        told.append(page.locator(".model-told").inner_text())
    # The paver was tapped, so the next comes next.
    assert [words.partition(",")[0] for words in told[:2]] == layers[1:3]


def test_what_a_screen_reader_says_is_what_is_seen(page, plan):
    for view, words in (("whole", "towards the house"), ("cut", "cut open"),
                        ("apart", "lifted apart"), ("behind", "out to the yard")):  # fmt: skip
        shown(page, view)
        name = page.locator(".model canvas").get_attribute("aria-label")
        assert words in name
        assert "times larger" in name
        assert page.locator(f"button[data-model={view}][aria-pressed=true]").count() == 1


def test_a_change_reaches_the_model(served, browser):
    with paged(browser, served) as page:
        shown(page, "cut")
        rev = page.locator(".model").get_attribute("data-rev")
        before = page.locator(".model canvas").screenshot()
        page.evaluate(
            """async () => {
                window.sizes = new Set();
                new ResizeObserver(([{ target }]) => sizes.add(target.clientHeight))
                    .observe(document.getElementById("view"));
                await (await import('/web/live.js')).desk.set('door/0/sill', 99.6);
            }"""
        )
        page.locator(f".model:not([data-rev='{rev}'])").wait_for()
        drawn(page, 3)
        assert page.locator(".model canvas").screenshot() != before
        page.evaluate("async () => { await (await import('/web/live.js')).desk.undo(); }")
        settled(page)
        page.locator("html:not(.so-far)").wait_for(state="attached")
        # For another size all of it would be fitted and drawn anew, while numbers are waited for.
        assert page.evaluate("sizes.size") == 1


def test_the_last_plan_that_there_was_is_drawn_grey_and_says_so(served, browser):
    with paged(browser, served) as page:
        shown(page)
        page.evaluate(
            "async () => { await (await import('/web/live.js')).desk.set('door/0/sill', 97.0); }"
        )
        page.locator(".model[data-stale=yes]").wait_for()
        assert "the last state that has a finish" in page.locator(".model-words").inner_text()
        page.evaluate("async () => { await (await import('/web/live.js')).desk.undo(); }")
        page.locator(".model:not([data-stale=yes])").wait_for()
        assert "last state" not in page.locator(".model-words").inner_text()


def test_the_cut_that_is_moved_is_the_cut_of_the_section(served, browser):
    line = "async () => (await import('/web/live.js')).desk.state.asked.cut ?? null"
    with paged(browser, served) as page:
        shown(page, "cut")
        assert page.evaluate(line) is None
        slider = page.locator(".model-at input")
        slider.focus()

        def moved_on():
            was = page.evaluate(line)
            slider.press("ArrowRight")
            until(lambda: page.evaluate(line) != was)
            return np.array(page.evaluate(line))

        moved_on()
        first, second = moved_on(), moved_on()
        way = (first[1] - first[0]) / np.hypot(*(first[1] - first[0]))
        moved = second - first
        np.testing.assert_allclose(moved @ way, 0.0, atol=1e-6)
        assert np.hypot(*moved.T).min() > 0.01


def test_the_faces_of_a_cut_are_as_large_as_the_layers_are_thick(served, browser, plan):
    """Length of the line within the paving, by shapely, times the thickness in the base's table."""
    area = plan.areas[0]
    dig = area.chosen_dig
    bodies = bodies_of(plan, area, area.chosen, stand_for(plan, area))
    middle = np.array(area.outline.representative_point().coords[0])
    for turn in (0.0, 0.7, 1.9):
        along = np.array([np.cos(turn), np.sin(turn)])
        line = shapely.LineString([middle - 99 * along, middle + 99 * along])
        at = middle - bodies.stand.origin[:2]
        for part in bodies.parts:
            layer = next((each for each in dig.system.layers
                          if part.look.number and each.name == part.look.brief), None)  # fmt: skip
            if layer is None or not layer.thickness:
                continue
            with_hole = dig.polygon if layer.spreads else dig.outline
            wanted = with_hole.intersection(line).length * layer.thickness
            corners = filled_in_browser(browser, served, part, at, along)
            a, b, c = np.moveaxis(corners.reshape(-1, 3, 2), 1, 0)
            one, two = b - a, c - a
            found = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum() / 2
            assert found == pytest.approx(wanted, rel=2e-5), (part.look.name, turn)


PAGES = {}


def filled_in_browser(browser, served, part, at, along):
    """Cut a part by the page's own module, and return the triangles of the cut, (n, 2)."""
    if browser not in PAGES:
        PAGES[browser] = browser.new_page()
        PAGES[browser].goto(served.address)
    found = PAGES[browser].evaluate(
        """async ([v, i, at, along]) => {
            const { filled, lines } = await import("/web/space/cut.js");
            return filled(lines(new Float32Array(v), i, { at, along }));
        }""",
        [part.corners.ravel().tolist(), part.triangles.ravel().tolist(), at.tolist(),
         along.tolist()],
    )  # fmt: skip
    return np.array(found)


def test_a_hole_in_a_layer_is_left_out_of_its_cut(served, browser):
    """A ring cut through its middle shows two faces: its width twice, times its thickness."""
    from viz.desk.model.parts import Look, Part
    from viz.scene.shell import between, triangulate

    ring = shapely.Point(0, 0).buffer(3.0) - shapely.Point(0, 0).buffer(1.0)
    sheet, _ = triangulate(ring)
    level = np.ones(len(sheet.xy))
    part = Part(Look("ring", "", "", "layer", "paver"), between(sheet, level, 0.5 * level))
    corners = filled_in_browser(browser, served, part, np.array([0.0, 0.3]), np.array([1.0, 0.0]))
    a, b, c = np.moveaxis(corners.reshape(-1, 3, 2), 1, 0)
    one, two = b - a, c - a
    found = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum() / 2
    line = shapely.LineString([(-9, 0.3), (9, 0.3)])
    assert found == pytest.approx(ring.intersection(line).length * 0.5, rel=1e-5)


def test_a_window_that_holds_something_else_asks_for_all_of_it(served, browser, plan):
    """The third frame has no shape but names those of the second: who missed that has none."""
    first, second = list(plan.areas[0].digs)[:2]
    held, frames, turning = Held(), [], Turning()
    for revision, base in enumerate([first, second, second]):
        asked = Asked(base_system=base)
        seen = SimpleNamespace(plan=plan, asked=asked, stale=False, revision=revision)
        frames.append(base64.b64encode(held.frame(turning.whole(seen))).decode())
    page = browser.new_page()
    page.goto(served.address)
    answers = page.evaluate(
        """async (frames) => {
            const { Holding } = await import("/web/model/frame.js");
            const bytes = (each) => Uint8Array.from(atob(each), (c) => c.charCodeAt(0)).buffer;
            const [every, skipped] = [new Holding(), new Holding()];
            const all = frames.map((each) => every.take(bytes(each))?.base_system ?? null);
            skipped.take(bytes(frames[0]));
            return [all, skipped.take(bytes(frames[2]))?.base_system ?? null];
        }""",
        frames,
    )
    page.close()
    assert answers == [[first, second, second], None]


def test_the_picture_is_kept_with_what_it_shows_and_the_caution_below(page):
    shown(page, "apart")
    with page.expect_download() as waiting:
        page.locator(".model-save").click()
    download = waiting.value
    assert download.suggested_filename == "patio-panel.png"
    with Image.open(io.BytesIO(download.path().read_bytes())) as image:
        picture = np.asarray(image.convert("RGB"))
    box = page.locator(".model canvas").bounding_box()
    assert picture.shape[1] == 2 * round(box["width"])
    high = 2 * round(box["height"])
    assert picture.shape[0] > high + 160
    assert len(np.unique(picture[:high].reshape(-1, 3), axis=0)) > 500
    below = picture[high:].min(axis=2)
    assert 0.01 < (below < 100).mean() < 0.3  # words


def test_who_wants_no_motion_gets_none(served, browser):
    """Of a model that moves, many pictures are drawn on the way; else one."""
    for wanted, pictures in (("reduce", 1), ("no-preference", 2)):
        with paged(browser, served, reduced_motion=wanted) as page:
            shown(page)
            before = drawn(page, 10)
            shown(page, "apart")
            after = drawn(page, 10)
            assert (after - before == 1) if pictures == 1 else (after - before >= pictures)


def test_layers_on_their_way_arrive_when_a_hand_stops_the_eye(served, browser):
    with paged(browser, served, reduced_motion="no-preference") as page:
        shown(page)
        page.locator("button[data-model=apart]").click()
        # At once, while they are lifted.
        page.locator(".model canvas").press("ArrowLeft")
        page.locator(".model:not([data-moving])").wait_for()
        assert page.locator(".space-label").count() >= 2


def test_only_what_changed_is_made_ready_and_cut_again(served, browser):
    """Counted by the page itself: shapes made ready to be drawn, and bodies cut."""
    counts = """async () => {
        const { work } = await import("/web/model/shaped.js");
        return [work.shaped, work.cut];
    }"""
    changed = """async (sill) => {
        const { desk } = await import("/web/live.js");
        const { taken } = await import("/web/model/frame.js");
        window.told = [];
        desk.on("frame", (buffer) => {
            const { parts } = taken(buffer).header;
            window.told.push([parts.length, parts.filter(({ v }) => v).length]);
        });
        await desk.set("door/0/sill", sill);
    }"""
    with paged(browser, served) as page:
        shown(page, "cut")
        drawn(page, 3)
        before = page.evaluate(counts)
        page.evaluate(changed, 99.98)
        page.locator("html:not(.so-far)").wait_for(state="attached")
        settled(page)
        drawn(page, 3)
        frames = page.evaluate("() => window.told")
        after = page.evaluate(counts)
        news = sum(new for _, new in frames)
        assert frames
        assert 0 < news < frames[0][0] / 2
        # A shape that has two names is sent once, and made ready for each of them.
        assert news <= after[0] - before[0] <= news + 2
        assert after[1] - before[1] <= 2 * (after[0] - before[0])
        # Told the same again, nothing is made ready, nor cut.
        page.evaluate("async () => (await import('/web/live.js')).desk.see({})")
        settled(page)
        drawn(page, 3)
        assert page.evaluate(counts) == after
        page.evaluate("async () => { await (await import('/web/live.js')).desk.undo(); }")
        settled(page)
