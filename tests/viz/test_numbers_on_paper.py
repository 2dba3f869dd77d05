"""Every number on paper is one of the plan's JSON, and no thing is told with two values.

The papers are read as an outside reader does, by `told_numbers`; what each phrase tells is looked
up in the JSON that `plan --json` prints. A number that no phrase here knows fails the test too: it
would have been looked at by nobody.
"""

from __future__ import annotations

import json
import math
import re
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from make.plans.sampled import HOMES, sampled
from measure.change_numbers import change
from measure.crew_numbers import crew
from measure.quote_numbers import quote
from measure.told_numbers import (
    AREA,
    COUNT,
    INCH,
    LENGTH,
    VOLUME,
    Reader,
    count,
    cubic,
    metres,
    near,
    strings_in,
    text_of,
    unheld_edges,
)

import grading
import sample_sites
from grading.comparison.model import compared
from grading.comparison.words import below_headline
from grading.price.model import price_of
from grading.records.comparison import comparison_record
from grading.records.price import price_record
from grading.units import FOOT
from viz.sheets.price.change import write_change
from viz.sheets.price.quote import issue_of, write_quote
from viz.sheets.write import write_sheets
from viz.words.price import excluded
from viz.words.uncounted import not_counted

HEAVE = {"ft": 0.0254, "m": 0.0254}
"""How far frost is said to lift an outer edge: common practice, no source. [m]"""

RAIN = 0.0254
"""The rain that volumes are told for: an inch. [m]"""


ONE_OF_MANY = re.compile(
    r"(?<![\d./' ])(?: |^)[+-]? ?1 (?:bag|bin|bucket|course|day|lift|load|pallet|piece|record|"
    r"riser|roll|shot|trip)s\b"
)
"""A single thing that is told as several: "1 records"."""


_CARRIED = ("trips_out", "trips_in", "trips_panels", "trips_pavers")


def homeowner(told: Reader, record: dict, plan) -> None:
    """Look at every number of the homeowner's paper."""
    _steps(told, record, plan)
    _whole_job(told, record)
    _edges(told, record)
    _water(told, record, plan)
    _under(told, record)
    _agreed(told, record, plan)


PAPERS: dict[str, Callable[[Reader, dict, object], None]] = {"homeowner": homeowner, "crew": crew}
"""What looks at the numbers of a paper, by the paper's name; of a quote, which is made otherwise,
`quote` does."""


def checks(record: dict, rule: str) -> list[dict]:
    return [check for check in record["checks"] if check["rule"] == rule]


def _steps(told: Reader, record: dict, plan) -> None:
    doors = {door.name: door for door in plan.site.doors}
    steps = {check["where"]: check["value"] for check in checks(record, "door-step")}
    said = rf"(?P<n>(?:\d+ steps? of )?{LENGTH})"
    for name, value in steps.items():

        def right(found, value=value):
            many = re.match(r"(\d+) steps? of ", found["n"])
            one = found["n"][many.end() :] if many else found["n"]
            return near(one, value / (int(many[1]) if many else 1))

        door = re.escape(name)
        assert name in doors
        told.fact(rf"From (?:the )?{door} you step down {said}", right, ("step", name))
        told.fact(rf"{door} {said}", right, ("step", name), least=2)

    def one_of(found):
        return any(near(found["n"], value) for value in steps.values())

    told.fact(rf"(?P<n>{LENGTH}) step\b", one_of)
    siding = [check["value"] for check in checks(record, "siding-clearance")]
    told.fact(rf"Your siding stays at least (?P<n>{LENGTH}) above the paving",
              lambda found: near(found["n"], min(siding)), "siding")  # fmt: skip


def _whole_job(told: Reader, record: dict) -> None:
    days, whole = record["cost"]["days"], record["answer"]["whole_job"]
    haul = record["cost"]["bases"]["chosen"]["haul"]
    loads = sum(haul[key]["count"] for key in _CARRIED)
    told.fact(
        rf"(?P<n>{COUNT}) days? of work, (?P<people>\d+) (?:people|person); eight such jobs in ten "
        rf"take (?P<low>{COUNT})(?: to (?P<high>{COUNT}))?",
        lambda f: (count(f["n"]), count(f["people"]), count(f["low"]), count(f["high"] or f["low"]))
        == (days["mean"], days["people"], days["low"], days["high"]),
        "days", least=1,
    )  # fmt: skip
    told.fact(r"(?P<n>\d+) bins? of soil", lambda f: int(f["n"]) == whole["bins"], "bins", least=1)
    told.fact(r"(?P<n>\d+) loads of soil", lambda f: int(f["n"]) == loads, least=1)
    areas = {area["name"]: area["plan_area"] for area in record["areas"]}
    for name, wide in areas.items():
        told.fact(rf"{re.escape(name)} (?P<n>{AREA})",
                  lambda f, wide=wide: near(f["n"], wide), ("paved", name), least=1)  # fmt: skip
    told.fact(rf"(?P<n>{AREA}) paved", lambda f: near(f["n"], sum(areas.values())), least=1)
    told.fact(r"Day (?P<n>\d+)", lambda f: int(f["n"]) <= math.ceil(days["mean"]))
    _deeper(told, record)


