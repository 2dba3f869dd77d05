from math import inf, sqrt

import numpy as np
import pytest
from make.plans.advised import advised, patio

from grading.catalogue.bases import base_systems
from grading.conditions.frost import (
    CAUTION,
    Stratum,
    berggren_factor,
    modified_berggren,
    stefan,
    strata_of,
    stratum,
)
from grading.units import DAY, FAHRENHEIT

SOIL = Stratum("soil", inf, 1600, 0.2, 1.8)
WINTER = 1500 * FAHRENHEIT * DAY


def test_in_one_material_stefan_is_a_square_root():
    assert stefan([SOIL], WINTER) == pytest.approx(sqrt(2 * 1.8 * WINTER / SOIL.latent))
    assert stefan([SOIL], 4 * WINTER) == pytest.approx(2 * stefan([SOIL], WINTER))


def test_a_layer_cut_in_two_is_the_same_layer():
    base = Stratum("base", 0.3, 2100, 0.06, 1.8)
    halves = [Stratum("base", 0.15, 2100, 0.06, 1.8)] * 2
    assert stefan([base, SOIL], WINTER) == pytest.approx(stefan([*halves, SOIL], WINTER))
    whole = modified_berggren([base, SOIL], WINTER, 120 * DAY, 6.0)
    assert whole == pytest.approx(modified_berggren([*halves, SOIL], WINTER, 120 * DAY, 6.0))


@pytest.mark.parametrize("system", base_systems(()).values(), ids=lambda one: one.name)
@pytest.mark.parametrize("index", [20, 200, 1500, 4000])
def test_the_depth_takes_what_the_winter_gives(system, index):
    strata = strata_of(system, "clay")
    winter = index * FAHRENHEIT * DAY
    depth = stefan(strata, winter)
    # The integral over the depth of latent heat times the thermal resistance above, step by step:
    # the middle of a step has the resistance of those over it and half its own.
    steps = np.linspace(0, depth, 40_001)
    bottoms = np.cumsum([one.thickness for one in strata])
    here = np.searchsorted(bottoms, (steps[1:] + steps[:-1]) / 2)
    latent = np.array([one.latent for one in strata])[here]
    own = np.diff(steps) / np.array([one.conductivity for one in strata])[here]
    spent = (latent * np.diff(steps) * (np.cumsum(own) - own / 2)).sum()
    assert spent == pytest.approx(winter, rel=1e-3)


def test_an_insulation_without_water_takes_its_resistance_off():
    # R x + x2 / 2 k = I / L, and the insulation itself is passed for nothing.
    panel = Stratum("panel", 0.02, 45, 0.0, 0.04)
    bare = stefan([SOIL], WINTER)
    below = stefan([panel, SOIL], WINTER) - 0.02
    assert 0.5 * below + below**2 / (2 * 1.8) == pytest.approx(bare**2 / (2 * 1.8))


def test_the_factor_tends_to_one_where_the_ground_holds_no_heat():
    assert berggren_factor(0.5, 1e-9) == pytest.approx(1, abs=1e-4)
    assert berggren_factor(0.0, 0.0) == 1.0
    # Without heat from below Neumann's equation is x exp(x2) erf x sqrt(pi) = mu.
    from math import erf, exp, pi

    x = 0.3
    mu = sqrt(pi) * x * exp(x * x) * erf(x)
    assert berggren_factor(0.0, mu) == pytest.approx(x * sqrt(2 / mu))


def test_a_site_without_a_winter_has_no_frost():
    assert advised().frost == ()


def test_each_base_is_given_its_depth():
    frost = {"index": 800, "mean": 7, "season": "120 days"}
    depths = {one.base: one for one in advised(frost=frost).frost}
    assert set(depths) == {"dense", "open", "panel"}
    assert depths["panel"].depth < depths["dense"].depth
    for one in depths.values():
        assert one.berggren == pytest.approx(one.factor * one.stefan, rel=0.35)
        assert one.berggren < one.stefan
        assert one.in_subgrade == pytest.approx(max(one.depth - one.build_up, 0))
    assert "not a promise" in CAUTION


def test_without_mean_and_season_stefan_alone_is_given():
    (first, *_) = advised(frost={"index": 800}).frost
    assert (first.berggren, first.factor) == (None, None)
    assert first.depth == first.stefan


def test_a_narrow_walk_is_all_edge():
    walk = patio(use="walkway", outline=[[1, 2], [9, 2], [9, 3.2], [1, 3.2]])
    frost = {"index": 800}
    narrow = {one.base: one.inner for one in advised([walk], frost=frost).frost}
    assert narrow["panel"] == 0
    wide = {one.base: one for one in advised(frost=frost).frost}["panel"]
    inner = (8 - 2 * wide.depth) * (5 - wide.depth)  # the edge by the house is not open
    assert wide.inner == pytest.approx(inner / 40, rel=0.01)


def test_a_material_of_the_sites_own_is_taken_as_base():
    assert stratum("x", "crushed brick", 0.1) == stratum("x", "dense-graded", 0.1)


def test_what_lies_below_old_concrete_is_not_guessed():
    slab = {
        "name": "overlay", "over": "sound concrete",
        "layers": [{"name": "paver", "thickness": 0.06}, {"name": "sand", "thickness": 0.025}],
    }  # fmt: skip
    depths = {one.base for one in advised(bases=[slab], frost={"index": 800}).frost}
    assert depths == {"dense", "open", "panel"}
