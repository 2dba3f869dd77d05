"""Colours that are told apart stay apart for people who see fewer of them, and in grey.

The eye is simulated by daltonlens after Machado, Oliveira and Fernandes (2009) and after Brettel,
Vienot and Mollon (1997), the difference is CIEDE2000 by scikit-image. About 2.3 is just noticed
(Mahy and others, 1994, from memory); the thresholds below ask for at least twice that.
"""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.drawn import inks

from grading.catalogue.bases import base_systems
from viz.drawings.plan.cut_and_fill import shade
from viz.drawings.plan.grading import EXISTING
from viz.drawings.plan.water_marks import BLUE, POND
from viz.look.materials import material
from viz.paper.hatch import TONES
from viz.paper.ink import Ink

JUST_NOTICED = 2.3
TONES_APART = 5.0  # materials that lie against each other; they are told by texture as well
PALE_APART = 6.0  # the palest cut against the palest fill
DEPTHS_APART = 12.0  # cut against as much fill, from a quarter of the greatest on
STEPS = (0.125, 0.25, 0.375, 0.5, 0.75, 1.0)

BESIDE = (
    ("paver", "bedding sand"), ("paver", "chips"), ("paver", "panel"),
    ("bedding sand", "dense-graded"), ("chips", "open-graded"), ("panel", "bedding sand"),
    ("bedding sand", "soil"), ("dense-graded", "soil"), ("open-graded", "soil"),
    ("refill", "soil"), ("bedding sand", "refill"), ("dense-graded", "refill"),
    ("open-graded", "refill"), ("backfill", "paver"), ("backfill", "chips"),
    ("backfill", "bedding sand"), ("backfill", "dense-graded"), ("backfill", "open-graded"),
    ("backfill", "panel"), ("backfill", "topsoil"), ("backfill", "refill"), ("backfill", "soil"),
    ("topsoil", "soil"), ("block", "cap"), ("block", "drain stone"), ("block", "soil"),
    ("block", "topsoil"), ("block", "dense-graded"), ("block", "step unit"), ("cap", "paver"),
    ("cap", "chips"), ("cap", "bedding sand"), ("drain stone", "open-graded"),
    ("drain stone", "dense-graded"), ("drain stone", "soil"), ("drain stone", "pipe"),
    ("drain stone", "geotextile"), ("step unit", "dense-graded"), ("step unit", "soil"),
    ("step unit", "paver"), ("concrete", "paver"), ("concrete", "grate"), ("concrete", "soil"),
    ("grate", "paver"), ("pipe", "soil"), ("pipe", "open-graded"), ("membrane", "soil"),
)  # fmt: skip


def _eyes():
    from daltonlens import simulate

    found = {"full": None}
    for model in ("Machado2009", "Brettel1997"):
        for kind in ("PROTAN", "DEUTAN", "TRITAN"):
            simulator = getattr(simulate, f"Simulator_{model}")()
            found[f"{kind.lower()} {model}"] = (simulator, getattr(simulate.Deficiency, kind))
    return found


EYES = ("full", *(f"{kind} {model}" for model in ("Machado2009", "Brettel1997")
                  for kind in ("protan", "deutan", "tritan")))  # fmt: skip


def seen(colours, eye):
    """Return colours in CIE Lab (n, 3) as an eye sees them."""
    from skimage.color import rgb2lab

    image = np.array([[[int(c[k : k + 2], 16) for k in (1, 3, 5)] for c in colours]], np.uint8)
    how = _eyes()[eye]
    if how is not None:
        image = how[0].simulate_cvd(image, how[1], severity=1.0)
    return rgb2lab(image)[0]


def apart(one, two, eye):
    """Return the CIEDE2000 difference of every colour of one from every colour of the other."""
    from skimage.color import deltaE_ciede2000

    return deltaE_ciede2000(seen(one, eye)[:, None], seen(two, eye)[None])


@pytest.mark.parametrize("eye", EYES)
def test_cut_and_fill_are_told_apart(eye):
    cut, fill = [shade(k, 1.0) for k in STEPS], [shade(-k, 1.0) for k in STEPS]
    found = apart(cut, fill, eye)
    assert found.min() > PALE_APART
    assert np.diag(found)[1:].min() > DEPTHS_APART


@pytest.mark.parametrize("eye", EYES)
def test_deeper_is_darker(eye):
    for sign in (1.0, -1.0):
        lightness = seen([shade(sign * k, 1.0) for k in (0.0, *STEPS)], eye)[:, 0]
        assert np.all(np.diff(lightness) < -JUST_NOTICED / 2)


