"""What is taken away on a phone: it reads without scripts, asks nobody, and says no price."""

import base64
import hashlib
import re
import shutil
from html.parser import HTMLParser

import pytest
from make.plans.sampled import sampled

import grading
import sample_sites
from grading.setout.instrument import Instrument, benchmarks_of, rod_marks, rod_words, rounding_of
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import length
from grading.units.rods import read_rod
from viz.desk.field.take_away import take_away
from viz.desk.field.trench import trench
from viz.one_file import one_file
from viz.signature import not_for_signature
from viz.tables.stakes import surfaces_of

NAMES = ("back-patio", "garden-court", "raised-patio")


@pytest.fixture(scope="module", params=NAMES)
def plan(request):
    return sampled(request.param)


class Read(HTMLParser):
    """What a reader without scripts and styles finds: words, and tables as rows of cells."""

    def __init__(self, text):
        super().__init__()
        self.words, self.tables, self.tags, self._skip = [], [], [], 0
        self._cell = False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._skip += tag in ("script", "style")
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("th", "td"):
            self.tables[-1][-1].append("")
            self._cell = True

    def handle_endtag(self, tag):
        self._skip -= tag in ("script", "style")
        if tag in ("th", "td"):
            self._cell = False

    def handle_data(self, data):
        if self._skip:
            return
        if self._cell:
            self.tables[-1][-1][-1] += data
        self.words.append(data)


def test_the_table_of_levels_holds_every_stake_and_layer(plan):
    read = Read(take_away(plan))
    found = set_out(plan)
    for each in found.areas:
        surfaces = surfaces_of(each)
        held = [table for table in read.tables if table[0][1:] == list(surfaces)]
        rows = {row[0]: row[1:] for table in held for row in table[1:]
                if row[1] and not row[1].startswith("0'")}  # fmt: skip
        for stake in each.stakes:
            for layer in stake.layers:
                told = length(layer.z, plan.site.unit)
                assert any(told in row for table in held for row in table if row[0] == stake.name)
        assert rows


def test_with_a_stated_reading_the_rods_read_without_a_script(plan):
    marks, unit = rod_marks(None, plan.site), plan.site.unit
    name, z = next(iter(benchmarks_of(plan.site).items()))
    reading = "3' 2 1/2\"" if unit == "ft" else "0.978"
    sight = Instrument(name, z, float(read_rod(reading, marks)), plan.limits["rod-length"])
    text = take_away(plan, found=set_out(plan, sight))
    read = Read(text)
    assert f"rod on {name}" in " ".join(read.words)
    for each in set_out(plan).areas:
        held = [table for table in read.tables if table[0][1:] == list(surfaces_of(each))]
        for stake in each.stakes:
            for layer in stake.layers:
                rod = rod_words(sight.at(layer.z), marks, rounding_of(None, unit))
                assert any(rod in row for table in held for row in table if row[0] == stake.name)


def test_the_sum_by_hand_is_the_rod(plan):
    """What is added to a reading, added to any reading on that benchmark, is what the rod reads."""
    marks, unit = rod_marks(None, plan.site), plan.site.unit
    read = Read(take_away(plan))
    own = [each.name for each in plan.site.benchmarks]
    known = benchmarks_of(plan.site)
    name = own[0] if own else next(iter(known))
    text = " ".join(read.words)
    assert f"add these to what the rod reads on {name}" in text
    step = rounding_of(None, unit)
    checked = 0
    for each in set_out(plan).areas:
        held = [table for table in read.tables if table[0][1:] == list(surfaces_of(each))]
        for stake in each.stakes:
            for layer in stake.layers:
                added = rod_words(known[name] - layer.z, marks, step)
                assert any(added in row for table in held for row in table if row[0] == stake.name)
                today = Instrument(name, known[name], 1.1, 9.0)
                if not added.startswith("-"):
                    by_hand = 1.1 + float(read_rod(added, marks))
                    assert abs(by_hand - today.at(layer.z)) <= step
                    checked += 1
    assert checked > 10


