"""Quantities of simple yards against sums done by hand, and the crew's own figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from make.plans.jobs import DEPTHS, crew, level_yard, line, patio, supply, worked

from grading.crew.model import FILE, OWN, default_crew
from grading.crew.reading import crew_of, find_crew, read_crew
from grading.errors import SiteError
from grading.order.edge_lines import spikes
from grading.order.model import order_of
from grading.order.supplies import rounded_up
from grading.order.takeoff import fabric_over
from grading.units import (
    CUBIC_YARD,
    FOOT,
    INCH,
    POUND,
    SHORT_TON,
    SQUARE_FOOT,
    TONNE,
    UnitError,
)

OVER_DIG = 21 * 14.5  # ft2: 20 x 14 and 6 in on three sides


def test_volumes_are_those_of_the_dig():
    """No line of stone has a volume of its own: lifts and bedding add up to the dig's layers."""
    for job in worked().areas[0].bases.values():
        dig = job.jobs[0].dig
        stone = [line for _, line in job.lines if line.compacted and line.item]
        layers = [part for part in dig.layers if part.layer.role in ("base", "bedding")]
        total = sum(part.volume for part in layers) + dig.fill
        assert sum(line.compacted for line in stone) == pytest.approx(total, rel=1e-12)


def test_base_by_lift():
    """6 in in lifts of at most 4 in: two of 3 in over 304.5 ft2, 2.82 yd3 each."""
    lifts = [found for _, found in patio(worked()).lines if "lift" in found.title]
    assert [lift.title for lift in lifts] == [
        "dense-graded base, lift 1 of 2", "dense-graded base, lift 2 of 2",
    ]  # fmt: skip
    for lift in lifts:
        assert lift.compacted / CUBIC_YARD == pytest.approx(OVER_DIG / 4 / 27, rel=1e-9)
        assert lift.how.startswith("3 in compacted over 304.5 ft²")


def test_order_of_dense_base():
    """304.5 ft2 x 6 in = 5.64 yd3 at 1.85 ton/yd3 = 10.43 ton; 7 % more 11.16; sold by 1/2 ton;
    loose at 1.40 ton/yd3 7.97 yd3, sold by 1/2 yd3."""
    base = supply(patio(worked()), "dense-graded")
    assert base.net / SHORT_TON == pytest.approx(10.43, abs=0.005)
    assert base.amount / SHORT_TON == pytest.approx(11.16, abs=0.005)
    assert (base.count, base.package.word) == (11.5, "ton")
    assert base.loose / CUBIC_YARD == pytest.approx(7.97, abs=0.005)
    assert base.loose_order / CUBIC_YARD == pytest.approx(8.0)
    assert base.cost == pytest.approx(11.5 * 32)


def test_metric_sites_order_tonnes():
    crews = default_crew()
    order = order_of(level_yard(), crews)
    from grading.order.supplies import package_of

    package = package_of("dense-graded", crews, "m")
    assert (package.word, package.size, package.step) == ("tonne", TONNE, TONNE / 2)
    assert order.total.supplies


def test_refill_where_organics_went_deeper():
    """7 in of organics under 3 5/8 in of panel build-up: 3 3/8 in of stone over the whole hole."""
    order = order_of(level_yard(organics=7 * INCH, bases=DEPTHS), default_crew())
    job = patio(order, "panel")
    refill = line(job, "refill below the build-up")
    assert refill.compacted / CUBIC_YARD == pytest.approx(OVER_DIG * 3.375 / 12 / 27, rel=1e-6)
    assert refill.item == "dense-graded"
    assert "because organics went deeper" in refill.how
    # Under 9 7/8 in and 9 3/8 in nothing is refilled.
    for base in ("dense", "open"):
        assert all("refill" not in found.title for _, found in patio(order, base).lines)


def test_refill_is_of_the_base_s_own_stone():
    order = order_of(level_yard(organics=14 * INCH), default_crew())
    assert line(patio(order, "open"), "refill below the build-up").item == "open-graded"
    assert line(patio(order, "dense"), "refill below the build-up").item == "dense-graded"


