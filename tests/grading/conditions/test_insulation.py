"""What panels keep warm is weighed as a reason for them: an estimate, with its edge effect."""

import re
import tomllib
from importlib.resources import files

import pytest
from make.plans.advised import advised, patio, rules

from grading.site.model import GroundSpec
from grading.units import DAY, FAHRENHEIT

FROST = {"index": "1500 F-days"}
CLAY = GroundSpec(soil="clay")


def reason(advice, rule="panel-insulates"):
    panel = advice.area("patio").base.of("panel")
    return next((one for one in panel.reasons if one.rule == rule), None)


def test_insulation_is_a_reason_for_panels_told_as_an_estimate():
    """Common practice, no source: a panel slows frost, and within its reach of an edge it does not.

    The numbers are those of the table of frost.
    """
    advice = advised([patio(base=None)], frost=FROST, ground=CLAY)
    said = reason(advice)
    assert said.level == "for"
    depths = {one.base: one for one in advice.frost}
    own, stone = depths["panel"].in_subgrade, depths["dense"].in_subgrade
    assert depths["open"].in_subgrade < stone
    assert f"frost goes {1000 * own:.0f} mm into the clay under it" in said.text
    assert f"and {1000 * stone:.0f} mm under dense-graded base" in said.text
    assert f"over {100 * depths['panel'].inner:.0f} % of the area" in said.text
    assert "by estimate" in said.text
    assert "No promise" in said.text
    assert "It is no promise that nothing heaves" in said.plain
    assert said.standing == "common practice"


def test_it_counts_as_one_reason_more():
    without, with_it = (
        advised([patio(base=None)], frost=frost, ground=CLAY).area("patio").base.of("panel")
        for frost in (None, FROST)
    )
    assert with_it.count("for") == without.count("for") + 1
    assert with_it.rank < without.rank
    assert "panel-insulates" in without.unknown


def test_what_is_told_is_what_slices_of_a_millimetre_freeze():
    """An outside route: the winter spent slice by slice, latent heat over the resistance above."""
    table = tomllib.loads(
        files("grading.conditions").joinpath("thermal.toml").read_text(encoding="utf-8")
    )
    winter = 1500 * FAHRENHEIT * DAY
    advice = advised([patio(base=None)], frost={**FROST, "surface": 1.0}, ground=CLAY)
    layers = {
        "panel": [("paver", 0.060325), ("panel", 0.01905), ("bedding sand", 0.0254)],
        "dense": [("paver", 0.060325), ("bedding sand", 0.0254), ("dense-graded", 0.1524)],
    }
    found = {}
    for base, stack in layers.items():
        spent = resistance = depth = 0.0
        below = 0.0
        for name, thick in [*stack, ("soil clay", 9.0)]:
            entry = table[name]
            k = sum(entry["conductivity"]) / 2
            latent = 144 * 2326.0 * entry["density"] * entry["water"]  # Btu/lb in J/kg
            gone, step = 0.0, 1e-4
            while gone < thick and spent < winter:
                spent += latent * step * (resistance + step / k / 2)
                resistance += step / k
                gone += step
            depth += gone
            below = gone
        found[base] = below
    told = [float(each) for each in re.findall(r"(\d+) mm", reason(advice).text)]
    assert told == pytest.approx([1000 * found["panel"], 1000 * found["dense"]], abs=3)


@pytest.mark.parametrize("soil", ["gravel", "sand"])
def test_ground_that_does_not_heave_asks_for_no_insulation(soil):
    """Common practice, no source: heave takes silt or clay, water and frost."""
    assert reason(advised(frost=FROST, ground=GroundSpec(soil=soil))) is None


def test_a_walk_that_is_all_edge_has_it_as_a_care_and_not_as_a_reason():
    """Common practice, no source: the cold comes in from the side."""
    walk = patio(use="walkway", outline=[[1, 2], [9, 2], [9, 3.2], [1, 3.2]])
    said = rules(advised([walk], frost=FROST, ground=CLAY), "panel")
    assert "panel-all-edge" in said
    assert "panel-insulates" not in said


def test_half_the_area_kept_is_the_line_and_a_site_may_draw_it_elsewhere():
    assert reason(advised(frost=FROST, ground=CLAY, limits={"insulated-share": 0.9})) is None
    assert reason(advised(frost=FROST, ground=CLAY, limits={"frost-spared-share": 0.6})) is None
    deep = {"index": "6000 F-days"}
    assert reason(advised(frost=deep, ground=CLAY)) is None
    assert reason(advised(frost=deep, ground=CLAY, limits={"insulated-share": 0.2,
                                                           "frost-spared-share": 0.1}))  # fmt: skip


def test_a_panel_over_stone_of_its_own_is_beside_stone_without_one():
    both = {
        "name": "hybrid",
        "layers": [
            {"name": "paver", "thickness": 0.06},
            {"name": "panel", "thickness": 0.02},
            {"name": "open-graded base", "thickness": 0.15},
        ],
    }
    advice = advised([patio(base=None)], frost=FROST, ground=CLAY, bases=[both])
    assert "under dense-graded base" in reason(advice).text
    assert "panel-insulates" in rules(advice, "hybrid")
