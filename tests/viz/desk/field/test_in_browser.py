"""The file of the crew in a real browser, opened from the disk with no connection."""

import csv
import io
import json

import pytest
from drive.browser import FilePage, browsing, kept_in, killed, needs_browser
from drive.trenched import Opened
from make.by_lot import by_lot
from make.plans.sampled import sampled

import sample_sites
from grading.asbuilt.words import off_words
from grading.setout.instrument import Instrument, rod_words, rounding_of
from grading.setout.model import set_out
from grading.units import INCH, length
from grading.units.rods import read_rod
from viz.desk.field.given_back import as_built_of, shots_given_back
from viz.desk.field.take_away import take_away
from viz.desk.field.trench import trench

pytestmark = needs_browser

FORGET = """() => new Promise((done) => {
  localStorage.clear();
  indexedDB.deleteDatabase("fallaway trench").onsuccess = () => done();
})"""
PHONE, SMALL, DESK = (390, 844), (360, 740), (1440, 900)


@pytest.fixture(scope="module")
def chromium():
    with browsing() as found:
        yield found


@pytest.fixture(scope="module")
def plan():
    return sampled("back-patio")


@pytest.fixture(scope="module")
def file(plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("away") / "take-away.html"
    path.write_text(take_away(plan), encoding="utf-8")
    return path


@pytest.fixture
def opened(chromium, file):
    made = Opened(chromium, file, PHONE, accept_downloads=True)
    made.ready()
    yield made
    assert made.wrong == []
    # Nothing was asked for but the file itself.
    assert {url.partition(":")[0] for url in made.asked} <= {"file", "data", "blob"}
    made.context.close()


def rod_of(plan, stake, surface, reading="3 2 1/2", benchmark="back door"):
    sight = Instrument(
        benchmark, {"back door": 30.48, "kitchen door": 30.5562}[benchmark],
        float(read_rod(reading, "ft-in")), 99.0,
    )  # fmt: skip
    (each,) = set_out(plan).areas
    own = next(one for one in each.stakes if one.name == stake)
    return rod_words(sight.at(own.layer(surface).z), "ft-in", rounding_of(None, "ft"))


def shoot(opened, text):
    opened.page.get_by_role("textbox", name="Reading").fill(text)


def verdict(opened):
    return opened.page.locator(".tr-verdict").inner_text().splitlines()


def test_nothing_is_told_before_the_instrument_stands_and_every_rod_then(opened, plan):
    page = opened.page
    assert "No instrument is set up" in page.locator(".tr-head").inner_text()
    opened.set_up("back door", "3 2 1/2")
    assert length(30.48 + 38.5 * INCH, "ft") in page.locator(".tr-head").inner_text()
    for surface in ("subgrade", "bedding", "panel", "finish"):
        page.get_by_role("tab", name=surface).click()
        assert page.get_by_role("tab", name=surface).get_attribute("aria-selected") == "true"
        for stake in ("a", "b", "c"):
            assert page.locator(".tr-who h2").inner_text() == stake
            assert page.locator(".tr-big .tr-heard").inner_text() == rod_of(plan, stake, surface)
            opened.key("next")
        for _ in "abc":
            opened.key("previous")
    told = dict(zip(page.locator(".tr-pole dt").all_inner_texts(),
                    page.locator(".tr-pole dd").all_inner_texts(), strict=True))  # fmt: skip
    assert {name.lower(): rod for name, rod in told.items()} == {
        name: rod_of(plan, "a", name) for name in ("finish", "panel", "bedding", "subgrade")
    }
    assert "deeper" in page.locator(".tr-two").inner_text()


def test_a_moved_instrument_is_set_up_again_and_the_earlier_one_is_kept(opened, plan):
    opened.set_up("back door", "3 2 1/2")
    opened.set_up("kitchen door", "4 0")
    assert opened.page.locator(".tr-big .tr-heard").inner_text() == rod_of(
        plan, "a", "subgrade", "4 0", "kitchen door"
    )
    opened.key("moved")
    lines = opened.page.locator(".tr-stood li").all_inner_texts()
    assert len(lines) == 2
    assert lines[0].startswith("now: ")
    assert "kitchen door" in lines[0]
    assert "back door" in lines[1]
    assert "3 2 1/2" in lines[1]


def test_an_instrument_that_was_knocked_is_found_by_a_check(opened):
    opened.set_up("back door", "3 2 1/2")
    opened.key("moved")
    opened.page.locator('[data-key="choice kitchen door"]').click()
    shoot(opened, "2 11 1/2")
    opened.key("check")
    assert "checked" in opened.page.locator(".tr-head").inner_text()
    opened.key("moved")
    opened.page.locator('[data-key="choice kitchen door"]').click()
    shoot(opened, "3 0 1/2")
    opened.key("check")
    assert verdict(opened)[0:2] == ["?", "Read it again"] or "Read it again" in verdict(opened)
    assert "1 in off: it should read 2' 11 1/2\"" in " ".join(verdict(opened))


def test_no_value_is_filled_in_and_a_part_that_was_not_tapped_is_asked_for(opened):
    opened.set_up("back door", "3 2 1/2")
    opened.key("shot")
    page = opened.page
    keep = page.locator("[data-key=keep]")
    assert page.get_by_role("textbox", name="Reading").input_value() == ""
    assert page.locator(".tr-key[aria-pressed=true]").count() == 0
    assert keep.get_attribute("aria-disabled") == "true"
    page.locator(".tr-feet button", has_text="4").click()
    assert "inches, sixteenths" in " ".join(verdict(opened))
    page.locator(".tr-inches button").nth(2).click()
    assert "Still to tap: sixteenths." in verdict(opened)
    keep.dispatch_event("click")
    assert page.locator("[data-key=undo]").count() == 0
    page.locator(".tr-parts button").nth(2).click()
    assert page.get_by_role("textbox", name="Reading").input_value() == "4' 2 1/8\""
    assert keep.get_attribute("aria-disabled") == "false"
    # Every sixteenth can be tapped, in the words of a tape.
    assert page.locator(".tr-parts button").all_inner_texts() == [
        "0", "1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16",
        "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16",
    ]  # fmt: skip


def test_a_shot_is_judged_at_once_in_words_and_in_a_shape(opened, plan):
    opened.set_up("back door", "3 2 1/2")
    opened.key("shot")
    wanted = float(read_rod(rod_of(plan, "a", "subgrade"), "ft-in"))
    told = {}
    for off, name in ((0.0, "leave"), (0.625, "low"), (-0.625, "high"), (6.5, "again"),
                      (12.0, "foot"), (-13.5, "other")):  # fmt: skip
        feet, rest = divmod((wanted + off * INCH) / INCH, 12)
        shoot(opened, f"{feet:.0f} {rest:.4f}")
        told[name] = verdict(opened)
    assert told["leave"][0] == "●"
    assert "within 1/2 in: leave it" in told["leave"]
    assert told["low"][0] == "▼"
    assert any("low" in line for line in told["low"])
    assert any("too deep" in line for line in told["low"])
    assert told["high"][0] == "▲"
    assert "still to dig" in told["high"]
    for name in ("again", "foot", "other"):
        assert told[name][:2] == ["?", "Read it again"]
    assert "was the foot misread?" in told["foot"][2]
    assert "another stake?" in told["other"][2]
    assert opened.page.locator("[data-key=keep]").inner_text() == "Keep it as read"


def test_shots_survive_a_reload_and_one_is_taken_back(opened, plan):
    opened.set_up("back door", "3 2 1/2")
    opened.key("shot")
    for stake in ("a", "b", "c"):
        assert opened.page.locator(".tr-shot-head h2").inner_text() == stake
        shoot(opened, rod_of(plan, stake, "subgrade"))
        opened.key("keep")
    opened.stored(4)
    opened.key("undo")
    opened.stored(5)
    opened.open()
    opened.ready()
    opened.key("list")
    rows = opened.page.locator(".tr-line").all_inner_texts()
    assert rows[0].split("\n")[-1] == f"{rod_of(plan, 'a', 'subgrade')}, as designed"
    assert rows[2].split("\n")[-1] == "not shot yet"
    assert "27 left: c, d, e" in opened.page.locator(".tr-screen").inner_text()


def test_what_is_given_back_is_what_the_desk_holds_against_the_design(opened, plan, tmp_path):
    opened.set_up("back door", "3 2 1/2")
    opened.key("shot")
    readings = {"a": "4 3 1/2", "b": "4 2", "c": "3 10 1/16", "d": "4 6"}
    for text in readings.values():
        shoot(opened, text)
        opened.key("keep")
    # Read again from another set-up: the last one stands, the first is told beside it.
    opened.key("back")
    opened.set_up("kitchen door", "3 9 3/4")
    opened.key("list")
    opened.page.locator('[data-key="row patio d"]').click()
    shoot(opened, "4 9 1/2")
    opened.key("keep")
    opened.key("back")
    opened.key("give")
    text = opened.page.locator("[data-key=text]").input_value()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["stake"]: row["reading"] for row in rows} == {**readings, "d": "4 9 1/2"}
    assert next(row for row in rows if row["stake"] == "d")["note"] == "read before: 4 6"
    back = shots_given_back(text, plan)
    held = {shot.name: shot for shot in as_built_of(plan, back.shots)[0].shots}
    sights = {"back door": ("3 2 1/2", 30.48), "kitchen door": ("3 9 3/4", 30.5562)}
    for row in rows:
        reading, z = sights[row["benchmark"]]
        level = z + float(read_rod(reading, "ft-in")) - float(read_rod(row["reading"], "ft-in"))
        assert held[row["stake"]].z == pytest.approx(level, abs=1e-9)
    opened.key("back")
    opened.key("list")
    for line in opened.page.locator(".tr-line").all_inner_texts()[:4]:
        stake, _, words = line.split("\n")
        assert words.endswith(off_words(held[stake], "ft"))
    # Saved as a file it is the same text, and so it is after it was taken in again.
    opened.key("back")
    opened.key("give")
    with opened.page.expect_download() as saved:
        opened.key("save")
    assert saved.value.suggested_filename == f"shots-{trench(plan)['number']}.csv"
    saved.value.save_as(tmp_path / "shots.csv")
    assert (tmp_path / "shots.csv").read_text() == text
    opened.page.evaluate(FORGET)
    opened.open()
    opened.ready()
    opened.key("back")
    opened.key("give")
    opened.page.locator("[data-key=pasted]").fill(f"sent from the yard\n{text}")
    opened.key("take")
    opened.stored(1)
    again = opened.page.locator("[data-key=text]").input_value()
    kept = [{k: v for k, v in row.items() if k != "note"} for row in rows]
    assert [{k: v for k, v in row.items() if k != "note"}
            for row in csv.DictReader(io.StringIO(again))] == kept  # fmt: skip


