"""The dig of an area for one base system: its surface, its exact cut and fill, its layers.

The lowest layer sits on the formation: the finish lowered by the build-up. The hole is dug to
the formation or to the bottom of the organics, whichever is lower, point by point, and made up
to the formation with compacted refill.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.catalogue.bases import BaseSystem, Layer
from grading.finish.earthwork import Clip, Volumes, positive_and_negative
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.bands import band
from grading.geometry.facets import Surface
from grading.geometry.tolerances import THREAD

_HARDLY = 1e-4  # own: m, less topsoil than this goes no deeper
_SHARE = 0.01  # of the hole
_DEEP = 1e6  # m: deeper than anything

LEAST_REFILL = 1e-4  # own: a volume
"""Refill less than this is rounding: none is told or drawn. [m3]"""


class LayerVolume(Struct, frozen=True):
    """A layer, the plan area that it covers [m2] and its compacted volume [m3]."""

    layer: Layer
    area: float
    volume: float


class Refill(Struct, frozen=True):
    """The compacted refill between a dug surface and the formation.

    Attributes
    ----------
    least, greatest : float
        Its thickness over the area that has it; least is 0 where it runs out within the hole. [m]
    mean : float
        Its volume over the plan area that has it. [m]
    area, volume : float
        That plan area [m2], and what is compacted in place [m3].
    share : float
        Share of the hole that has it.
    """

    least: float
    mean: float
    greatest: float
    area: float
    volume: float
    share: float


class Dig(Struct, frozen=True, dict=True):
    """What one base system digs and builds under one area's finish.

    Attributes
    ----------
    system : BaseSystem
    outline : shapely polygon
        The paving, its holes left out. [m]
    polygon : shapely polygon or multipolygon
        The whole over-dug hole in plan, clear of the house and of other areas. [m]
    finish, formation : Surface
        Top of the pavers, and what the lowest layer sits on.
    paved, clip : Clip
        Existing ground in the outline, and in the whole hole.
    soil_swell, organics_swell : float
        Loose over bank, less one. [-]
    """

    system: BaseSystem
    outline: shapely.Polygon
    polygon: Region
    finish: Surface
    formation: Surface
    paved: Clip
    clip: Clip
    soil_swell: float
    organics_swell: float

    @property
    def build_up(self) -> float:
        """Finish to subgrade. [m]"""
        return self.system.build_up

    @property
    def stone(self) -> str:
        """The stone that the hole is refilled with: that of the base, else dense-graded."""
        stones = [layer.material for layer in self.system.layers if layer.role == "base"]
        return stones[-1] if stones else "dense-graded"

    @cached_property
    def beside(self) -> shapely.MultiPolygon:
        """The ring of the hole that no paving covers. [m]"""
        return polygons(shapely.difference(self.polygon, self.outline), 0.0)

    @cached_property
    def above_formation(self) -> Floats:
        """Existing ground above the formation at the clip's corners, (k, 3). [m]"""
        return self.clip.depth_below(self.formation.coefficients)

    @cached_property
    def depths(self) -> Floats:
        """Depth dug below the existing ground at the clip's corners, (k, 3). [m]"""
        return np.maximum(self.above_formation, self.clip.organics)

    @cached_property
    def _beyond_organics(self) -> Volumes:
        return positive_and_negative(self.above_formation - self.clip.organics, self.clip.areas)

    @cached_property
    def _in_outline(self) -> Volumes:
        depth = self.paved.depth_below(self.formation.coefficients)
        return positive_and_negative(depth, self.paved.areas)

    @cached_property
    def organics_volume(self) -> float:
        """Topsoil and roots stripped from the hole, in the bank. [m3]"""
        return float((self.clip.areas * self.clip.organics.mean(axis=1)).sum())

    @cached_property
    def cut(self) -> float:
        """Everything dug from the hole, stripped organics included, in the bank. [m3]"""
        return self.organics_volume + self._beyond_organics.cut

    @property
    def fill(self) -> float:
        """Compacted refill between the dug surface and the formation. [m3]"""
        return self._beyond_organics.fill

    @property
    def fill_area(self) -> float:
        """Plan area that is refilled. [m2]"""
        return self._beyond_organics.fill_area

    @cached_property
    def refill(self) -> Refill | None:
        """How thick the refill lies, and over how much of the hole; None where there is none."""
        if self.fill <= LEAST_REFILL:
            return None
        thickness = self.clip.organics - self.above_formation
        return Refill(
            least=max(float(thickness.min()), 0.0),
            mean=self.fill / self.fill_area,
            greatest=float(thickness.max()),
            area=self.fill_area,
            volume=self.fill,
            share=self.fill_area / self.dig_area,
        )

    @cached_property
    def _without_organics(self) -> Volumes:
        return positive_and_negative(self.above_formation, self.clip.areas)

    @property
    def fill_for_organics(self) -> float:
        """The part of the refill that is there only because organics had to come out. [m3]"""
        return max(self.fill - self._without_organics.fill, 0.0)

    @property
    def refill_share(self) -> float:
        """Share of the hole that is dug below the formation to the bottom of the organics."""
        if not self.fill_for_organics:
            return 0.0
        return self._beyond_organics.fill_area / self.dig_area

    @cached_property
    def stripped_deeper(self) -> BaseGeometry:
        """Where organics go below the formation, in plan; empty where hardly anywhere. [m]"""
        gap = self.above_formation - self.clip.organics
        if float(gap.min()) >= -_HARDLY:
            return shapely.Polygon()
        shape = band(self.clip.xy, gap, -_DEEP, 0.0)
        return shape if shape.area > _SHARE * self.dig_area else shapely.Polygon()

    @property
    def cut_in_outline(self) -> float:
        """Ground above the formation inside the outline alone. [m3]"""
        return self._in_outline.cut

    @property
    def fill_in_outline(self) -> float:
        """Ground below the formation inside the outline alone. [m3]"""
        return self._in_outline.fill

    @property
    def dig_area(self) -> float:
        """Plan area of the over-dug hole. [m2]"""
        return self.clip.area

    @cached_property
    def max_dig(self) -> float:
        """Greatest depth dug below the existing ground. [m]"""
        return max(float(self.depths.max()), 0.0)

    @property
    def mean_dig(self) -> float:
        """Cut over the plan area of the hole. [m]"""
        return self.cut / self.dig_area

    @property
    def spoil_loose(self) -> float:
        """What leaves the hole, as it lies in the barrow: organics and subsoil each swell. [m3]"""
        return loose_spoil(self.cut, self.organics_volume, self.soil_swell, self.organics_swell)

    @cached_property
    def layers(self) -> tuple[LayerVolume, ...]:
        """Each layer's plan area and compacted volume, from the top down."""
        volumes = []
        for layer in self.system.layers:
            area = self.dig_area if layer.spreads else self.paved.area
            volumes.append(LayerVolume(layer, area, area * layer.thickness))
        return tuple(volumes)

    @property
    def begun(self) -> bool:
        """Whether a part of it is dug already, and what is put back may lie beside it."""
        return False

    @cached_property
    def backfill(self) -> float:
        """Soil put back beside the paving, from the top of the base up to the finish. [m3]"""
        beside = self.dig_area - self.paved.area
        return beside * self.system.above_edge