def test_free_edge_spikes_and_screws():
    """Three free sides of 20 x 14 ft are 48 ft, less what the wall holds of two corners; 8 ft
    pieces: 6, so 5 joints; 48 spikes, 2 at the ends, 15 at the joints."""
    job = patio(worked())
    edge = line(job, "edge restraint")
    assert edge.net / FOOT == pytest.approx(48, abs=0.4)
    assert supply(job, "edging").count == math.ceil(edge.net * 1.05 / (8 * FOOT))
    assert line(job, "spikes").net == 48 + 2 + 15
    on_panels = patio(worked(), "panel")
    assert line(on_panels, "panel screws").net == 49
    assert all(found.title != "spikes" for _, found in on_panels.lines)


def test_spikes_of_a_ring_have_a_joint_more_and_no_ends():
    run = 16 * FOOT
    assert spikes(((run, False),), 8 * FOOT, default_crew()) == 16 + 3 + 2
    assert spikes(((run, True),), 8 * FOOT, default_crew()) == 16 + 6
    assert spikes(((run, False), (run, False)), 8 * FOOT, default_crew()) == 2 * 21


def test_clean_stone_is_warned_of():
    order = order_of(level_yard(edge="spiked edge"), default_crew())
    assert "do not hold in clean stone" in line(patio(order, "open"), "spikes").how
    assert line(patio(worked(), "open"), "spikes").how.endswith("shoulder of dense-graded base")


def test_lawn_repair_and_backfill():
    """The ring beside the paving: 24.5 ft2; soil put back over the base, 3 3/8 in deep."""
    job = patio(worked())
    assert line(job, "lawn repair").net / SQUARE_FOOT == pytest.approx(24.5)
    soil = line(job, "backfill of the edge")
    assert soil.compacted / CUBIC_YARD == pytest.approx(24.5 * 3.375 / 12 / 27, rel=1e-9)
    assert soil.item == ""
    assert all(found.item for found in job.supplies)


def test_geotextile_in_strips():
    """A roll 6 ft wide with 1 ft laps over 21 x 14.5 ft: 3 strips reach 16 ft, each 21 ft long."""
    hole, paving = shapely.box(0, 0, 21, 14.5), shapely.box(0.5, 0, 20.5, 14)
    fabric = fabric_over(hole, paving, 0.0, 6.0, 1.0)
    assert fabric.strips == pytest.approx([21, 21, 21])
    assert fabric.covered == pytest.approx(304.5)
    # 6 in up every side: 22 ft long, and 15.5 ft is just within three strips.
    up = fabric_over(hole, paving, 0.5, 6.0, 1.0)
    assert up.strips == pytest.approx([22, 22, 22])
    one = fabric_over(shapely.box(0, 0, 30, 4), paving, 0.0, 6.0, 1.0)
    assert one.strips == pytest.approx([30])


@pytest.mark.parametrize(
    ("soil", "base", "wanted"),
    [("clay", "dense", True), ("loam", "dense", False), ("loam", "open", True),
     ("sand", "panel", True)],
)  # fmt: skip
def test_where_geotextile_goes(soil, base, wanted):
    job = patio(order_of(level_yard(soil=soil), default_crew()), base)
    assert (job.jobs[0].fabric is not None) == wanted
    if base == "open":
        assert job.jobs[0].fabric.up == pytest.approx(6 * INCH)


def test_soldier_course_is_counted_by_the_piece():
    pavers = {"soldier": [2, 3, 4]}
    job = patio(order_of(level_yard(pavers=pavers), default_crew()))
    soldier = line(job, "pavers, soldier course")
    layout = job.jobs[0].pavers
    assert layout.soldier_pieces == pytest.approx(48 * 12 / 4.125, abs=4)
    assert soldier.amount == pytest.approx(1.02 * layout.soldier_pieces * layout.unit_area)
    assert supply(job, "pavers").amount > soldier.amount