@pytest.mark.parametrize("eye", EYES)
def test_materials_that_lie_against_each_other_are_told_apart(eye):
    for one, two in BESIDE:
        found = apart([TONES[one].ground], [TONES[two].ground], eye)[0, 0]
        assert found > TONES_APART, (one, two)


@pytest.mark.parametrize("eye", EYES)
def test_water_is_told_from_ink_from_paving_and_from_the_lines_of_the_ground(eye):
    assert apart([BLUE], ["#1a1a1a", "#f1eee9", EXISTING.colour], eye).min() > TONES_APART
    assert apart([POND], ["#f1eee9", "#ffffff"], eye).min() > TONES_APART


def grey(colour):
    """Return the luma of a colour as a copier has it, 0 to 255: Rec. ITU-R BT.601."""
    return sum(w * int(colour[k : k + 2], 16) for w, k in ((0.299, 1), (0.587, 3), (0.114, 5)))


def test_in_grey_fill_is_told_from_cut_by_its_hatch():
    """Cut and fill of one depth are about as dark, so lines tell them: fill alone is hatched."""
    import shapely

    found = inks("ridge", "patio cut-and-fill")
    bands = [ink for ink in found if isinstance(ink, Ink) and ink.name == "band"]
    hatch = shapely.MultiLineString([ring for ink in found if isinstance(ink, Ink)
                                     and ink.name == "built up" for ring in ink.rings])  # fmt: skip
    fills = {shade(-k / 100, 1.0) for k in range(1, 101)}
    cuts = {shade(k / 100, 1.0) for k in range(1, 101)}
    kinds = {"cut": 0, "fill": 0}
    for band in bands:
        shape = shapely.make_valid(shapely.Polygon(band.rings[0], band.rings[1:]))
        if shape.area < 20.0:
            continue
        inside = shape.buffer(-0.4).intersection(hatch).length / shape.area
        red, blue = int(band.fill[1:3], 16), int(band.fill[5:7], 16)
        kind = "cut" if red > blue else "fill"
        kinds[kind] += 1
        assert (inside > 0.2) == (kind == "fill"), band.fill
    assert kinds["cut"] >= 2
    assert kinds["fill"] >= 2
    assert fills.isdisjoint(cuts)
    # The hatch itself is seen on the darkest fill that it is drawn on.
    assert all(abs(grey("#0b4a45") - grey(shade(-k, 1.0))) > 25 for k in STEPS[:-1])


def test_layers_are_told_in_grey_by_their_texture():
    """Each material has marks of its own kind, whatever its tone."""
    from viz.paper.hatch import _MARKS

    marked = [name for name in TONES if name != "geotextile"]
    makers = [_MARKS[name] for name in marked if name in _MARKS]
    assert len(makers) == len(marked)


STANDS_BESIDE = (
    ("block", "turf"), ("block", "cap"), ("block", "paver"), ("block", "drain stone"),
    ("block", "subsoil"), ("block", "topsoil"), ("block", "step unit"), ("cap", "turf"),
    ("cap", "dense-graded"), ("step unit", "turf"), ("step unit", "cap"), ("concrete", "turf"),
    ("drain stone", "subsoil"), ("drain stone", "open-graded"), ("drain stone", "pipe"),
    ("drain stone", "dense-graded"), ("grate", "paver"), ("grate", "concrete"), ("pipe", "subsoil"),
    ("membrane", "subsoil"), ("membrane", "foundation"),
)  # fmt: skip


@pytest.mark.parametrize("eye", EYES)
def test_what_is_built_is_told_from_what_stands_beside_it_in_a_scene(eye):
    for one, two in STANDS_BESIDE:
        found = apart([material(one).colour], [material(two).colour], eye)[0, 0]
        assert found > TONES_APART, (one, two)


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("base", ["dense", "open", "panel"])
def test_the_legend_of_a_scene_tells_its_layers_apart(base, eye):
    layers = [layer.material for layer in base_systems(())[base].layers]
    shown = [*layers[1:], "refill", "geotextile", "subgrade"]
    colours = [material("paver").grains[1], *(material(name).colour for name in shown)]
    found = apart(colours, colours, eye)
    np.fill_diagonal(found, np.inf)
    assert found.min() > TONES_APART, (base, shown)
