"""The page: one file, no connection, drawn by a real browser, its numbers those of the plan."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import os
import re
import subprocess
import sys
import zlib
from contextlib import contextmanager, nullcontext
from fractions import Fraction
from html import escape
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
import shapely
from drive.browser import STILL, TOUCH, FilePage, beside, browsing, needs_browser, windowed
from make.plans.sampled import sampled
from msgspec.structs import replace
from PIL import Image

import grading
from grading.units import INCH, cubic_yards, inches
from viz.one_file import one_script
from viz.page.html import MODULES, write_page
from viz.pictures.camera import eye_for
from viz.pictures.lights import AMBIENT, DIFFUSE, lights_of
from viz.scene.model import VIEWS
from viz.scene.parts import CAP
from viz.scene.slicing import FABRIC, sliced
from viz.scene.staging import stage
from viz.words.cautions import PICTURE


class Elements(HTMLParser):
    """Every start tag with its attributes, and the text of the cells of tables."""

    def __init__(self):
        super().__init__()
        self.tags, self.rows, self._cell = [], [], None

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self._cell = ""

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.rows[-1].append(self._cell)
            self._cell = None

    def handle_data(self, data):
        if self._cell is not None:
            self._cell += data


@pytest.fixture(scope="module")
def plan():
    return sampled("back-patio")


@pytest.fixture(scope="module")
def page(plan, tmp_path_factory):
    return write_page(plan, tmp_path_factory.mktemp("page") / "yard.html")


@pytest.fixture(scope="module")
def text(page):
    return page.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def elements(text):
    parser = Elements()
    parser.feed(text)
    return parser


@pytest.fixture(scope="module")
def court(tmp_path_factory):
    """The page of the sample with the most in it, in metres, with two areas."""
    plan = sampled("garden-court")
    return write_page(plan, tmp_path_factory.mktemp("court") / "yard.html")


def packed_plan(text):
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    return json.loads(found[1])


def parts_in(text):
    """What is drawn, unpacked by zlib and json alone."""
    packed = zlib.decompress(base64.b64decode(packed_plan(text)["packed"]))
    return json.loads(packed)["parts"]


def test_the_file_can_be_sent_by_mail(page):
    assert 900_000 < page.stat().st_size < 1_500_000


def test_the_largest_sample_keeps_clear_of_what_mail_carries(court):
    assert court.stat().st_size < 2_000_000


def test_a_base_says_what_it_is_whether_it_is_planned_and_what_is_said_of_it(text, plan):
    (area,) = plan.areas
    advice = plan.advice.area(area.area.name)
    chosen = re.findall(r'<button type="button" class="choose"[^>]*>(.*?)</button>', text)
    for written, (base, dig) in zip(chosen, area.digs.items(), strict=True):
        assert dig.system.plain in written
        assert ("planned" in written) == (base == area.chosen)
        assert ("advised" in written) == (base == advice.base.advised.option.name)
        verdict = advice.base.of(base)
        first = [*verdict.against, *verdict.reasons][0]
        assert escape(first.plain) in text
    assert sum("advised" in written for written in chosen) == 1


def test_a_metric_site_says_millimetres_alone(court):
    text = court.read_text(encoding="utf-8")
    layers = re.findall(r'<svg class="swatch">.*?</svg><span><b>.*?</b>(.*?)</span>', text)
    assert sum(" mm" in words for words in layers) >= 6
    assert not any(re.search(r"[0-9] in\b", words) for words in layers)
    parser = Elements()
    parser.feed(text)
    titles = [row[0] for row in parser.rows]
    assert {"Build-up, mm", "Deepest dig, mm"} <= set(titles)
    assert not any(title.endswith((", in", ", yd³")) for title in titles)


def test_the_page_names_no_other_machine(text, elements):
    for tag, attributes in elements.tags:
        for name in ("src", "href", "action", "data", "srcset", "poster"):
            assert attributes.get(name, "data:").startswith("data:"), (tag, attributes)
    hosts = set(re.findall(r"(?:https?:)?//([\w.-]+\.[a-z]{2,})", text))
    # A name of a language, never an address that is opened.
    assert hosts <= {"www.w3.org"}


def test_the_page_forbids_every_connection(elements):
    policies = [
        attributes["content"]
        for tag, attributes in elements.tags
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(policies) == 1
    assert policies[0].startswith("default-src 'none'")
    assert "http" not in policies[0]
    assert "*" not in policies[0]


def test_no_script_and_no_style_may_run_but_those_that_the_page_was_made_with(text):
    """By their SHA-256, as Content Security Policy Level 3 (W3C) has it."""
    (script,) = re.findall(r'<script type="module">(.*?)</script>', text, re.DOTALL)
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    (policy,) = re.findall(r'Security-Policy" content="([^"]*)"', text)
    for kind, inside in (("script-src", script), ("style-src", style)):
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{kind} 'sha256-{digest}';" in policy
    assert "unsafe" not in policy
    assert not re.search(r"<[^>]* (style|on[a-z]+)=", text[: text.index("<script")])


def test_what_draws_is_the_module_that_the_desk_is_served(text):
    """All of it, and every name that it gives: three's own text, wrapped otherwise."""
    import viz.desk

    module = (Path(viz.desk.__file__).parent / "web" / "space" / "three.js").read_text(
        encoding="utf-8"
    )
    body, _, names = module.rpartition("export{")
    assert len(body) > 500_000
    assert body in text
    script = one_script(MODULES)
    told = script[script.index(body) + len(body) :].partition("})();")[0]
    assert re.findall(r"(\w+):[\w$]+", told) == re.findall(r" as (\w+)", names)
    assert not re.search(r"https?://(?!www\.w3\.org)", script)
    assert "</script" not in script
    turning = Path(viz.desk.__file__).parent / "web" / "space"
    for each in turning.glob("*.js"):
        assert f"desk/web/space/{each.name}" in MODULES