def test_the_built_in_panel_is_a_placeholder_of_round_figures():
    """Whole feet, a whole pound or two, a plain grey; and said to be a placeholder."""
    from viz.look.materials import material
    from viz.paper.hatch import TONES

    figures = default_crew().materials
    for name in ("panel-length", "panel-width", "panel-mass"):
        assert "placeholder" in figures[name].source
        assert "crew.toml" in figures[name].source
    for name in ("panel-length", "panel-width"):
        feet = figures[name].likely / FOOT
        assert feet == pytest.approx(round(feet))
    pounds = figures["panel-mass"].likely / POUND
    assert pounds == pytest.approx(round(pounds))
    look, tone = material("panel"), TONES["panel"]
    for colour in (look.colour, *look.grains, tone.ground, *tone.marks, tone.line):
        assert colour[1:3] == colour[3:5] == colour[5:7]


def test_how_each_was_reached_is_told():
    for job in worked().areas[0].bases.values():
        for _, found in job.lines:
            assert len(found.how) > 15
            assert found.amount >= found.net >= 0 or found.item == "panels"


@pytest.mark.parametrize(
    ("amount", "step", "expected"),
    [(10.01, 0.5, 10.5), (10.5, 0.5, 10.5), (3 * 0.1, 0.1, 0.3), (0.0, 1.0, 0.0), (1.2, 1, 2)],
)
def test_rounded_up_as_it_is_sold(amount, step, expected):
    assert rounded_up(amount, step) == pytest.approx(expected)


def test_crew_figures_replace_those_built_in():
    own = crew(
        materials={"bin-mass": "12 ton", "dense-graded-waste": 10},
        rates={"screed": ["80 ft2/h", "110 ft2/h", "150 ft2/h"], "joint": 120},
        prices={"panels": 24, "dense-graded": "41 /tonne"},
    )
    assert own["bin-mass"] == pytest.approx(12 * SHORT_TON)
    assert own["dense-graded-waste"] == pytest.approx(0.10)
    assert own.price("panels") == 24
    assert own.price("dense-graded") == pytest.approx(41 / TONNE)
    assert own.rates["joint"].values == pytest.approx([3600 / (120 * SQUARE_FOOT)] * 3)
    assert own.rates["screed"].values[0] == pytest.approx(3600 / (150 * SQUARE_FOOT))
    assert own.rates["screed"].source == OWN
    assert default_crew().rates["screed"].source != OWN


@pytest.mark.parametrize(
    ("written", "key", "said"),
    [
        ({"prices": {"panel": 20}}, "prices.panel", "Did you mean `panels`?"),
        ({"rates": {"screeds": 90}}, "rates.screeds", "Did you mean `screed`?"),
        ({"price": {"panels": 20}}, "price.panels", "Did you mean `[prices]`?"),
        ({"price": 3}, "price", "a table"),
        ({"materials": {"bin-mass": "10 t"}}, "materials.bin-mass", '"tonne" is 1000 kg'),
        ({"materials": {"bin-mass": "10 yd3"}}, "materials.bin-mass", "of the same kind"),
        ({"materials": {"bin-mass": 0}}, "materials.bin-mass", "more than zero"),
        ({"prices": {"panels": -1}}, "prices.panels", "zero or more"),
        ({"prices": {"panels": "many"}}, "prices.panels", "a number and a unit"),
        ({"prices": {"panels": [1, 2, 3]}}, "prices.panels", "one figure"),
        ({"rates": {"screed": [90, 60, 120]}}, "rates.screed", "in this order"),
        ({"rates": {"screed": [90, 120]}}, "rates.screed", "low, likely and high"),
        ({"rates": {"screed": 0}}, "rates.screed", "more than zero"),
        ({"materials": {"panel-width": "1 mm"}}, "materials.panel-width", "at least 1 in"),
        ({"materials": {"dense-graded-lift": "0.1 mm"}}, "materials.dense-graded-lift", "1 in"),
        ({"prices": 3}, "prices", r"a table [prices]"),
        ({"currency": ""}, "currency", "a sign such as"),
        ({"unit": "inch"}, "unit", '"ft" or "m"'),
        ({"pavers": {"patern": "stack"}}, "pavers", "Did you mean `pattern`?"),
    ],
)
def test_wrong_figures_are_told_with_key_and_mend(written, key, said):
    with pytest.raises(SiteError) as error:
        crew_of(written, "ft")
    assert f"{FILE}, key {key}" in str(error.value)
    assert said in str(error.value)