def _deeper(told: Reader, record: dict) -> None:
    """The table of deeper topsoil: each row is the first with what the JSON adds to it."""
    days, whole = record["cost"]["days"], record["answer"]["whole_job"]
    time = record["cost"]["bases"]["chosen"]["time"]["mean"]

    def halves(seconds):
        # Eight hours a day, told to half a day.
        return round(2 * seconds / 3600 / 8 / days["people"]) / 2

    row = rf"(?P<cut>{VOLUME}) (?P<bins>\d+) (?P<n>{COUNT})(?= |$)"
    depth = record["topsoil"]["reckoned"]

    def first(found):
        own = depth is None or near(found["depth"], depth)
        return (own and near(found["cut"], whole["cut"]) and int(found["bins"]) == whole["bins"]
                and count(found["n"]) == days["mean"])  # fmt: skip

    told.fact(rf"(?P<depth>{LENGTH})(?: to (?P<most>{LENGTH}))?, as planned {row}", first, "days",
              least=1)  # fmt: skip
    for each in record["topsoil"]["deeper"]:

        def right(found, each=each):
            if not near(found["depth"], each["more"]):
                return True  # another row
            cut = cubic(found["cut"]) - whole["cut"] - each["cut"]
            return (abs(cut) < 0.06 and int(found["bins"]) == whole["bins"] + each["bins"]
                    and count(found["n"]) == halves(time + each["time"]))  # fmt: skip

        told.fact(rf"(?P<depth>{LENGTH}) deeper {row}", right, least=1)
    deeper = [each["more"] for each in record["topsoil"]["deeper"]]
    told.fact(rf"With (?P<n>{LENGTH}) more we would advise",
              lambda f: any(near(f["n"], more) for more in deeper))  # fmt: skip


def _edges(told: Reader, record: dict) -> None:
    above = {area["name"]: area["edge"]["above"] for area in record["areas"]}
    below = {area["name"]: area["edge"]["below"] for area in record["areas"]}
    for check in checks(record, "lawn-shoulder"):
        assert check["value"] == pytest.approx(above[check["area"]], abs=1e-12)

    def of(values):
        return lambda found: any(near(found["n"], value) for value in values.values())

    unheld_edges(told, record)
    lone = len(above) == 1
    said = rf"(?P<n>{LENGTH}) above the lawn"
    for lead in ("at its highest its edge stands ", "holds an edge up to ", "Raised edge, up to "):
        told.fact(rf"(?i){lead}{said}", of(above), "edge" if lone else None)
    told.fact(rf"{said} at its highest", of(above), "edge" if lone else None)
    told.fact(rf"it lies (?P<n>{LENGTH}) below the ground", of(below), "sunk" if lone else None)
    told.fact(rf"lies (?P<n>{LENGTH}) below the ground", of(below), "sunk" if lone else None)
    told.fact(rf"(?P<n>{LENGTH}) below it at its lowest", of(below), "sunk" if lone else None)
    # Where the cut leaves the paving, and along a wall seen from the lawn, it stands no higher.
    most, least = max(above.values(), default=0.0), -max(below.values(), default=0.0)

    def between(found):
        return least - INCH / 16 <= metres(found["n"]) <= most + INCH / 16

    told.fact(said, between)
    told.fact(rf"(?P<n>{LENGTH}) below the lawn", lambda f: metres(f["n"]) <= -least + INCH / 16)
    start = told.text.find("seen from the lawn True scale")
    if start >= 0:
        end = told.text.index("What is under it, and why", start)
        for each in re.finditer(LENGTH, told.text[start:end]):
            told.seen.append((start + each.start(), start + each.end()))
            if not between({"n": each.group(0)}):
                told.wrong.append(f"higher than the edge is: {each.group(0)}")


