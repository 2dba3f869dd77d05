"""One layer of one area as it was built, held against its design."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.asbuilt.graduation import spread_of
from grading.asbuilt.layers import LayerName, Status, depth_of_layer
from grading.asbuilt.likely import Likely, below, likely_of
from grading.asbuilt.robust import RobustFit, robust_fit
from grading.asbuilt.shots import BuiltShots
from grading.asbuilt.straightedge import BOARD, Straightedge, straightedge
from grading.asbuilt.thickness import Thickness, surface_between, thickness_of
from grading.asbuilt.walls import WallAsBuilt, wall_as_built
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.uncertainty import Interval
from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import ROUNDING, TOGETHER

_SD = 2e-3
"""Standard deviation of a shot on a rod; common practice, no source. [m]"""

_FEWEST_SHARED = 5  # shots from which a share within tolerance is told
_FITTED = 6  # shots that a plane as built takes


class BuiltShot(Struct, frozen=True):
    """One shot against the design: its place, its level, that of the design [m], its note."""

    name: str
    at: tuple[float, float]
    z: float
    design: float
    status: Status
    note: str = ""
    photo: str = ""

    @property
    def off(self) -> float:
        """How far above the design it is, below zero where it is low. [m]"""
        return self.z - self.design


class PlaneAsBuilt(Struct, frozen=True):
    """The plane through the shots of one plane of the design, by Huber's fit.

    fall and design_fall [ratio], bearing and design_bearing [degrees], offset at the middle of
    the shots above the design [m].
    """

    shots: int
    fall: float
    bearing: float
    design_fall: float
    design_bearing: float
    offset: float


class AsBuilt(Struct, frozen=True, eq=False, dict=True):
    """A layer of an area as it was built.

    Attributes
    ----------
    design : Design
    area : AreaPlan
    layer : LayerName
    shots : tuple of BuiltShot
        The worst first.
    tolerance : float
        Above or below the design. [m]
    rule : str
        Where the tolerance comes from, a name of the table of limits.
    walls : tuple of WallAsBuilt
        Of the finished surface, none of the layers under it.
    straightedge : Straightedge or None
        Of the base and of the surface.
    planes : tuple of PlaneAsBuilt
    to_dig, to_add : float
        Between the shots' own triangles and the design. [m3]
    to_dig_within, to_add_within : Interval or None
        Between which bounds they lie; None where the shots are too few to say.
    covered : float
        Share of the area that lies between shots.
    thickness : Thickness or None
        Where the layer below was shot as well.
    graduation : float
        What the shots are read to the nearest of. [m]
    likely, likely_under : Likely or None
        What the shots, and those of the layer below, are likely to be, where most lie far off.
    """

    design: Design
    area: AreaPlan
    layer: LayerName
    shots: tuple[BuiltShot, ...]
    tolerance: float
    rule: str
    walls: tuple[WallAsBuilt, ...]
    straightedge: Straightedge | None
    planes: tuple[PlaneAsBuilt, ...]
    to_dig: float
    to_add: float
    to_dig_within: Interval | None
    to_add_within: Interval | None
    covered: float
    thickness: Thickness | None
    graduation: float = 0.0
    likely: Likely | None = None
    likely_under: Likely | None = None

    @property
    def failed(self) -> bool:
        """Whether anything fails: a shot, a wall, the straightedge, the thickness."""
        return (
            any(shot.status == "fail" for shot in self.shots)
            or any(wall.verdict == "shown to fail" for wall in self.walls)
            or (self.straightedge is not None and self.straightedge.verdict == "fail")
            or (self.thickness is not None and self.thickness.status == "fail")
        )

    @cached_property
    def share_within(self) -> float | None:
        """The share of the layer within tolerance that the shots let expect; None of few shots.

        Percent within limits by the beta distribution (AASHTO R 9, Acceptance Sampling Plans for
        Highway Construction), from memory.
        """
        off = np.array([shot.off for shot in self.shots])
        count = len(off)
        if count < _FEWEST_SHARED:
            return None
        # Shots that are rounded alike seem to lie nearer together than they are known to.
        spread = max(float(off.std(ddof=1)), spread_of(self.graduation))
        if spread < ROUNDING:
            return float(abs(off[0]) <= self.tolerance + ROUNDING)
        return (
            _below((self.tolerance - off.mean()) / spread, count)
            + _below((self.tolerance + off.mean()) / spread, count)
            - 1.0
        )


def _below(quality: float, count: int) -> float:
    """Return the share on one side of a limit that lies `quality` standard deviations away."""
    from scipy.special import betainc

    shape = count / 2 - 1
    at = np.clip(0.5 - quality * np.sqrt(count) / (2 * (count - 1)), 0.0, 1.0)
    return float(1.0 - betainc(shape, shape, at))


def shots_of_areas(design: Design, shots: BuiltShots) -> Iterator[tuple[AreaPlan, BuiltShots]]:
    """Give the areas that were shot, each with its shots: as these say, else by where they lie.

    Parameters
    ----------
    design : Design
    shots : BuiltShots

    Raises
    ------
    SiteError
        A shot lies off all paving.
    """
    owners: list[str] = []
    problems = []
    for name, xyz, line in zip(shots.areas, shots.xyz, shots.lines, strict=True):
        if name:
            owners.append(name)
            continue
        point = shapely.Point(xyz[:2])
        nearest = min(design.areas, key=lambda area: float(area.outline.distance(point)))
        owners.append(nearest.area.name)
        if nearest.chosen_dig.polygon.distance(point) > TOGETHER:
            found = f"a shot {design.places.at(xyz[:2])}, off the hole"
            where = f"{shots.file}, line {line}"
            problems.append(Problem(where, found, "one on the paving, or in its hole"))
    if problems:
        raise SiteError(problems)
    for area in design.areas:
        kept = [k for k, name in enumerate(owners) if name == area.area.name]
        if kept:
            yield area, shots.of(kept)


def as_built(
    design: Design,
    area: AreaPlan,
    shots: BuiltShots,
    layer: LayerName,
    under: BuiltShots | None = None,
) -> AsBuilt:
    """Hold the shots of one layer of an area against its design.

    Parameters
    ----------
    design : Design
    area : AreaPlan
        One of its areas.
    shots : BuiltShots
        All of this area.
    layer : "subgrade", "base", "bedding" or "surface"
    under : BuiltShots, optional
        Of the layer below, at some of the same places: they give the thickness.
    """
    limits = design.site.in_force
    rule = f"built-{layer}"
    tolerance = limits[rule]
    wanted = area.finish.surface.lowered(depth_of_layer(area, layer))
    design_z = np.asarray(wanted.at(shots.xyz[:, :2]), float)
    off = shots.xyz[:, 2] - design_z
    fit: list[Status] = ["pass" if each <= tolerance + ROUNDING else "fail" for each in abs(off)]
    at, z = [(x, y) for x, y in shots.xyz[:, :2].tolist()], shots.xyz[:, 2].tolist()
    columns = shots.names, at, z, design_z.tolist(), fit, shots.notes, shots.photos
    told = [BuiltShot(*row) for row in zip(*columns, strict=True)]
    order = sorted(told, key=lambda shot: -round(abs(shot.off), 9))
    between = surface_between(area, shots, wanted, layer)
    doubt, region = between.doubt, between.region
    known = None if doubt is None or region is None else doubt.volumes(wanted, region)
    limit, graduation = limits["fall-away"], shots.graduation
    walls = tuple(
        replace(
            wall_as_built(each.wall, shots.names, shots.xyz, limit, each.fall_away, graduation),
            foot=None if doubt is None else doubt.foot_fall(each.wall),
        )
        for each in area.walls
    )
    flat = np.column_stack([shots.xyz[:, :2], off])
    sd = max(_SD, spread_of(graduation))
    board = straightedge(flat, area.outline, limits["straightedge"], sd, BOARD[design.site.nominal])
    return AsBuilt(
        design=design,
        area=area,
        layer=layer,
        shots=tuple(order),
        tolerance=tolerance,
        rule=rule,
        walls=walls if layer == "surface" else (),
        straightedge=board if layer in ("base", "surface") else None,
        planes=tuple(_planes(area, wanted, shots.xyz)),
        to_dig=between.volumes.cut,
        to_add=between.volumes.fill,
        to_dig_within=None if known is None else known[0].holding(between.volumes.cut),
        to_add_within=None if known is None else known[1].holding(between.volumes.fill),
        covered=between.covered,
        thickness=thickness_of(area, shots, under, layer, limits),
        graduation=graduation,
        likely=likely_of(area, shots, layer, limits, design.site.unit),
        likely_under=None
        if under is None
        else likely_of(area, under, below(area, layer), limits, design.site.unit),
    )


def _planes(area: AreaPlan, wanted: Surface, xyz: Floats) -> Iterator[PlaneAsBuilt]:
    """Give the plane as built for each plane of the design that has shots enough."""
    for facet in wanted.paved:
        on_it = shapely.distance(facet.domain, np.asarray(shapely.points(xyz[:, :2]))) <= TOGETHER
        own = xyz[np.flatnonzero(on_it)]
        if len(own) < _FITTED:
            continue
        middle = own[:, :2].mean(axis=0)
        rows = np.column_stack([np.ones(len(own)), own[:, :2] - middle])
        if np.linalg.svd(rows[:, 1:], compute_uv=False)[-1] < TOGETHER:
            continue
        fit: RobustFit = robust_fit(rows, own[:, 2])
        z, dzdx, dzdy = fit.at
        fall = float(np.hypot(dzdx, dzdy))
        bearing = float(np.degrees(np.arctan2(-dzdx, -dzdy)) % 360)
        level = float(facet.plane.at(middle[None])[0])
        plane = facet.plane
        yield PlaneAsBuilt(len(own), fall, bearing, plane.fall, plane.bearing, float(z) - level)
