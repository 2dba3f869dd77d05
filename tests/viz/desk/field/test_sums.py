"""The sums that the page does by itself are those of the set-out, figure for figure."""

import random
from itertools import product

import numpy as np
import pytest
from drive.browser import needs_browser
from drive.trenched import sums
from make.plans.sampled import sampled

from grading.asbuilt.model import as_built
from grading.asbuilt.shots import BuiltShots
from grading.asbuilt.words import off_words
from grading.records.stakes import stakes_record
from grading.setout.instrument import Instrument, rod_words, rounding_of
from grading.setout.model import set_out
from grading.units import FOOT, INCH, length, size
from grading.units.rods import ROD_UNITS, read_rod
from viz.desk.field.trench import built_layers, trench

pytestmark = needs_browser

NAMES = ("back-patio", "garden-court", "booked-yard")


@pytest.fixture(scope="module")
def run():
    with sums() as runs:
        yield runs


@pytest.fixture(scope="module", params=NAMES)
def plan(request):
    return sampled(request.param)


def step_of(marks):
    return rounding_of(None, "ft" if marks in ("ft-in", "ft") else "m")


def some_readings(marks, count, seed):
    """Return readings as they are tapped, on a rod of these marks."""
    draw = random.Random(seed)
    for _ in range(count):
        if marks == "ft-in":
            part = draw.randrange(16)
            fraction = f" {part}/16" if part else ""
            yield f"{draw.randrange(2, 9)}' {draw.randrange(12)}{fraction}\""
        else:
            decimals = {"ft": 2, "m": 3, "cm": 1, "mm": 0}[marks]
            most = {"ft": 9.0, "m": 3.0, "cm": 300.0, "mm": 3000.0}[marks]
            yield f"{draw.uniform(most / 4, most):.{decimals}f}"


def test_every_rod_of_every_stake_and_every_mark_is_that_of_the_set_out(plan, run):
    data = trench(plan)
    asked, wanted = [], []
    for marks in ROD_UNITS:
        for number, reading in enumerate(some_readings(marks, 12, seed=marks)):
            benchmark = data["benchmarks"][number % len(data["benchmarks"])]
            sight = Instrument(
                benchmark["name"], benchmark["z"], float(read_rod(reading, marks)), 99.0
            )
            asked.append({"z": benchmark["z"], "reading": reading, "marks": marks})
            wanted.append(
                [rod_words(sight.at(layer.z), marks, step_of(marks))
                 for each in set_out(plan, sight).areas for stake in each.stakes
                 for layer in reversed(stake.layers)]
            )  # fmt: skip
    found = run(
        """({data, asked}) => asked.map((setup) => data.areas.flatMap((area) =>
             area.stakes.flatMap((stake) => area.layers.filter((l) => l.name in stake.z).map((l) =>
               rodText(data, rodAt(sightOf(data, setup), stake.z[l.name]), setup.marks)))))""",
        {"data": data, "asked": asked},
    )
    assert found == wanted
    assert len(wanted) == 12 * len(ROD_UNITS)


def test_rods_on_the_rod_of_the_site_are_those_that_the_command_prints(plan, run):
    data = trench(plan)
    benchmark, marks = data["benchmarks"][0], data["rod"]
    reading = next(some_readings(marks, 1, seed=3))
    sight = Instrument(benchmark["name"], benchmark["z"], float(read_rod(reading, marks)), 99.0)
    told = stakes_record(set_out(plan, sight), marks, rounding_of(None, plan.site.unit))
    wanted = {
        (area["name"], stake["name"], layer["name"]): layer["rod_text"]
        for area in told["areas"] for stake in area["stakes"] for layer in stake["layers"]
    }  # fmt: skip
    found = run(
        """({data, setup}) => data.areas.flatMap((area) => area.stakes.flatMap((stake) =>
             Object.entries(stake.z).map(([layer, z]) => [area.name, stake.name, layer,
               rodText(data, rodAt(sightOf(data, setup), z), setup.marks)])))""",
        {"data": data, "setup": {"z": benchmark["z"], "reading": reading, "marks": marks}},
    )
    assert {tuple(key): rod for *key, rod in found} == wanted


def test_lengths_are_written_as_the_units_write_them(run):
    plans = {"ft": "back-patio", "m": "garden-court"}
    draw = random.Random(5)
    metres = [draw.uniform(-2.0, 40.0) for _ in range(1500)]
    # What lies at a half is where two ways of rounding part.
    metres += [k * INCH / 32 for k in range(-70, 900, 7)]
    metres += [sign * (k + 0.5) / 1000 for k in range(0, 4000, 13) for sign in (1, -1)]
    for unit, name in plans.items():
        data = trench(sampled(name))
        found = run(
            "({data, metres}) => metres.map((z) => [sizeText(data, z), levelText(data, z)])",
            {"data": data, "metres": metres},
        )
        assert found == [[size(z, unit), length(z, unit)] for z in metres]


def test_a_half_is_rounded_on_a_decimal_rod_as_python_rounds_it(plan, run):
    """On a rod in hundredths of a foot every eighth of a foot is read at a half."""
    data = trench(plan)
    metres = [k / 8 * FOOT for k in range(-16, 120)] + [k / 16 for k in range(-20, 60)]
    for marks in ROD_UNITS:
        found = run(
            "({data, metres, marks}) => metres.map((z) => rodText(data, z, marks))",
            {"data": data, "metres": metres, "marks": marks},
        )
        assert found == [rod_words(z, marks, step_of(marks)) for z in metres]