def _water(told: Reader, record: dict, plan) -> None:
    falls = [wall for area in record["areas"] for wall in area["walls"]]

    def off_by(found):
        """How much more each fall is than is told, and the marks that it is told to."""
        over = {"10 ft": 10 * FOOT, "metre": 1.0}[found["over"]]
        mark = INCH / 8 if over > 1 else 1e-3
        return [(wall["fall_away"] * over - metres(found["n"])) / mark for wall in falls]

    # What is told as the least is never more than it is.
    rate = rf"(?P<n>{LENGTH}) per (?P<over>10 ft|metre)"
    told.fact(rf"at least {rate}", lambda f: any(-0.01 <= off < 1 for off in off_by(f)))
    told.fact(rf"only {rate}", lambda f: any(abs(off) <= 0.51 for off in off_by(f)))
    told.fact(rf"falls (?P<n>{LENGTH})(?: from the house to the edge)?, so water runs off",
              lambda found: _drop_at(found["n"], record, plan), "drop")  # fmt: skip
    wet = [area["water"]["joints"] for area in record["areas"] if area["water"]["joints"]]

    def soaks(words):
        values = [each["soaks_beside_foundation"] for each in wet]
        return any(near(words, value) for value in values)

    reach = rf"within (?P<reach>{LENGTH}) of the foundation"
    told.fact(rf"Of (?P<rain>{LENGTH}) of rain (?P<n>{VOLUME}) soaks in {reach}",
              lambda f: near(f["rain"], RAIN) and soaks(f["n"]), "soaks")  # fmt: skip
    told.fact(
        rf"Of (?P<rain>{LENGTH}) of rain there soaks in, {reach}", lambda f: near(f["rain"], RAIN)
    )
    told.fact(rf"(?P<n>{VOLUME}) under ", lambda f: soaks(f["n"]))
    ran = [area["water"]["run_on"]["area"] for area in record["areas"] if area["water"]["run_on"]]
    told.fact(rf"Water from (?P<n>{AREA}) of the ground around",
              lambda f: any(near(f["n"], value) for value in ran))  # fmt: skip
    told.fact(rf"outer edge (?P<n>{LENGTH})[.,]", lambda f: near(f["n"], RAIN))
    told.fact(r"a house (?P<n>\d+) years? old",
              lambda f: int(f["n"]) == plan.site.house.age, "age")  # fmt: skip
    told.fact(r"\bwall \d+\b", lambda f: any(wall["name"] == f.group(0) for wall in falls))
    gate = plan.site.access.gate
    told.fact(rf"your gate, (?P<n>{LENGTH}) wide", lambda f: near(f["n"], gate))


def _drop_at(words: str, record: dict, plan) -> bool:
    """Say whether the paving falls so much straight out from a door, or down an area's fall."""
    drops = []
    for area, found in zip(plan.areas, record["areas"], strict=True):
        planes = found["finish"]["planes"]
        points = shapely.get_coordinates(area.outline)
        down = [-np.array([plane["dzdx"], plane["dzdy"]]) for plane in planes]
        if len(planes) > 1:
            # Over a fold: no more than between its highest and its lowest place.
            levels = area.finish.surface.at(points)
            drops.append((0.0, float(np.ptp(levels))))
            continue
        drops.append((0.0, float(np.ptp(points @ down[0]))))
        for wall in found["walls"]:
            a, b = np.array(wall["from"]), np.array(wall["to"])
            out = np.array([(b - a)[1], -(b - a)[0]]) / np.hypot(*(b - a))
            for door in plan.site.doors:
                for way in (out, -out):
                    ray = shapely.LineString([door.at, np.asarray(door.at) + 100 * way])
                    long = ray.intersection(area.outline).length
                    drops += [(long * float(down[0] @ way),) * 2] if long > 0.1 else []
    exact = [low for low, high in drops if low == high]
    single = all(len(found["finish"]["planes"]) == 1 for found in record["areas"])
    if single and exact:
        return any(near(words, value) for value in exact)
    return any(low - INCH / 16 <= metres(words) <= high + INCH / 16 for low, high in drops)


def _under(told: Reader, record: dict) -> None:
    layers = [
        layer["thickness"]
        for area in record["areas"]
        for layer in area["bases"][area["base"]]["layers"]
    ]
    told.fact(rf"[A-Z][\w ]+, (?P<n>{LENGTH}) (?!on average|wide|long)",
              lambda f: any(near(f["n"], each) for each in layers))  # fmt: skip
    refills = [
        area["bases"][area["base"]]["fill"] / area["bases"][area["base"]]["fill_area"]
        for area in record["areas"]
        if area["bases"][area["base"]]["fill_area"]
    ]
    told.fact(rf"Stone fill, (?P<n>{LENGTH}) on average",
              lambda f: any(near(f["n"], each) for each in refills))  # fmt: skip
    deepest = [check["value"] for check in checks(record, "organics")]
    told.fact(rf"(?P<n>{LENGTH}) at the deepest", lambda f: metres(f["n"]) <= max(deepest) + INCH)