SHOOT = """(async () => {
  const key = (name) => document.querySelector(`[data-key="${name}"]`);
  const read = (text) => {
    key("reading").value = text;
    key("reading").dispatchEvent(new Event("input", {bubbles: true}));
  };
  key("choice back door").click();
  read("3 2 1/2");
  key("stand").click();
  key("shot").click();
  read("4 3 1/2");
  key("keep").click();
  while (!document.querySelector(".tr-verdict").textContent.includes("Kept: a, ")) {
    await new Promise((done) => setTimeout(done, 1));
  }
})()"""


def test_a_shot_that_is_said_to_be_kept_is_there_after_the_browser_was_killed(
    chromium, file, tmp_path
):
    """What is given to the browser's own storage is not, for it is written down seconds later."""
    before = FilePage(kept_in(chromium, tmp_path), file)
    before.ready()
    before.page.evaluate(SHOOT)
    killed(tmp_path)
    again = FilePage(kept_in(chromium, tmp_path), file)
    again.ready()
    again.page.locator("[data-key=list]").click()
    line = again.page.locator(".tr-line").first.inner_text()
    assert line.startswith("a")
    assert "4 3 1/2, " in line
    assert again.wrong == []
    again.context.close()


@pytest.mark.parametrize("left", [(), ("localStorage",)])
def test_it_says_so_where_the_browser_does_not_surely_keep_it(opened, left):
    for name in ("indexedDB", *left):
        opened.page.add_init_script(
            f"Object.defineProperty(window, '{name}', {{get() {{ throw new Error('none'); }}}})"
        )
    opened.open()
    opened.ready()
    opened.set_up("back door", "3 2 1/2")
    opened.page.get_by_role("alert").wait_for()
    assert "does not surely keep" in opened.page.get_by_role("alert").inner_text()
    opened.key("shot")
    shoot(opened, "4 3")
    opened.key("keep")
    opened.stored(2)
    assert "Kept" not in opened.page.locator(".tr-screen").inner_text()
    if not left:
        # Whoever closes it is asked first, and what the browser has left of it is taken up.
        opened.page.once("dialog", lambda dialog: dialog.accept())
        opened.open()
        opened.ready()
    else:
        opened.key("back")
    opened.key("give")
    assert "4 3," in opened.page.locator("[data-key=text]").input_value()