def test_it_is_lit_as_the_stills_are(text, plan):
    """Lights shine in one direction: where they stand from what is looked at."""
    (camera, *_) = stage(plan, plan.areas[0], plan.areas[0].chosen).cameras
    points = np.array([[0, 0, 0], [9, 0, 0], [0, 7, 0], [3, 3, 2]], float)
    eye = eye_for(camera.direction, points, 1.5)
    told = packed_plan(text)["lit"]
    assert told["ambient"] == AMBIENT
    for each, (place, strength) in zip(told["lights"], lights_of(eye), strict=True):
        np.testing.assert_allclose(np.array(each["towards"]) + eye.target, place)
        assert each["strength"] == DIFFUSE * strength


def test_title_layers_and_caution_are_there_before_any_script_runs(text, plan):
    before = text[: text.index("<script")]
    for words in (plan.site.name, "Layers, from the top down", PICTURE):
        assert words in before
    for dig in plan.areas[0].digs.values():
        for layer in dig.system.layers:
            assert inches(layer.thickness) in before


def test_the_table_holds_the_numbers_of_the_plan(elements, plan):
    digs = list(plan.areas[0].digs.values())
    rows = {row[0]: row[1:] for row in elements.rows}
    assert len(rows["Base"]) == len(digs)
    for row, wanted in (
        ("Dig, yd³", [cubic_yards(dig.cut) for dig in digs]),
        ("Refill, yd³", [cubic_yards(dig.fill) for dig in digs]),
        ("Spoil, loose, yd³", [cubic_yards(dig.spoil_loose) for dig in digs]),
        ("Build-up, in", [dig.build_up / INCH for dig in digs]),
    ):
        found = [float(sum(map(Fraction, cell.split()))) for cell in rows[row]]
        assert found == pytest.approx(wanted, abs=0.051), row
    assert sum("✓" in cell for cell in rows["Base"]) == 1


def test_buttons_have_names_and_every_view_has_one(elements, text):
    buttons = [attributes for tag, attributes in elements.tags if tag == "button"]
    assert {each.get("data-name") for each in buttons} >= set(VIEWS)
    assert all(each["type"] == "button" for each in buttons)
    assert not re.search(r"<button[^>]*>\s*</button>", text)


