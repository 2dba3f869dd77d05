"""Build-ups of the base systems, and the dig that they ask for.

Sources: paver 2 3/8 in, ASTM C936 (least thickness for paving units); bedding 1 in nominal and
base thickness, paver industry construction tolerances guide; panel build-up, common practice,
no source.
"""

from __future__ import annotations

import pytest

from grading.catalogue.bases import base_systems
from grading.catalogue.rules import Limits
from grading.units import INCH, inches


@pytest.fixture(scope="module")
def systems():
    return base_systems(())


@pytest.mark.parametrize(
    ("name", "layers", "written"),
    [
        ("dense", [2 + 3 / 8, 1, 6], "9 3/8 in"),
        ("open", [2 + 3 / 8, 1, 6], "9 3/8 in"),
        ("panel", [2 + 3 / 8, 3 / 4, 1], "4 1/8 in"),
    ],
)
def test_layers_add_up(systems, name, layers, written):
    system = systems[name]
    assert [layer.thickness / INCH for layer in system.layers] == pytest.approx(layers, rel=1e-14)
    assert system.build_up / INCH == pytest.approx(sum(layers), rel=1e-14)
    assert inches(system.build_up) == written


def test_a_panel_dig_is_less_than_half_of_a_stone_dig(systems):
    """Common practice, no source: "about 10 in dug against about 4"."""
    for stone in ("dense", "open"):
        assert systems["panel"].build_up < systems[stone].build_up / 2


def test_over_dig_is_the_greater_of_six_inches_and_the_base(systems):
    """Paver industry construction tolerances guide: beyond the edge by the greater of 6 in and
    the base thickness."""
    limits = Limits({})
    assert {name: system.over_dig(limits) / INCH for name, system in systems.items()} == (
        pytest.approx({"dense": 6, "open": 6, "panel": 6}, rel=1e-14)
    )

    class Thick:
        name = "dense"
        layers = tuple(
            type("Written", (), {"name": words, "thickness": inch * INCH, "material": None})
            for words, inch in [("paver", 2.375), ("bedding", 1), ("dense-graded base", 10)]
        )

    assert base_systems([Thick])["dense"].over_dig(limits) / INCH == pytest.approx(10, rel=1e-14)


def test_tops_of_the_layers_below_the_finish(systems):
    """Common practice, no source: base 3 3/8 in and subgrade 9 3/8 in below the finish."""
    dense = systems["dense"]
    assert [inches(depth) for depth in dense.tops()] == ["0 in", "2 3/8 in", "3 3/8 in"]