def test_without_scripts_the_table_reads_and_nothing_stands_in_its_place(chromium, file, plan):
    made = Opened(chromium, file, PHONE, java_script_enabled=False)
    words = made.page.inner_text("body")
    (each,) = set_out(plan).areas
    for stake in each.stakes:
        for layer in stake.layers:
            assert length(layer.z, "ft") in words
    assert "Rods by hand" in words
    # What only a script can do is not offered; what is read begins at the top.
    assert made.page.get_by_role("button").count() == 0
    assert made.page.locator(".paper h1").bounding_box()["y"] < 100
    made.context.close()


@pytest.mark.parametrize("size", [PHONE, SMALL, DESK])
def test_nothing_is_off_the_screen_and_no_key_is_too_small(chromium, file, size):
    made = Opened(chromium, file, size)
    made.ready()
    seen = []

    def look():
        wide = made.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size[0]
        for box in made.page.evaluate(
            """[...document.querySelectorAll("#trench button, #trench input")]
               .filter((each) => each.offsetParent).map((each) => {
                 const {width, height, left, right} = each.getBoundingClientRect();
                 return [width, height, left, right, each.textContent];
               })"""
        ):
            width, height, left, right, words = box
            assert width >= 44, words
            assert height >= 44, words
            assert left >= 0, words
            assert right <= size[0], words
        small = made.page.evaluate(
            """[...document.querySelectorAll("#trench *")].filter((each) =>
                 [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim())
                 && !each.closest(".tr-heard, svg, script, style")
                 && parseFloat(getComputedStyle(each).fontSize) < 15)
               .map((each) => each.outerHTML)"""
        )
        assert small == []
        seen.append(made.page.locator("#trench").get_attribute("data-view"))

    look()
    made.set_up("back door", "3 2 1/2")
    look()
    big = made.page.locator(".tr-big")
    large = float(big.evaluate("(each) => parseFloat(getComputedStyle(each).fontSize)"))
    assert large >= 63
    assert size == SMALL or large >= 69
    made.key("shot")
    look()
    shoot(made, "4 3")
    made.key("keep")
    made.key("back")
    made.key("list")
    look()
    made.key("back")
    made.key("give")
    look()
    assert seen == ["sight", "rods", "shot", "list", "give"]
    assert made.wrong == []
    made.context.close()