def test_what_a_person_writes_is_never_taken_for_markup(plan, tmp_path):
    nasty = "</script><script>alert(1)</script> & \"x\" '%%PLAN%%'"
    areas = tuple(area.model_copy(update={"name": nasty}) for area in plan.site.areas)
    marked = grading.plan(replace(plan.site, name=nasty, areas=areas))
    text = write_page(marked, tmp_path / "x.html").read_text(encoding="utf-8")
    assert "<script>alert" not in text
    assert packed_plan(text)["site"] == nasty
    # The scripts of the page are those of any page.
    assert len(re.findall(r"<script\b", text)) == 2


def test_every_part_of_the_scene_is_seen_somewhere(text):
    parts = parts_in(text)
    assert all(part["seen"] for part in parts)
    for index in range(len(packed_plan(text)["scenes"])):
        for view in VIEWS:
            assert sum(f"{index}:{view}" in part["seen"] for part in parts) >= 4, (index, view)


def test_the_page_repeats_byte_for_byte(page, tmp_path):
    """In another process, where sets and dictionaries lie otherwise in memory."""
    script = (
        "import sys, grading, sample_sites; from pathlib import Path; "
        "from viz.page.html import write_page; "
        "plan = grading.plan(grading.read_site(sample_sites.path('back-patio'))); "
        "write_page(plan, Path(sys.argv[1]))"
    )
    again = tmp_path / "yard.html"
    environment = os.environ | {"PYTHONHASHSEED": "17", "PYTHONPATH": os.pathsep.join(sys.path)}
    subprocess.run([sys.executable, "-c", script, again], env=environment, check=True)
    assert again.read_bytes() == page.read_bytes()


def test_the_page_needs_no_opengl(plan, tmp_path, monkeypatch):
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkOSOpenGLRenderWindow")
    assert write_page(plan, tmp_path / "yard.html").stat().st_size > 900_000


def near(picture, red, green, blue, within=30):
    gap = np.abs(picture.astype(int) - np.array([red, green, blue])).max(axis=2)
    return int((gap < within).sum())


@pytest.fixture(scope="module")
def browser():
    with browsing() as found:
        yield found


@needs_browser
@pytest.mark.parametrize(
    ("size", "least"), [((1280, 800), 3000), ((390, 844), 600)], ids=["desk", "phone"]
)
def test_a_browser_draws_the_layers(page, browser, size, least):
    with opened(browser, page, size) as shown:
        shown.page.evaluate(DRIVEN.replace("%s", "await settled();"))
        with Image.open(io.BytesIO(shown.page.screenshot())) as image:
            picture = np.asarray(image.convert("RGB"))
    assert picture.shape[1] == size[0]
    # Turf, panels, bedding sand, bare soil: as lit, so a little off the tone of the legend.
    assert near(picture, 141, 172, 94) > least, "turf"
    assert near(picture, 78, 97, 117) > least, "panel"
    assert near(picture, 232, 202, 141) > least, "bedding sand"
    assert near(picture, 168, 133, 94) > least / 2, "subgrade"
    assert near(picture, 15, 95, 102) > 100, "pressed button"


@needs_browser
def test_a_browser_without_a_net_gets_ready_and_labels_every_layer(page, browser, plan):
    with opened(browser, page) as shown:
        found = shown.page.evaluate(DRIVEN.replace("%s", "await settled(); return labels();"))
        said = " ".join(shown.wrong)
    labels = [label for label in found if "layer" in label["kind"].split()]
    names = [layer.name for layer in plan.areas[0].chosen_dig.system.layers]
    for name in [*names, "subgrade"]:
        found = [label for label in labels if f">{name}<" in label["inner"]]
        assert len(found) == 1, name
    assert "Content Security Policy" not in said


