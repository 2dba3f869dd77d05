from types import SimpleNamespace

import pytest
from make.sites.site_folder import write_site

import grading
from grading.catalogue.bases import base_systems, catalogue_names, swells
from grading.catalogue.rules import Limits
from grading.units import INCH, read_length

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
    # How much is dug is the yard's to say: where topsoil is deep, no base digs less than another.
    assert not [system.plain for system in built_in.values() if "dig" in system.plain]
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


def test_on_a_metric_site_the_sizes_built_in_are_round_in_millimetres(tmp_path):
    # Nominal sizes of the trade where it works in millimetres: pavers of 60 mm (ASTM C936M, EN
    # 1338), 25 mm of bedding, 150 mm of base; the panel is a placeholder and no maker's.
    metric = base_systems([], "m")
    assert [round(each.build_up * 1000, 9) for each in metric.values()] == [235.0, 235.0, 105.0]
    for system in metric.values():
        for layer in system.layers:
            assert (layer.thickness * 1000) % 5 == pytest.approx(0.0, abs=1e-9), layer.name
    # They are the sizes of a site in feet, rounded.
    for name, system in base_systems([]).items():
        for foot, metre in zip(system.layers, metric[name].layers, strict=True):
            assert metre.thickness == pytest.approx(foot.thickness, rel=0.06)


@pytest.mark.parametrize(("unit", "build_up"), [("ft", 9.375 * INCH), ("m", 0.235)])
def test_what_a_site_is_measured_in_says_which_sizes_are_built_in(tmp_path, unit, build_up):
    long = 1.0 if unit == "m" else 3.0
    places = [(x, y) for x in (-4, 0, 4, 8, 12) for y in (-4, 0, 4, 8, 12)]
    spots = "".join(f"{x * long},{y * long},{10 - 0.02 * y * long}\n" for x, y in places)
    outline = [[0, 0], [4 * long, 0], [4 * long, 4 * long], [0, 4 * long]]
    area = f'[[area]]\nname = "court"\nbase = "dense"\noutline = {outline}\n'
    head = f'name = "Yard"\nunit = "{unit}"\nspots = "spots.csv"\n'
    write_site(tmp_path, head + area, **{"spots.csv": "x,y,z\n" + spots})
    made = grading.plan(grading.read_site(tmp_path))
    assert made.areas[0].digs["dense"].build_up == pytest.approx(build_up, rel=1e-12)
    layers = made.order.areas[0].takeoffs["dense"].layers
    assert sum(part.layer.thickness for part in layers) == pytest.approx(build_up, rel=1e-12)


def test_the_base_of_a_metric_site_is_not_called_thin_where_frost_is_deep():
    from grading.catalogue.tables import table

    limits = {
        condition.removeprefix("base_thickness < ")
        for rule in table("catalogue", "suitability")["rule"]
        for condition in rule.get("when", [])
        if condition.startswith("base_thickness < ") and condition[-1] == "n"
    }
    (limit,) = limits
    assert base_systems([], "m")["dense"].base_thickness > read_length(limit, "m")


@pytest.mark.parametrize("rule", ["base-thickness-foot", "base-thickness-vehicle"])
def test_a_base_that_is_built_in_is_never_thinner_than_the_least_of_its_use(rule):
    for unit in ("ft", "m"):
        least = Limits({}, unit, unit)[rule]
        for system in base_systems([], unit).values():
            assert system.on_panels or system.base_thickness >= least
    # What a site writes itself holds in both.
    assert Limits({rule: 0.2}, "m")[rule] == Limits({rule: 0.2}, "ft")[rule] == 0.2