def test_everybody_can_use_it_at_every_screen(chromium, file, plan, tmp_path):
    """Judged by axe-core, from outside the project."""
    made = Opened(chromium, file, PHONE, bypass_csp=True)
    made.ready()
    assert made.judged() == []
    made.set_up("back door", "3 2 1/2")
    assert made.judged() == []
    made.key("shot")
    for text in ("", "4 3", "4 6", "9 3"):
        shoot(made, text)
        assert made.judged() == []
    made.key("keep")
    made.key("back")
    for key in ("list", "give"):
        made.key(key)
        assert made.judged() == []
        made.key("back")
    made.key("paper")
    assert made.judged() == []
    made.context.close()
    home = tmp_path / "home.html"
    home.write_text(take_away(plan, "homeowner"))
    made = Opened(chromium, home, PHONE, bypass_csp=True)
    assert made.judged() == []
    made.context.close()


def test_the_keyboard_alone_does_all_of_it(opened, plan):
    page = opened.page
    page.keyboard.press("Tab")

    def to(key, most=60):
        for _ in range(most):
            if page.evaluate("document.activeElement?.dataset?.key") == key:
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"{key} is not reached")

    to("choice back door")
    page.keyboard.press("Enter")
    to("reading")
    page.keyboard.type("3 2 1/2")
    page.keyboard.press("Enter")
    page.locator(".tr-big").wait_for()
    page.keyboard.press("ArrowRight")
    assert page.locator(".tr-who h2").inner_text() == "b"
    to("shot")
    page.keyboard.press("Enter")
    to("reading")
    page.keyboard.type(rod_of(plan, "b", "subgrade"))
    page.keyboard.press("Enter")
    assert page.locator(".tr-shot-head h2").inner_text() == "c"
    # The hand stays where the next reading is typed.
    assert page.evaluate("document.activeElement.dataset.key") == "reading"
    page.keyboard.type("4 1")
    page.keyboard.press("Enter")
    assert page.locator(".tr-shot-head h2").inner_text() == "d"
    to("back")
    page.keyboard.press("Enter")
    to("tab subgrade")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.dataset.key") == "tab bedding"
    assert page.get_by_role("tab", name="bedding").get_attribute("aria-selected") == "true"