DRIVEN = """(async () => {
  // A busy machine takes its time: it is done when frames have come out and nothing has moved.
  const tick = () => new Promise((done) => requestAnimationFrame(done));
  const all = (selector) => [...document.querySelectorAll(selector)];
  const one = (selector) => document.querySelector(selector);
  const plan = JSON.parse(one("#data").textContent);
  const settled = async () => {
    let last = "";
    for (let same = 0; same < 12;) {
      await tick();
      const now = JSON.stringify([eye(), scrollY, frame(), dots()]);
      same = now === last ? same + 1 : 0;
      last = now;
    }
  };
  const labels = () => all(".space-label").map((each) => (
    { kind: each.className, inner: each.outerHTML }));
  const press = async (selector) => { one(selector).click(); await settled(); };
  const slide = async (at) => {
    one("#cut-at").value = at;
    one("#cut-at").dispatchEvent(new Event("input", { bubbles: true }));
    await settled();
  };
  // Where three itself draws a point, from the top left of the frame. [pixels]
  const drawn = (point) => window.space.at(point).slice(0, 2);
  const eye = () => (window.space ? window.space.eye.axes.way : []);
  const pressed = (group) => all(`#${group} [aria-pressed=true]`).map((each) => each.dataset.name);
  const frame = () => {
    const [box, canvas] = [one("#scene"), one("#viewer canvas")];
    return [box.clientWidth, box.clientHeight, canvas.clientWidth, canvas.clientHeight];
  };
  const dots = () => all(".space-leaders circle")
    .map((each) => [+each.getAttribute("cx"), +each.getAttribute("cy")]);
  %s
})()"""


@contextmanager
def opened(browser, page, size=(1280, 800), **options):
    """Open a page in a window of its own, until it is left; nothing moves in it."""
    shown = FilePage(windowed(browser, size, offline=True, **(STILL | options)), page)
    shown.ready()
    yield shown
    shown.context.close()


def driven(browser, page, script, size=(1280, 800), **options):
    """Do what a script says with the buttons of a page, and return what it found."""
    with opened(browser, page, size, **options) as shown:
        return shown.page.evaluate(DRIVEN.replace("%s", script))


@pytest.fixture(scope="module")
def cut_by_shapely(plan):
    """The scene that is shown first with the faces of its cut, each way, as pictures have them."""
    scene = stage(plan, plan.areas[0], plan.areas[0].chosen)
    return {
        slices.name: sliced(replace(scene, slices=slices))
        for slices in (scene.slices, scene.lengthwise)
    }


def faces_at(scene, at):
    """The faces of a cut at one of its stations as it is drawn, across and up, by their layer."""
    found: dict[str, list[shapely.Polygon]] = {}
    layers = {entry.name for entry in scene.legend}
    across = np.array([-scene.slices.direction[1], scene.slices.direction[0]])
    for body in scene.bodies:
        reach = body.vertices[:, :2] @ scene.slices.direction - scene.slices.stations[at]
        if body.cap and scene.slices.name in body.shown and abs(float(reach.mean())) < CAP:
            points = scene.drawn(body.vertices, body.stands)
            flat = np.column_stack([points[:, :2] @ across, points[:, 2]])
            name = body.name if body.name in layers else ""
            found.setdefault(name, []).extend(shapely.polygons(flat[body.faces]))
    return found


@needs_browser
@pytest.mark.parametrize("size", [(1280, 800), (390, 844)], ids=["desk", "phone"])
def test_the_picture_and_its_labels_follow_the_frame(page, browser, size, cut_by_shapely):
    """On a cut, too, where each layer is pointed at within its face, as shapely has it."""
    told = driven(browser, page, """
      const found = [];
      for (const view of ["slice", "layers"]) {
        await press(`#views [data-name=${view}]`);
        const { factor, labels, legend } = plan.scenes[plan.first];
        const faces = view === "layers" ? {} : Object.fromEntries(legend.map(({ name, number }) =>
          [name, window.space.faced(name, 0.04 + 0.5 * number / legend.length, factor)]));
        const places = [...labels.map((each) => each.at), ...Object.values(faces).filter(Boolean)]
          .map(drawn);
        const off = dots().map(([x, y]) =>
          Math.min(...places.map(([a, b]) => Math.hypot(a - x, b - y))));
        found.push({ frame: frame(), off, faces });
      }
      return found;
    """, size)  # fmt: skip
    for found in told:
        wide, high, canvas_wide, canvas_high = found["frame"]
        assert (canvas_wide, canvas_high) == (wide, high)
        assert len(found["off"]) >= 1
        assert max(found["off"]) < 2
    scene = cut_by_shapely["slice"]
    across = np.array([-scene.slices.direction[1], scene.slices.direction[0]])
    faces = faces_at(scene, round(0.6 * len(scene.slices.stations)))
    assert {name for name, at in told[0]["faces"].items() if at} == set(faces) - {""}
    for name, at in told[0]["faces"].items():
        if at:
            face = shapely.union_all(faces[name]).buffer(0.002)
            assert face.contains(shapely.Point(np.array(at[:2]) @ across, at[2])), name
    if size[0] > 900:
        # The row of the slider takes its room from the frame.
        assert told[0]["frame"][1] < told[1]["frame"][1]


