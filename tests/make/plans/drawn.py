"""Plans that are drawn in tests: the bundled sites and a few awkward ones, each planned once."""

from __future__ import annotations

from functools import cache

import numpy as np
from make.plans.folded import FOLDED, WATERED
from make.plans.furnished import NAMES, furnished
from make.plans.sampled import sampled
from make.sites.handmade import grid_of_spots, site_of

import sample_sites
from grading.pipeline import Plan, plan
from viz.drawings.listed import sheets_of, site_sheets
from viz.paper.compose import Sheet, Words, compose
from viz.paper.ink import Ink
from viz.paper.page import page_for

SQUARE = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)]
HOUSE = {"walls": [(-2.0, 0.0), (9.0, 0.0)], "inside": (3.0, -4.0)}


def _slope(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 10.0 - 0.02 * y + 0.01 * np.sin(x)


def _rising(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 10.0 + 0.08 * y


def _level(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 10.0 + 0.0 * x


@cache
def planned(name: str) -> Plan:
    """Return the plan of a bundled site, a furnished one, or an awkward one below."""
    if name in sample_sites.names():
        return sampled(name)
    if name in NAMES:
        return furnished(name)
    return plan({**AWKWARD, **FOLDED, **WATERED}[name]())


AWKWARD = {
    "no house": lambda: site_of(
        grid_of_spots(_slope), [{"name": "apron", "outline": SQUARE}], unit="ft"
    ),
    "level finish": lambda: site_of(
        grid_of_spots(_level), [_given(10.05, "0 %", 0)], house=HOUSE
    ),
    "hill behind": lambda: site_of(grid_of_spots(_rising), [_given(10.1, "2 %", 0)], house=HOUSE),
    "falls to the house": lambda: site_of(
        grid_of_spots(_slope), [_given(9.9, "2 %", 180)], house=HOUSE
    ),
    "pocket": lambda: site_of(
        grid_of_spots(_slope),
        [{"name": "patio with a pocket", "outline": SQUARE,
          "holes": [[(2.5, 1.5), (3.5, 1.5), (3.5, 2.5), (2.5, 2.5)]]}],
        house=HOUSE, unit="ft",
    ),
    "narrow": lambda: site_of(
        grid_of_spots(_slope),
        [{"name": "path", "use": "walkway", "outline": [(0, 1), (8, 1), (8, 1.6), (0, 1.6)]}],
    ),
    "long name": lambda: site_of(
        grid_of_spots(_slope),
        [{"name": "The far terrace by the old pear tree, 門 & <north> \"$x_1$\" side of it all",
          "outline": SQUARE}],
        unit="ft",
    ),
}  # fmt: skip
ALL = (*sample_sites.names(), *AWKWARD, *FOLDED, *WATERED)


def _given(z: float, fall: str, bearing: float) -> dict:
    plane = {"at": (3.0, 0.0), "z": z, "fall": fall, "bearing": bearing}
    return {"name": "patio", "outline": SQUARE, "plane": plane}


@cache
def sheets(name: str) -> dict[str, Sheet]:
    """Return every sheet of a site by the name of its file."""
    made = planned(name)
    page = page_for(made.site.unit)
    found = {
        f"{area.area.name} {ending}": sheet
        for area in made.areas
        for ending, sheet in sheets_of(made, area, page)
    }
    return {**found, **dict(site_sheets(made, page))}


@cache
def inks(name: str, sheet: str) -> tuple[Ink | Words, ...]:
    """Return the ink of one sheet of a site."""
    return compose(sheets(name)[sheet])
