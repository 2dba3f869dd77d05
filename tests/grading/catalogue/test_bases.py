from types import SimpleNamespace

import pytest

from grading.catalogue.bases import base_systems, catalogue_names, swells
from grading.catalogue.rules import Limits
from grading.units import INCH

LIMITS = Limits({})


def written(name, *layers):
    made = [SimpleNamespace(name=n, thickness=t * INCH, material=None) for n, t in layers]
    return SimpleNamespace(name=name, layers=tuple(made))


@pytest.mark.parametrize(
    ("name", "build_up"), [("dense", 9.375), ("open", 9.375), ("panel", 4.125)]
)
def test_the_build_ups_built_in(name, build_up):
    assert base_systems([])[name].build_up == pytest.approx(build_up * INCH, rel=1e-12)


def test_the_catalogue_is_in_the_order_that_it_is_compared_in():
    assert catalogue_names() == ("dense", "open", "panel")
    assert tuple(base_systems([])) == ("dense", "open", "panel")


def test_the_hole_reaches_out_by_the_base_thickness_but_at_least_six_inches():
    thin = written("thin", ("paver", 2.375), ("bedding", 1), ("dense base", 4))
    thick = written("thick", ("paver", 2.375), ("bedding", 1), ("base", 8), ("subbase", 4))
    systems = base_systems([thin, thick])
    for name, inches in [("dense", 6), ("panel", 6), ("thin", 6), ("thick", 12)]:
        assert systems[name].over_dig(LIMITS) == pytest.approx(inches * INCH)


def test_a_site_changes_a_built_in_system_in_its_place():
    thicker = written("dense", ("paver", 3.125), ("bedding", 1), ("crushed stone", 8))
    systems = base_systems([thicker])
    assert list(systems) == ["dense", "open", "panel"]
    assert systems["dense"].build_up == pytest.approx(12.125 * INCH)


def test_layers_are_known_by_their_names():
    hybrid = written(
        "hybrid", ("paver", 2.375), ("panel", 0.75), ("chip bedding", 1), ("open-graded base", 6)
    )
    layers = base_systems([hybrid])["hybrid"].layers
    assert [layer.role for layer in layers] == ["paver", "panel", "bedding", "base"]
    # What lies under a panel carries it to its edge, beyond the paving.
    assert [layer.spreads for layer in layers] == [False, True, True, True]


def test_every_system_says_in_plain_words_what_it_is():
    def layer(name):
        return SimpleNamespace(name=name, thickness=0.05, material=None)

    own = SimpleNamespace(name="slag", layers=[layer("paver"), layer("sand"), layer("slag")])
    known = SimpleNamespace(name="open", layers=[layer("paver"), layer("chips")])
    built_in, systems = base_systems([]), base_systems([own, known])
    assert all(len(system.plain.split()) >= 4 for system in built_in.values())
    assert systems["slag"].plain == "sand on slag"
    assert systems["open"].plain == built_in["open"].plain


def test_bedding_over_stone_ends_with_the_paving():
    for name in ("dense", "open"):
        assert [layer.spreads for layer in base_systems([])[name].layers] == [False, False, True]


def test_every_soil_swells_and_clay_the_most():
    swell = swells()
    assert set(swell) == {"gravel", "sand", "loam", "clay", "organics"}
    assert max(swell, key=swell.get) == "clay"
    assert all(0 < value < 0.5 for value in swell.values())