@needs_browser
@pytest.mark.parametrize("way", ["slice", pytest.param("slice along", marks=pytest.mark.long)])
def test_every_station_of_a_cut_is_framed_on_a_phone(page, browser, way, cut_by_shapely):
    """And cut as the pictures are, whose faces are shapely's: as large, and the same are named."""
    told = driven(browser, page, f"""
      await press("#views [data-name=slice]");
      await press("#ways [data-name='{way}']");
      const found = [];
      const scene = plan.scenes[plan.first];
      const cut = scene.slices.find((each) => each.name === "{way}");
      const area = (at) => {{
        let sum = 0;
        for (let k = 0; k < at.length; k += 9) {{
          const [a, b] = [3, 6].map((o) => [0, 1, 2].map((d) => at[k + o + d] - at[k + d]));
          const flat = (one) => one[1] * cut.direction[0] - one[0] * cut.direction[1];
          sum += Math.abs(flat(a) * b[2] - flat(b) * a[2]) / 2;
        }}
        return sum;
      }};
      for (let at = 0; at < cut.stations.length; at++) {{
        await slide(at);
        const kept = scene.hulls.slice.filter((point) =>
          point[0] * cut.direction[0] + point[1] * cut.direction[1] <= cut.stations[at]);
        const spots = kept.map(drawn);
        const faces = window.space.parts.filter(({{ body, face }}) =>
          body.visible && face?.mesh.visible);
        const off = faces.flatMap(({{ face }}) => {{
          const {{ array }} = face.mesh.geometry.attributes.position;
          return [array[0] * cut.direction[0] + array[1] * cut.direction[1] - cut.stations[at]];
        }});
        const areas = {{}};
        for (const {{ face, layer }} of faces) {{
          areas[layer] = (areas[layer] ?? 0) + area(face.mesh.geometry.attributes.position.array);
        }}
        found.push({{
          frame: frame(), x: spots.map((spot) => spot[0]), y: spots.map((spot) => spot[1]),
          numbers: all(".space-label.layer").map((each) => Number(each.textContent)).sort(),
          areas, off, words: one("#cut-words").textContent,
        }});
      }}
      await press("#views [data-name=layers]");
      return [found, window.space.parts.filter(({{ face }}) => face?.mesh.visible).length];
    """, (390, 844))  # fmt: skip
    found, left = told
    assert len(found) == 15
    assert left == 0, "no face is left of a cut"
    scene = cut_by_shapely[way]
    for at, each in enumerate(found):
        wide, high, *_ = each["frame"]
        assert 0 <= min(each["x"]) < max(each["x"]) <= wide
        assert 0 <= min(each["y"]) < max(each["y"]) <= high
        assert 0 < min(each["off"]) <= max(each["off"]) < 0.02
        # What has no thickness is a line in a picture, and nothing on the page.
        named = [label.number for label in scene.labels
                 if f"{way}:{at}" in label.shown and not label.text.startswith(FABRIC)]  # fmt: skip
        assert each["numbers"] == sorted(named)
        assert len(named) >= 3
        for name, faces in faces_at(scene, at).items():
            # Corners of the page are on whole steps of a millimetre.
            size = float(shapely.area(faces).sum())
            assert each["areas"].get(name, 0.0) == pytest.approx(size, rel=0.01, abs=0.02), name
    assert len({each["words"] for each in found}) == 15


