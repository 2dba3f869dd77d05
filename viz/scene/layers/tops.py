"""What the top of a layer shows: grains, relief and seams of panels, pavers as they are laid."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from grading.design.folds import panes_of, warped
from grading.geometry.arrays import Floats
from grading.order.takeoff import Takeoff
from viz.look.materials import material
from viz.scene.collect import LIFT, Collected
from viz.scene.grain import pavers, seams, studs
from viz.scene.layers.laid import faces_of, panels_of
from viz.scene.model import Lines
from viz.scene.shell import Height, Shape, polygons, segments_of

SEAM = "#e6e6e6"


def add_top(
    found: Collected, laid: Takeoff, name: str, kind: str, region: Shape, right: Floats,
    height: Height, shown: Iterable[str], seed: int, most: int = 900, lift: float = 0.0,
) -> None:  # fmt: skip
    """Add what is seen of a material over a region: grains, or the panels that are counted.

    Parameters
    ----------
    found : Collected
    laid : Takeoff
    name, kind : str
        Of the layer, and of its material.
    region : shapely geometry
        [m]
    right : (2,) float
        The way that rows of a panel's relief run.
    height : callable
        Its top.
    shown : iterable of str
    seed, most : int
        As for `grain.grains`.
    lift : float
        How far it floats where the layers are apart. [m]
    """
    near = found.near(polygons(region))
    if near.is_empty:
        return
    if kind != "panel":
        found.add_grains(name, kind, near, height, shown, seed, most, lift=lift)
        return
    relief = [studs(near, right)]
    found.add_pattern(name, kind, material(kind).grains, relief, height, shown, lift=lift)
    lines = seams(found.near(panels_of(laid)), near)
    if not lines:
        return
    drawn = segments_of(np.column_stack([line, height(line) + 0.003]) for line in lines)
    found.lines.append(Lines("panel seams", *drawn, SEAM, 1.0, frozenset(shown), lift))


def add_pavers(
    found: Collected, laid: Takeoff, region: Shape, shown: Iterable[str], over: float = LIFT,
    lift: float = 0.0,
) -> None:  # fmt: skip
    """Add the faces of the pavers that are counted over a region of the finish."""
    tones = material("paver").grains
    # A paver that lies across a fold is cut there.
    panes = panes_of(laid.area)
    facets = [] if warped(panes) else [found.near(pane.domain) for pane in panes]
    meshes = pavers(found.near(faces_of(laid)), found.near(region), len(tones), facets)
    height = found.level(laid.area.finish.surface)
    found.add_pattern("paver", "paver", tones, meshes, height, shown, over, lift)