def _agreed(told: Reader, record: dict, plan) -> None:
    lines = [
        line["how"]
        for area in record["areas"]
        for line in area["bases"][area["base"]]["quantities"]["lines"]
    ]
    sizes = {frozenset(map(int, found)) for how in lines for found in
             re.findall(r"^(\d+) (?:in|mm) x (\d+) (?:in|mm)", how)}  # fmt: skip
    told.fact(r"(?P<n>(?P<a>\d+) × (?P<b>\d+) (?:in|mm))",
              lambda f: frozenset((int(f["a"]), int(f["b"]))) in sizes)  # fmt: skip
    joints = {found for how in lines for found in re.findall(rf"joints ({LENGTH}) wide", how)}
    told.fact(rf"joints (?P<n>{LENGTH}),", lambda f: f["n"] in joints)
    told.fact(r"page \d+ / \d+|on page 1", lambda f: True)


LONG = pytest.mark.long

CREW_TOML = sample_sites.path("flush-walk") / "crew.toml"
"""How a price is made, where a site itself does not say it."""

QUOTED = ["flush-walk", *(pytest.param(name, marks=LONG) for name in HOMES if name != "flush-walk")]


def assert_told_once(told, text):
    """Assert that all numbers of a paper are read, true, and told with one value."""
    assert not told.wrong
    assert not told.unread()
    assert not told.twice()
    assert not ONE_OF_MANY.search(text)


@pytest.mark.parametrize("name", QUOTED)
def test_every_number_of_a_quote_is_one_of_the_json(name, tmp_path):
    site = tmp_path / "site"
    shutil.copytree(HOMES[name], site)
    if not (site / "crew.toml").exists():
        shutil.copyfile(CREW_TOML, site / "crew.toml")
    plan = grading.plan(grading.read_site(site))
    price = price_of(plan)
    issue = issue_of(plan, None, None)
    write_quote(price, issue, tmp_path / "out", lambda _: None)
    told_by = {"price": price_record(price, issue.number, issue.iso)}
    record = json.loads(json.dumps(grading.record(plan) | told_by))
    text = text_of(tmp_path / "out" / "quote.pdf")
    strings = [*strings_in(record), plan.site.name, *excluded(plan)]

    def read(words):
        told = Reader(words)
        told.strings(strings)
        quote(told, record, plan)
        return told

    told = read(text)
    assert_told_once(told, text)
    # The reader looks: what is changed, or told twice, fails.
    for true, false in (
        (r"(Price in all \D+)[\d,]+", r"\g<1>1"), (r"(With the signature) \d+ %", r"\1 1 %"),
        (r"(under a straightedge)", r"1 in \1"), (r"\d+( ft²| m²) (?=\D{0,3}[\d,]+)", r"1\1 "),
    ):  # fmt: skip
        found = read(re.sub(true, false, text, count=1))
        assert found.wrong or found.unread() or found.twice(), true


def deeper(site: Path, home: Path) -> Path:
    """Copy a site, its topsoil three times as deep as is usual, beside a crew that makes prices."""
    shutil.copytree(site, home)
    file = home / "site.toml"
    text = file.read_text(encoding="utf-8")
    depth = "10 in" if "unit" in text and re.search(r'unit +?= "ft"', text) else "250 mm"
    changed = re.sub(r"(?m)^(organics *= *)\"[^\"]*\"", rf'\1"{depth}"', text, count=1)
    assert changed != text
    file.write_text(changed, encoding="utf-8")
    return home


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=() if name == "garden-court" else LONG) for name in HOMES],
)
@pytest.mark.parametrize("priced", [True, pytest.param(False, marks=LONG)])
def test_every_number_of_a_change_is_one_of_the_json(name, priced, tmp_path):
    homes = [tmp_path / "agreed", tmp_path / "found"]
    shutil.copytree(HOMES[name], homes[0])
    deeper(HOMES[name], homes[1])
    for home in homes:
        (home / "crew.toml").unlink(missing_ok=True)
        if priced:
            shutil.copyfile(CREW_TOML, home / "crew.toml")
    before, after = (grading.plan(grading.read_site(home)) for home in homes)
    found = compared(before, after)
    (file,) = write_change(found, tmp_path / "out", lambda _: None)
    record, *plans = (json.loads(json.dumps(each)) for each in (
        comparison_record(found), grading.record(before), grading.record(after)))  # fmt: skip
    last = price_of(before).payments[-1].amount if priced else None
    text = text_of(file)
    assert ("$" in text) is priced

    def read(words):
        told = Reader(words)
        told.strings([*strings_in([record, *plans]), before.site.name])
        told.strings(below_headline(found, after.site.unit, plain=True))
        change(told, record, *plans, last)
        return told

    told = read(text)
    assert_told_once(told, text)
    for true, false in (
        (r"(Soil dug, as it lies) \d", r"\1 9"), (r"(Bins of soil) \d", r"\1 7"),
        (r"[\d /]+ days of work", "11 days of work"), (r"(paver,) \d", r"\1 9"),
        *([(r"(it becomes \D+)\d", r"\g<1>0")] if priced else []),
    ):  # fmt: skip
        wrong = re.sub(true, false, text, count=1)
        assert wrong != text, true
        assert read(wrong).wrong, true


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """What makes a site's plan, its JSON and its papers' text, each site once."""

    @cache
    def make(name):
        plan = sampled(name)
        folder = tmp_path_factory.mktemp(name)
        record = json.loads(json.dumps(grading.record(plan)))

        @cache
        def text(paper):
            (file,) = write_sheets(plan, folder / paper, lambda _: None, [paper])
            return text_of(file)

        return plan, record, text

    return make