@pytest.mark.long
@needs_browser
def test_the_pressed_button_says_where_the_eye_stands(court, browser):
    told = driven(browser, court, """
      const found = [];
      const note = (what) => found.push({
        what, views: pressed("views"), cameras: pressed("cameras"), eye: eye(), scene: plan.scenes
          .findIndex((each) => each.subtitle === one("#subtitle").textContent),
      });
      for (const view of ["layers", "slice", "dig", "slice", "finished", "slice", "yard"]) {
        await press(`#views [data-name=${view}]`); note("view");
      }
      await press("#views [data-name=slice]");
      // An area is chosen while the eye is still on its way.
      one("#views [data-name=layers]").click();
      await press("[data-to-area='1']"); note("area");
      await press("#cameras [data-name=above]");
      await press(".area:not([hidden]) .choose:not([aria-pressed=true])"); note("base");
      return found;
    """)  # fmt: skip
    scenes = packed_plan(court.read_text(encoding="utf-8"))["scenes"]
    for found in told:
        (view,), (name,) = found["views"], found["cameras"]
        scene = scenes[found["scene"]]
        camera = next(each for each in scene["cameras"] if each["name"] == name)
        assert found["eye"] == pytest.approx(camera["eye"], abs=1e-3), found
        if found["what"] == "view":
            assert name == ("side" if view == "slice" else "whole")
    assert told[-2]["cameras"] == ["whole"]
    assert told[-1]["cameras"] == ["above"], "a choice holds while the view stays"


@needs_browser
@pytest.mark.parametrize("which", ["page", "court"])
def test_numbers_and_doors_stand_apart_on_a_phone(which, browser, request):
    told = driven(browser, request.getfixturevalue(which), """
      const found = [];
      for (const view of ["layers", "apart", "slice"]) {
        await press(`#views [data-name=${view}]`);
        found.push({
          view,
          numbers: all(".space-label.layer .space-number")
            .map((each) => each.getBoundingClientRect())
            .map((each) => [each.x + each.width / 2, each.y + each.height / 2, each.width]),
          doors: all(".space-label.house").length,
        });
      }
      return found;
    """, (390, 844))  # fmt: skip
    for found in told:
        at = np.array(found["numbers"])
        gaps = np.hypot(*(at[:, None, :2] - at[None, :, :2]).transpose(2, 0, 1))
        assert len(at) >= 4, found["view"]
        assert gaps[~np.eye(len(at), dtype=bool)].min() > at[0, 2], found["view"]
    assert told[0]["doors"] == 2


@needs_browser
def test_letters_and_sills_can_be_read_from_the_house(page, browser):
    told = driven(browser, page, """
      const seen = () => window.space.parts.map((each) => each.body.visible);
      const front = seen();
      await press("#cameras [data-name=house]");
      return { front, behind: seen() };
    """)  # fmt: skip
    text = page.read_text(encoding="utf-8")
    plan, parts = packed_plan(text), parts_in(text)
    key = f"{plan['first']}:layers"
    letters = [i for i, part in enumerate(parts) if part["words"] and key in part["seen"]]
    turned = [i for i, part in enumerate(parts) if key + plan["behind"] in part["seen"]]
    walls = [i for i, part in enumerate(parts) if part["house"] and key in part["seen"]]
    assert min(len(letters), len(turned), len(walls)) > 0
    for way, shown in (("front", letters + walls), ("behind", turned)):
        hidden = turned if way == "front" else letters + walls
        assert all(told[way][i] for i in shown)
        assert not any(told[way][i] for i in hidden)


def test_the_sills_are_seen_from_the_house(plan):
    from viz.scene.parts import parts_of

    scene = stage(plan, plan.areas[0], plan.areas[0].chosen)
    sills = np.concatenate([x.vertices for x in scene.bodies if x.material == "sill"])
    kept = [part for part in parts_of([scene]) if not part.house]
    drawn = {tuple(point) for part in kept for point in np.round(part.points, 6)}
    assert len(sills)
    for body in (x for x in scene.bodies if x.material == "sill"):
        points = np.round(scene.drawn(body.vertices, body.stands), 6)
        assert {tuple(point) for point in points} <= drawn


@needs_browser
@pytest.mark.parametrize("size", [(1280, 800), (390, 844)], ids=["desk", "phone"])
def test_buttons_are_large_enough_and_reached_by_key(page, browser, size):
    told = driven(browser, page, """
      await press("#views [data-name=slice]");
      return all("button, input").filter((each) => each.offsetParent).map((each) => {
        const { width, height } = each.getBoundingClientRect();
        each.focus({ focusVisible: true });
        const { outlineStyle, outlineWidth } = getComputedStyle(each);
        return [each.id || each.textContent, width, height, each.tabIndex,
                document.activeElement === each, outlineStyle, parseFloat(outlineWidth)];
      });
    """, size)  # fmt: skip
    assert len(told) > 17
    for name, width, height, order, focused, style, outline in told:
        assert min(width, height) >= 48, name
        assert order == 0, name
        assert focused, name
        assert style == "solid", name
        assert outline >= 3, name