def loose_spoil(bank: float, organics: float, soil_swell: float, organics_swell: float) -> float:
    """Return spoil as it lies in the barrow: organics and subsoil each swell. [m3]

    Parameters
    ----------
    bank, organics : float
        All of it, and the topsoil and roots in it, as they lay in the ground. [m3]
    soil_swell, organics_swell : float
        Loose over bank, less one. [-]
    """
    return (bank - organics) * (1 + soil_swell) + organics * (1 + organics_swell)


def over_dug(outline: shapely.Polygon, over_dig: float) -> shapely.Geometry:
    """Return the hole of an outline that nothing else stands in the way of.

    Parameters
    ----------
    outline : shapely polygon
        The paving. [m]
    over_dig : float
        How far the hole reaches beyond the paving's edge, holes in it included. [m]

    Notes
    -----
    Corners are mitred: a hole is dug to straight lines.
    """
    return outline.buffer(over_dig, join_style="mitre", mitre_limit=2.0)


def dug_region(outline: shapely.Polygon, over_dig: float, kept_out: shapely.Geometry) -> Region:
    """Return the whole over-dug hole of an outline.

    Parameters
    ----------
    outline : shapely polygon
        The paving. [m]
    over_dig : float
        How far the hole reaches beyond the paving's edge, holes in it included. [m]
    kept_out : shapely geometry
        What is never dug for it: the house, and what other areas dig.
    """
    wide = over_dug(outline, over_dig)
    clear = shapely.union(shapely.difference(wide, kept_out), outline)
    parts = polygons(_without_threads(clear), 0.0)
    return parts.geoms[0] if len(parts.geoms) == 1 else parts


def _without_threads(hole: shapely.Geometry) -> shapely.Geometry:
    """Return a hole without the threads that rounding leaves where pieces of it were taken away."""
    # Corners no more apart than 1e-90 m are divided by inside the library, which copes with them.
    with np.errstate(all="ignore"):
        opened = shapely.buffer(
            shapely.buffer(hole, -THREAD, join_style="mitre"), THREAD, join_style="mitre"
        )
    same = shapely.get_num_coordinates(opened) == shapely.get_num_coordinates(hole)
    return hole if same else opened


def met_side(line: Floats, outline: shapely.Polygon, width: float) -> shapely.Geometry:
    """Return the strip of a walk, drive or slab beyond the line where the paving meets it.

    Parameters
    ----------
    line : (k, 2) float
        Where they meet; a point alone bounds no dig. [m]
    outline : shapely polygon
        The paving. [m]
    width : float
        How wide the strip is. [m]
    """
    if len(line) < 2:
        return shapely.Polygon()
    # What is met goes on past the ends of the line, where the corners of the hole would reach.
    first, last = line[0] - line[1], line[-1] - line[-2]
    start = line[0] + width * first / np.hypot(*first)
    end = line[-1] + width * last / np.hypot(*last)
    edge = shapely.LineString(np.vstack([start, line, end]))
    sides = [edge.buffer(way * width, single_sided=True, join_style="mitre") for way in (1, -1)]
    far = min(sides, key=lambda side: float(side.intersection(outline).area))
    return shapely.difference(far, outline)