def test_a_rod_of_another_marking_has_its_own_keys(opened, plan):
    page = opened.page
    opened.key("choice m")
    opened.set_up("back door", "0.978")
    assert page.locator(".tr-big").inner_text().endswith("m")
    opened.key("shot")
    for sign in "1.3":
        page.locator(".tr-digits").get_by_role("button", name=sign, exact=True).click()
    assert page.get_by_role("textbox", name="Reading").input_value() == "1.3"
    page.get_by_role("button", name="erase").click()
    assert page.get_by_role("textbox", name="Reading").input_value() == "1."
    opened.key("choice ft")
    assert page.get_by_role("textbox", name="Reading").input_value() == ""
    opened.key("choice ft-in")
    assert page.locator(".tr-feet").count() == 1


def test_no_rod_is_told_of_a_plan_that_is_not_to_be_built(chromium, plan, tmp_path):
    data = trench(plan)
    data["stop"]["why"] = ["a fall of 1.0 % away from wall 1"]
    text = take_away(plan)
    whole = json.dumps(trench(plan), separators=(",", ":")).replace("<", "\\u003c")
    assert whole in text
    stopped = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    (tmp_path / "stopped.html").write_text(text.replace(whole, stopped))
    made = Opened(chromium, tmp_path / "stopped.html", PHONE)
    made.ready()
    words = made.page.locator("#trench").inner_text()
    assert "NOT TO BE BUILT" in words
    assert "a fall of 1.0 % away from wall 1" in words
    assert made.page.locator(".tr-big").count() == 0
    made.key("list")
    made.page.locator('[data-key="row patio a"]').click()
    assert made.page.locator(".tr-big, .tr-value").count() == 0
    made.key("give")
    made.key("back")
    assert "NOT TO BE BUILT" in made.page.locator("#trench").inner_text()
    assert made.wrong == []
    made.context.close()


@pytest.mark.parametrize("name", by_lot(sample_sites.names()))
def test_every_stake_and_layer_of_every_sample_site_has_its_rod(chromium, tmp_path, name):
    """Several areas and bases, refill under some stakes alone, feet and metres."""
    plan = sampled(name)
    data, unit = trench(plan), plan.site.unit
    (tmp_path / "away.html").write_text(take_away(plan), encoding="utf-8")
    made = Opened(chromium, tmp_path / "away.html", SMALL)
    made.ready()
    made.set_up(data["benchmarks"][0]["name"], "5' 2 1/2\"" if data["rod"] == "ft-in" else "1.57")
    page = made.page
    sight = float(read_rod("5' 2 1/2\"" if data["rod"] == "ft-in" else "1.57", data["rod"]))
    sight += data["benchmarks"][0]["z"]
    for area in data["areas"]:
        for place, stake in enumerate(area["stakes"]):
            assert page.locator(".tr-who h2").inner_text() == stake["name"]
            if place % 5 == 0:
                told = page.locator(".tr-pole dd").all_inner_texts()
                levels = [layer["name"] for layer in area["layers"] if layer["name"] in stake["z"]]
                rods = [rod_words(sight - stake["z"][layer], data["rod"], rounding_of(None, unit))
                        for layer in levels]  # fmt: skip
                assert [words.removesuffix(" m") for words in told] == rods
                for layer in levels[:: max(len(levels) - 1, 1)]:
                    made.key(f"tab {layer}")
                    assert page.locator(".tr-big").is_visible()
            made.key("next")
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= SMALL[0]
    assert made.wrong == []
    made.context.close()