@needs_browser
@pytest.mark.parametrize(
    ("flags", "said", "unsaid"),
    [((), "right button", "fingers"), ((TOUCH,), "two fingers", "wheel")],
    ids=["mouse", "touch"],
)
def test_the_hint_speaks_of_what_points(page, browser, flags, said, unsaid):
    with beside(browser, *flags) if flags else nullcontext(browser) as used:
        hint = driven(used, page, "return one('#hint').textContent;")
    assert said in hint
    assert unsaid not in hint


@needs_browser
def test_an_area_that_is_chosen_far_below_has_its_picture_in_view(court, browser):
    top, high, far = driven(browser, court, """
      const button = one("[data-to-area='1']");
      scrollTo(0, document.body.scrollHeight);
      await settled();
      const far = one("#scene").getBoundingClientRect().bottom;
      button.click();
      await settled();
      const { top, bottom } = one("#scene").getBoundingClientRect();
      return [top, innerHeight - bottom, far];
    """, (390, 844))  # fmt: skip
    assert far > 0, "it stays while the page is scrolled"
    assert top >= -1
    assert high >= 0


# ---------------------------------------------------------------- without space, and below


@needs_browser
def test_where_nothing_can_turn_the_cut_is_drawn_and_all_the_rest_works(page, plan, browser):
    script = """
      const shown = (selector) => all(selector).filter((each) => each.getClientRects().length);
      const before = shown("#still [data-still]").map((each) => each.dataset.still);
      const other = all(".choose").find((each) => each.getAttribute("aria-pressed") !== "true");
      other.click();
      return {
        words: one("#still-words").textContent, wait: shown("#wait").length,
        viewer: shown("#viewer").length, buttons: shown("#views, #cut, #cameras, #hint").length,
        before, after: shown("#still [data-still]").map((each) => each.dataset.still),
        chosen: other.dataset.scene, base: shown(".base").map((each) => each.dataset.scene),
        colours: new Set(all("#still svg path").map((each) => each.getAttribute("fill"))).size,
        numbers: shown("#still circle").length, said: document.body.innerText,
      };
    """
    with beside(browser, "--disable-3d-apis") as flat:
        told = driven(flat, page, script)
    assert "cannot turn the picture" in told["words"]
    assert told["wait"] == told["viewer"] == told["buttons"] == 0
    assert told["before"] != told["after"] == told["base"] == [told["chosen"]]
    assert told["colours"] > 5
    assert told["numbers"] >= 4
    assert "Building" not in told["said"]
    assert "drop" not in told["said"].lower()