def test_it_names_its_plan_and_its_revision(plan):
    text = " ".join(Read(take_away(plan, revision=14)).words)
    assert f"Set-out {set_out_number(set_out(plan))}, revision 14" in text
    text = " ".join(Read(take_away(plan, "homeowner", revision=14)).words)
    assert f"Set-out {set_out_number(set_out(plan))}, revision 14" in text


@pytest.mark.parametrize("whose", ["crew", "homeowner"])
def test_its_browser_may_run_what_is_in_it_and_ask_nothing_of_anybody(plan, whose):
    text = take_away(plan, whose)
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    told = dict(each.strip().split(" ", 1) for each in policy.split(";"))
    assert told["default-src"] == "'none'"
    assert told["img-src"] == "data:"
    assert "unsafe" not in policy
    for kind, tag in (("script-src", "script"), ("style-src", "style")):
        for attributes, body in re.findall(rf"<{tag}([^>]*)>(.*?)</{tag}>", text, re.DOTALL):
            if "application/json" in attributes:
                continue
            digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
            assert told[kind] == f"'sha256-{digest}'"
    if whose == "homeowner":
        assert "<script" not in text
        assert told["script-src"] == "'none'"
    # Nothing names another machine, and no attribute brings a style or a script in.
    assert not re.findall(r"https?://(?!www\.w3\.org/2000/svg)", text)
    for _, attributes in Read(text).tags:
        assert not [name for name in attributes if name == "style" or name.startswith("on")]
        for name in ("src", "href"):
            assert attributes.get(name, "data:").startswith("data:")


@pytest.mark.parametrize("whose", ["crew", "homeowner"])
def test_no_price_is_in_it(plan, whose):
    text = " ".join(Read(take_away(plan, whose)).words)
    assert plan.crew.currency not in text
    assert not re.search(r"\bcost|\bprice (?:is|of)", text)


def test_what_a_person_wrote_is_text_and_nothing_else(tmp_path):
    name = '</script><b onclick="x()">&amp;'
    text = one_file(name, "<p>here</p>", "p{}", "const a = 1;", {"name": name})
    read = Read(text)
    assert not [tag for tag, _ in read.tags if tag == "b"]
    assert text.count("</script>") == 2
    assert "\\u003c/script" in text


def test_a_site_in_doubt_says_so_wherever_it_is_opened(tmp_path):
    folder = tmp_path / "site"
    shutil.copytree(sample_sites.path("back-patio"), folder)
    lines = (folder / "spots.csv").read_text().splitlines()
    (place,) = (k for k, line in enumerate(lines) if ",31,lawn" in line)
    x, y, z, *rest = lines[place].split(",")
    lines[place] = ",".join([x, y, f"{float(z) + 1.0:.2f}", *rest])
    (folder / "spots.csv").write_text("\n".join(lines))
    plan = grading.plan(grading.read_site(folder))
    words = not_for_signature(plan)
    assert words.startswith("NOT FOR SIGNATURE")
    crew, home = (Read(take_away(plan, whose)) for whose in ("crew", "homeowner"))
    for read in (crew, home):
        assert words in " ".join(read.words)
    # As on the crew's sheet, no rod is told of what is not to be built; nor is a level.
    assert "NOT TO BE BUILT" in crew.words
    assert crew.tables == []
    assert trench(plan)["stop"]["why"][0] == f"{words}."


def test_the_homeowner_finds_the_levels_that_the_crew_builds(plan):
    read = Read(take_away(plan, "homeowner"))
    for each in set_out(plan).areas:
        for stake in each.stakes:
            if stake.kind == "corner":
                told = length(stake.layers[-1].z, plan.site.unit)
                assert any(row[0] == stake.name and row[-1] == told
                           for table in read.tables for row in table)  # fmt: skip
    pictures = [told for tag, told in read.tags if tag == "img"]
    assert pictures
    assert all(told["alt"] for told in pictures)