def test_everything_wrong_is_told_at_once():
    with pytest.raises(SiteError) as error:
        crew_of({"prices": {"panel": 20}, "rates": {"joint": "5 ft"}, "unit": 3}, "ft")
    assert len(error.value.problems) == 3


def test_one_file_for_all_the_sites_of_a_folder(tmp_path):
    site, other = tmp_path / "one", tmp_path / "two"
    site.mkdir()
    other.mkdir()
    assert find_crew(site) is None
    assert read_crew(site, "ft").file == ""
    (tmp_path / FILE).write_text('currency = "CHF"\n[prices]\npanels = 30\n', encoding="utf-8")
    for folder in (site, other):
        assert read_crew(folder, "ft").price("panels") == 30
        assert read_crew(folder, "ft").currency == "CHF"
    (other / FILE).write_text("[prices]\npanels = 31\n", encoding="utf-8")
    assert read_crew(other, "ft").price("panels") == 31
    assert read_crew(site, "ft").price("panels") == 30


def test_a_broken_crew_file_is_told_with_its_line(tmp_path):
    (tmp_path / FILE).write_text("[prices]\npanels = = 3\n", encoding="utf-8")
    with pytest.raises(SiteError, match=r"crew\.toml, line 2"):
        read_crew(tmp_path, "ft")


def test_every_figure_has_a_source_and_an_order():
    for entry in default_crew().entries():
        assert entry.source
        assert entry.title
        low, likely, high = entry.values
        assert 0 <= low <= likely <= high
        if entry.book == "rates":
            assert low < high


@pytest.mark.parametrize(
    ("text", "value", "dimension"),
    [
        ("1.4 ton/yd3", 1.4 * SHORT_TON / CUBIC_YARD, "kg/m3"),
        ("100 ft2/h", 36 / SQUARE_FOOT, "s/m2"),
        ("1.3 h/m3", 1.3 * 3600, "s/m3"),
        ("$38 /ton", 38 / SHORT_TON, "money/kg"),
        ("5 %", 0.05, "ratio"),
        ("50 lb", 50 * POUND, "kg"),
        ("1/2 ton", SHORT_TON / 2, "kg"),
        ("3 1/2 in", 3.5 * INCH, "m"),
        ("165 ft/min", 60 / (165 * FOOT), "s/m"),
    ],
)
def test_measures(text, value, dimension):
    from grading.units.measures import read_measure

    found, kind = read_measure(text)
    assert found == pytest.approx(value, rel=1e-12)
    assert kind == dimension


@pytest.mark.parametrize("text", ["", "5", "ton", "5 stone", "1 / 2 / 3", "5 t/yd3", "0 ft2/h"])
def test_measures_that_are_none(text):
    from grading.units.measures import read_measure

    with pytest.raises(UnitError):
        read_measure(text)


def test_what_a_tape_does_not_tell_buys_no_piece_more():
    """A yard that is turned, and measured to hundredths, is some millimetres longer or shorter."""
    crew, run, off = default_crew(), 16 * FOOT, INCH / 8
    exact = spikes(((run, False),), 8 * FOOT, crew)
    assert spikes(((run + off, False),), 8 * FOOT, crew) == exact
    assert spikes(((run - off, False),), 8 * FOOT, crew) == exact
    assert spikes(((run + 1.0 * INCH, False),), 8 * FOOT, crew) == exact + 1 + 3
    angle = math.radians(37)
    spin = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])

    def written(shape):
        return shapely.transform(shape, lambda xy: np.round(xy @ spin.T, 3))

    hole = shapely.box(0, 0, 30, 6)
    for turned in (hole, written(hole)):
        assert len(fabric_over(turned, turned, 0.0, 6.0, 1.0).strips) == 1