TYPED = {
    "ft-in": [
        "4' 3 1/8\"", "4 3.5", "4 3 1/8", "51 1/8 in", "51 1/8\"", "4'", "4' 0\"", "4 0", "4-3 1/8",
        "0' 11 15/16\"", "4 ft 3 in", "4'3\"", "4' 3/8\"", "4", "4.26", "4 13", "4' 12\"", "-4 2",
        "4 3 8/8", "4 3 1/0", "", "abc", "4 3 1/8 1/8", "4 3 9/8", "3 7/8 in", "4' 3 1/8 ft",
        "44 1",
        "4′ 3 1/8″", "4’ 3”", "4 3 ¼", "1e1 2", "4 3 1/64", "4 2.3",
    ],
    "ft": ["4.26", "4.", ".5", "4", "4,26", "-1", "4.26 ft", "1e9", ""],
    "m": ["1.298", "1,298", "1.2.3", "0", "12"],
    "mm": ["1298", "1298.5", "x"],
}  # fmt: skip


def test_what_the_page_takes_for_a_reading_is_one_and_the_same(run, plan):
    """It may refuse more than the reader does, and reads nothing in another way."""
    data = trench(plan)
    taken = 0
    for marks, texts in TYPED.items():
        found = run(
            """({data, texts, marks}) =>
                 texts.map((text) => readRod(data, text, marks)?.metres ?? null)""",
            {"data": data, "texts": texts, "marks": marks},
        )
        for text, metres in zip(texts, found, strict=True):
            if metres is not None:
                assert metres == pytest.approx(float(read_rod(text, marks)), abs=1e-12), text
                taken += 1
    assert taken >= 22
    ways = (f"{feet} {inches}{part}" for feet, inches, part in
            product(range(0, 26, 5), range(12), ("", " 1/16", " 1/2", ".5")))  # fmt: skip
    texts = list(ways)
    found = run(
        "({data, texts}) => texts.map((text) => readRod(data, text, 'ft-in').metres)",
        {"data": data, "texts": texts},
    )
    assert found == pytest.approx([float(read_rod(text, "ft-in")) for text in texts], abs=1e-12)


def test_a_reading_is_booked_as_a_level_book_has_it(run, plan):
    data = trench(plan)
    texts = ["4' 3 1/8\"", "4' 3/8\"", "51 1/8 in", "4 2.3", "4'", "4 3 1/64"]
    booked = run(
        "({data, texts}) => texts.map((text) => bookText(data, text, 'ft-in'))",
        {"data": data, "texts": texts},
    )
    assert booked[:3] == ["4 3 1/8", "4 0 3/8", "4 3 1/8"]
    for text, book in zip(texts, booked, strict=True):
        # The book holds no mark of feet or inches, which messages turn into other signs.
        assert not set("'\"") & set(book)
        assert float(read_rod(book, "ft-in")) == pytest.approx(
            float(read_rod(text, "ft-in")), abs=1e-12
        )


def test_a_shot_stands_as_it_does_when_it_is_verified(plan, run):
    """Random shots and those at the very tolerance, held on the page and by `as_built`."""
    data, found = trench(plan), set_out(plan)
    draw = random.Random(8)
    for each, told in zip(found.areas, data["areas"], strict=True):
        stakes = [stake for stake in each.stakes if stake.layers]
        for name, kind in built_layers(each).items():
            layer = next(layer for layer in told["layers"] if layer["name"] == name)
            tolerance = layer["tolerance"]
            assert tolerance == plan.limits[f"built-{kind}"]
            offs = [draw.choice([draw.uniform(-0.3, 0.3), draw.uniform(-1.5, 1.5) * tolerance,
                                 tolerance, -tolerance, 0.0]) for _ in stakes]  # fmt: skip
            wanted = [stake.layer(name).z for stake in stakes]
            height = max(wanted) + 1.5
            shots = [z + off for z, off in zip(wanted, offs, strict=True)]
            page = run(
                """({data, layer, rows, height}) => rows.map(([z, read]) => {
                     const found = judged(data, layer, z, height, read);
                     return [found.z, found.standing, offText(data, found.off),
                             verdictOf(data, layer, found)];
                   })""",
                {"data": data, "layer": layer, "height": height,
                 "rows": [[z, height - shot] for z, shot in zip(wanted, shots, strict=True)]},
            )  # fmt: skip
            built = BuiltShots(
                names=tuple(stake.name for stake in stakes), areas=("",) * len(stakes),
                xyz=np.array(
                    [[*stake.at, told[0]] for stake, told in zip(stakes, page, strict=True)]
                ),
                rods=np.zeros(len(stakes)), notes=("",) * len(stakes),
                photos=("",) * len(stakes), lines=tuple(range(len(stakes))), file="shots",
            )  # fmt: skip
            held = {shot.name: shot for shot in as_built(plan, each.area, built, kind).shots}
            for stake, off, (_, standing, words, verdict) in zip(stakes, offs, page, strict=True):
                shot = held[stake.name]
                assert words == off_words(shot, plan.site.unit)
                if abs(off) >= plan.limits["built-again"]:
                    assert (standing, verdict["sign"]) == ("again", "?")
                    assert shot.status == "fail"
                elif shot.status == "pass":
                    assert (standing, verdict["sign"]) == ("leave", "●")
                else:
                    assert (standing, verdict["sign"]) == (
                        ("high", "▲") if off > 0 else ("low", "▼")
                    )
                    assert verdict["words"] == layer["beyond"][standing]