def test_the_cut_that_is_drawn_is_as_high_and_wide_as_the_scene_s(plan):
    from viz.page.still import cut_drawn

    scene = sliced(stage(plan, plan.areas[0], plan.areas[0].chosen))
    drawing = cut_drawn(scene)
    numbers = [
        np.array(re.findall(r"-?[\d.]+ -?[\d.]+", path))
        for path in re.findall(r'd="([^"]*)"', drawing)
    ]
    points = np.array([list(map(float, each.split())) for each in np.concatenate(numbers)])
    wide, high = np.ptp(points, axis=0)
    station = float(scene.slices.stations[len(scene.slices.stations) // 2])
    across = np.array([-scene.slices.direction[1], scene.slices.direction[0]])
    caps = [
        body for body in scene.bodies
        if body.cap and "slice" in body.shown
        and abs(body.vertices[0, :2] @ scene.slices.direction - station) < 0.004
    ]  # fmt: skip
    flat = np.concatenate([scene.drawn(body.vertices, body.stands, "slice") for body in caps])
    real = np.ptp(np.column_stack([flat[:, :2] @ across, flat[:, 2]]), axis=0)
    assert wide / high == pytest.approx(real[0] / real[1], rel=2e-3)
    assert {body.colour for body in caps} == set(re.findall(r'Z" fill="(#\w+)"', drawing))


@needs_browser
def test_no_drag_takes_the_eye_below_the_ground_and_home_brings_it_back(page, browser):
    *high, moved = driven(browser, page, """
      const found = [];
      for (const view of ["layers", "finished", "slice"]) {
        await press(`#views [data-name=${view}]`);
        for (let k = 0; k < 60; k++) {
          one("#scene").dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowDown" }));
        }
        await settled();
        found.push(eye()[2]);
      }
      const key = async (name, more) => {
        one("#scene").dispatchEvent(new KeyboardEvent("keydown", { key: name, ...more }));
        await settled();
        const at = [...eye(), ...window.space.eye.target].map((each) => each.toFixed(6));
        return [pressed("cameras"), at.join()];
      };
      await press("#cameras [data-name=side]");
      const home = await key("Home");
      const away = [await key("ArrowLeft", { shiftKey: true }), await key("ArrowUp")];
      return [...found, { home, away, back: await key("Home") }];
    """)  # fmt: skip
    assert moved["home"] == moved["back"]
    assert moved["home"][0] == ["side"]
    assert all(cameras == [] for cameras, _ in moved["away"])
    assert moved["home"][1] != moved["away"][0][1] != moved["away"][1][1]
    assert min(high) > 0.05
    assert max(high) < 0.2, "it comes down as far as it may"


@needs_browser
def test_before_and_after_are_at_true_scale_and_few_levels_are_told(page, plan, browser):
    told = driven(browser, page, """
      const scale = () => window.space.parts.map((each) => each.body.scale.z);
      const found = {};
      for (const view of ["layers", "today", "finished", "yard"]) {
        await press(`#views [data-name=${view}]`);
        found[view] = {
          scale: scale(), spots: all(".space-label.spot").length,
          dots: dots(), words: labels().length,
          real: plan.scenes[plan.first].labels
            .filter((each) => each.views.includes(view) && each.kind === "house")
            .map((each) => drawn(each.real || each.at)),
        };
      }
      return found;
    """)  # fmt: skip
    parts = parts_in(page.read_text(encoding="utf-8"))
    assert set(told["layers"]["scale"]) == {1}
    for view in ("today", "finished", "yard"):
        wanted = 1 / np.array([part["factor"] for part in parts])
        assert np.allclose(told[view]["scale"], wanted)
        # A door is pointed at where three draws it, shrunk as the bodies are.
        for place in told[view]["real"]:
            gap = min(np.hypot(place[0] - x, place[1] - y) for x, y in told[view]["dots"])
            assert gap < 2
    assert len(plan.site.spots.xyz) > 20
    assert 4 <= told["today"]["spots"] <= 9


@needs_browser
def test_on_a_phone_the_picture_stays_while_a_base_is_chosen_below_it(page, browser):
    told = driven(browser, page, """
      const first = one(".choose").getBoundingClientRect().top;
      const before = all("button").filter((each) => each.getClientRects().length &&
        each.getBoundingClientRect().top < first - 1).map((each) => each.textContent);
      const last = all(".choose").filter((each) => each.getClientRects().length).at(-1);
      last.scrollIntoView({ block: "end" });
      await settled();
      last.click();
      await settled();
      const { top, bottom } = one("#scene").getBoundingClientRect();
      const over = last.getBoundingClientRect().top;
      return { before, top, bottom, over, high: innerHeight, moved: scrollY };
    """, (390, 700))  # fmt: skip
    assert len(told["before"]) <= 7, told["before"]
    assert told["moved"] > 0
    assert told["top"] > -1
    assert told["bottom"] <= told["over"] <= told["high"], "both are seen at once"


@needs_browser
def test_a_phone_shows_all_of_a_view(page, browser):
    found = driven(browser, page, """
      const told = [];
      for (const view of ["layers", "apart", "dig", "today", "finished", "yard"]) {
        await press(`#views [data-name=${view}]`);
        const [wide, high] = frame();
        const { hulls } = plan.scenes[plan.first];
        const points = hulls[view].map(drawn);
        told.push([view, ...points.map(([x, y]) => Math.min(x, wide - x, y, high - y))]);
      }
      return told;
    """, (390, 844))  # fmt: skip
    for view, *inside in found:
        assert min(inside) >= -1, view