IN_SUITE = {
    "crew": ("raised-patio", "larch-lane"),
    "homeowner": ("raised-patio", "larch-lane", "garden-court", "side-walkway"),
}
"""Whose papers are read in the suite: blocks in feet, two areas in metres; a court, a walk."""

CASES = [
    pytest.param(
        name, paper, id=f"{name}-{paper}",
        marks=() if name in IN_SUITE.get(paper, ()) else LONG,
    )
    for name in HOMES for paper in PAPERS
]  # fmt: skip


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_every_number_is_one_of_the_json_and_nothing_is_told_with_two_values(made, name, paper):
    plan, record, text = made(name)
    told = Reader(text(paper))
    told.strings(strings_in(record))
    told.strings([plan.site.name, *(door.name for door in plan.site.doors), *not_counted(plan)])
    PAPERS[paper](told, record, plan)
    assert_told_once(told, text(paper))


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_a_paper_is_in_the_units_of_its_site(made, name, paper):
    plan, _, text = made(name)
    other = rf"\d {'mm' if plan.site.unit == 'ft' else 'in'}\b"
    other += r"|\d m\b|\d m[²³]|\d L\b" if plan.site.unit == "ft" else r"|\d ft|\d' \d|yd³|\d gal\b"
    assert not re.findall(other, text(paper))


def test_a_wrong_number_is_found(made):
    """The reader looks: a number of a paper that is changed, or that is told twice, fails."""
    plan, record, paper = made("raised-patio")

    def read(text, look=homeowner):
        told = Reader(text)
        told.strings(strings_in(record))
        told.strings([plan.site.name, *(door.name for door in plan.site.doors), *not_counted(plan)])
        look(told, record, plan)
        return told

    text = paper("homeowner")
    assert not read(text).wrong
    for true, false in (
        (r"(you step down) [\d /]+ in", r"\1 7 in"), (r"\d+ loads of soil", "193 loads of soil"),
        (r"\d+ ft² paved", "250 ft² paved"), (r"(edge stands) [\d /]+ in", r"\1 12 3/4 in"),
        (r"[\d /]+ days of work", "9 days of work"), (r"\d bins of soil", "3 bins of soil"),
        (r"(Stone chips,) \d in", r"\1 2 in"),
    ):  # fmt: skip
        changed = re.sub(true, false, text)
        assert changed != text, true
        assert read(changed).wrong, false
    assert read(text + " It weighs 44 tons.").unread()
    rods = paper("crew")
    for true, false in (
        (r"(a H1 15' 7) 13/16", r"\1 5/16"), (r"(all tasks )[\d.]+", r"\g<1>99.9"),
        (r"(Diagonals: a-c) 22'", r"\1 23'"), (r"(b 0' 0\", 0' 0\" 4') 9", r"\1 8"),
        (r"(pavers) \d+ (layers)", r"\1 99 \2"), (r"(soil out [^,]+, [\d.]+ tons) \d+", r"\1 7"),
        (r"(open-graded base 10 in 3 of 3) 5/16", r"\1 7/16"),
    ):  # fmt: skip
        changed = re.sub(true, false, rods, count=1)
        assert changed != rods, true
        assert read(changed, crew).wrong, false
