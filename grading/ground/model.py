"""The ground as it was surveyed: triangles between spots, and what can be read off them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property, partial
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.geometry.arrays import Floats, Ints
from grading.geometry.tin import Tin
from grading.geometry.triangulation import triangulate
from grading.ground import extension, smooth, topsoil
from grading.ground.breaklines import with_breaklines
from grading.ground.certainty import Measured
from grading.ground.cross_check import CrossCheck, cross_check
from grading.ground.smooth import SurfaceErrors, leave_one_out
from grading.ground.spots import SpotNames, distinct_spots
from grading.ground.test_holes import holes_of, lone_hole
from grading.kept import GROUNDS, Kept, fingerprint
from grading.site.model import Site, Spots

__all__ = ["Ground", "SurfaceErrors", "leave_one_out", "surface", "survey_to_ground"]

Surface = Literal["tin", "smooth"]


class Ground(Struct, frozen=True, eq=False, dict=True):
    """Existing ground as a surface of triangles.

    points : (n, 3) float, site axes. [m]
    triangles : (m, 3) int, counter-clockwise.
    organics : (n,) float, depth of topsoil and roots at each point. [m]
    spots : distinct spots it rests on.
    surveyed : outline of what was measured.
    beyond : (m,) bool, the triangle lies beyond the survey and is a guess.
    surface : "tin" or "smooth".
    warnings : sentences on how the spots were taken.
    shots : what the spots say of one another, None where they were not asked.
    own : the same ground with the topsoil of one area, by its name, where test holes are not all
        its own.
    measured : the surface as its levels make it, None where it was not made of levels.
    """

    points: Floats
    triangles: Ints
    organics: Floats
    spots: int
    surveyed: shapely.Polygon
    beyond: NDArray[np.bool_]
    surface: Surface = "tin"
    warnings: tuple[str, ...] = ()
    shots: CrossCheck | None = None
    own: Mapping[str, Ground] = field(default_factory=dict)
    measured: Measured | None = None

    def under(self, area: str) -> Ground:
        """Return the ground with the topsoil of an area, by its name: as its own holes have it."""
        return self.own.get(area, self)

    @property
    def surveyed_points(self) -> Floats:
        """The distinct spots (spots, 3), those shot twice as one. [m]"""
        return self.points[: self.spots]

    @cached_property
    def tin(self) -> Tin:
        """The triangles with what makes questions fast; built at the first question."""
        return Tin(self.points, self.triangles)

    @cached_property
    def outline(self) -> shapely.Polygon:
        """The outline of all ground, the part beyond the survey included."""
        ring = extension.ring_of(self.triangles)
        return shapely.Polygon(self.points[ring, :2])

    def elevation(self, xy: Floats) -> Floats:
        """Return z (k,) at points (k, 2), NaN where there is no ground. [m]"""
        return self.tin.elevation(xy)

    def gradient(self, xy: Floats) -> Floats:
        """Return (dz/dx, dz/dy) (k, 2) at points (k, 2), NaN where there is no ground. [ratio]

        On a side or a vertex, that of one of the triangles that meet there.
        """
        return self.tin.gradient(xy)

    def organics_at(self, xy: Floats) -> Floats:
        """Return the depth of organics (k,) at points (k, 2), NaN where there is no ground. [m]"""
        return self.tin.interpolate(self.organics, xy)

    def section(self, line: Floats) -> Floats:
        """Return the profile of the ground along a line.

        Parameters
        ----------
        line : (k, 2) float
            Corners of a straight or bent line. [m]

        Returns
        -------
        (j, 2) float
            Distance along the line and z, with a vertex wherever the line crosses a side of a
            triangle and at each of its own corners: straight between them, with no error. [m]
            Where the line leaves the ground and comes back, a row (distance, NaN) stands between
            the stretches; before the first and after the last stretch there are no rows.
        """
        return self.tin.section(line)

    def sections(self, lines: Sequence[Floats]) -> list[Floats]:
        """Return the profile of the ground along each of several lines: see `section`."""
        return self.tin.sections(lines)

    def contours(self, levels: Floats) -> list[list[Floats]]:
        """Return the level lines of the ground.

        Parameters
        ----------
        levels : (l,) float
            Elevations. [m]

        Returns
        -------
        list of list of (k, 2) float
            For each level its lines, joined end to end; a closed line ends where it starts. A
            line parts ground at or above the level from ground below it, so a level terrace is
            bounded on its lower side alone.
        """
        return self.tin.contours(levels)

    def beyond_survey(self, polygon: shapely.Geometry) -> tuple[float, Floats]:
        """Return how far a shape reaches beyond the survey [m], and its farthest point (2,)."""
        return extension.beyond_survey(polygon, self.surveyed)

    def reaching(
        self, polygon: shapely.Geometry, margin: float = extension.MARGIN, kept: Kept | None = None
    ) -> Ground:
        """Return ground that covers a shape, carried on beyond the survey where needed.

        Parameters
        ----------
        polygon : shapely geometry
            Area of work. [m]
        margin : float
            How far beyond the survey the ground may be carried on. [m]
        kept : Kept, optional
            What was made before: ground is carried on as far whatever shape asks for it.

        Raises
        ------
        OutsideSurvey
            The shape reaches farther; says how far and where.

        Notes
        -----
        The surveyed triangles stay as they are. New ones are marked `beyond`; they follow the
        slope of the nearest spots, which gives a plane back exactly and is a guess elsewhere.
        """
        if extension.check_reach(polygon, self.surveyed, margin) == 0.0:
            return self
        if self.beyond.any() and extension.beyond_survey(polygon, self.outline)[0] == 0.0:
            return self
        kept = Kept() if kept is None else kept
        return kept.once("carried on", (self, margin), lambda: self._carried_on(margin), GROUNDS)

    def _carried_on(self, margin: float) -> Ground:
        """Return the ground with what a margin lies beyond the survey. [m]"""
        own = self.triangles[~self.beyond]
        count = int(own.max()) + 1  # points beyond the survey stand after its own
        points, organics, triangles = extension.extended(
            self.points[:count], self.organics[:count], own, margin
        )
        beyond = np.arange(len(triangles)) >= len(own)
        own_ = {name: each._carried_on(margin) for name, each in self.own.items()}
        return replace(
            self, points=points, organics=organics, triangles=triangles, beyond=beyond, own=own_
        )


def survey_to_ground(site: Site, kept: Kept | None = None) -> Ground:
    """Return the ground of a site.

    Parameters
    ----------
    site : Site
    kept : Kept, optional
        What was made before: the same ground of the same survey, with its warnings.

    Raises
    ------
    SiteError
        Spots, breaklines or probes contradict themselves or each other; lists every problem of
        the first of these kinds.
    """
    spots, ground = site.spots, site.ground
    names = SpotNames(
        spots.ids, spots.lines, spots.file, site.unit, spots.own_ids, spots.readings, spots.sources
    )
    made = partial(
        surface,
        spots.xyz,
        breaklines=ground.breaklines,
        organics=ground.organics,
        kind="smooth" if ground.surface == "smooth" else "tin",
        names=names,
        read_again=spots.read_again,
        sd=_level_sd(spots),
    )
    kept = Kept() if kept is None else kept
    bare = kept.once("surface", fingerprint(made.args, made.keywords), made, GROUNDS)
    if ground.probes is None or not len(ground.probes):
        return bare
    topsoil.check_probes(ground.probes, names)
    return _with_holes_of_areas(bare, site, kept)


def _level_sd(spots: Spots) -> Floats:
    """Return how well the level of each spot is known where it stands, (n,). [m]

    A rod that stands beside its place reads the level of another: by as much as the yard falls.
    """
    if not np.isfinite(spots.xyz).all() or len(spots.xyz) < 3:
        return spots.sd_z  # refused by what looks at the spots themselves
    local = spots.xyz - spots.xyz.mean(axis=0)
    slope = np.linalg.lstsq(local[:, :2], local[:, 2], rcond=None)[0]
    return np.asarray(np.hypot(spots.sd_z, np.hypot(*slope) * spots.sd_xy))


def _with_holes_of_areas(bare: Ground, site: Site, kept: Kept) -> Ground:
    """Return ground with the topsoil of all holes, and for each area that of its own."""
    spec, limits = site.ground, site.in_force
    probes = spec.probes
    assert probes is not None
    holes = holes_of(probes, spec.hole_areas, site.areas, limits["hole-reach"])
    usual, reach = limits["deep-organics"], limits["lone-hole-reach"]
    alone = {name: lone_hole(probes[each.used, 2], usual) for name, each in holes.items()}

    def pits(which: Iterable[int | None]) -> topsoil.Pits:
        found = np.unique([k for k in which if k is not None]).astype(np.intp)
        return topsoil.Pits(found, usual, reach)

    def dug(used: Floats, which: Iterable[int | None]) -> Ground:
        made = partial(_with_holes, bare, used, pits(which))
        return kept.once("topsoil", (bare, fingerprint(made.args[1:])), made)

    own = {
        name: dug(probes[each.used], [alone[name]])
        for name, each in holes.items()
        if len(each.used) < len(probes)
    }
    every = [
        None if alone[name] is None else int(each.used[alone[name]]) for name, each in holes.items()
    ]
    yard = dug(probes, every)
    key = yard, tuple(own.items())
    return kept.once("topsoil of areas", key, lambda: replace(yard, own=own), GROUNDS)


def _with_holes(bare: Ground, probes: Floats, pits: topsoil.Pits | None = None) -> Ground:
    """Return ground with the depth of organics as test holes (p, 3) have it. [m]"""
    points, corners, depth = topsoil.with_probes(bare.points, bare.triangles, probes, pits)
    beyond = np.zeros(len(corners), bool)
    return replace(bare, points=points, triangles=corners, organics=depth, beyond=beyond)


def surface(
    xyz: Floats,
    *,
    breaklines: Sequence[Floats] = (),
    organics: float = 0.0,
    probes: Floats | None = None,
    kind: Surface = "tin",
    names: SpotNames | None = None,
    warn: bool = True,
    read_again: Collection[int] = (),
    sd: Floats | None = None,
) -> Ground:
    """Return the ground through spots.

    Parameters
    ----------
    xyz : (n, 3) float
        Spots. [m]
    breaklines : sequence of (j, 2) or (j, 3) float
        Lines the ground creases along; z absent or NaN where a vertex is at a spot. [m]
    organics : float
        Depth everywhere; not used where there are probes. [m]
    probes : (p, 3) float, optional
        x, y and depth of organics. [m]
    kind : "tin" or "smooth"
        Flat triangles between the spots, or a thin plate through them on a fine grid, the
        breaklines kept straight.
    names : SpotNames, optional
        How errors and warnings call the spots.
    warn : bool
        Look for spots that stand out.
    read_again : collection of int
        Spots that the person has settled; they are not named.
    sd : (n,) float, optional
        Standard deviation of the level of each spot where it stands. [m]

    Raises
    ------
    SiteError
        As `survey_to_ground`.
    """
    names = names or SpotNames()
    xyz = np.asarray(xyz, float).reshape(-1, 3)
    points, member = distinct_spots(xyz, names)
    spots = len(points)
    points, edges = with_breaklines(points, breaklines, names)
    mesh = triangulate(points[:, :2], edges)
    warnings: tuple[str, ...] = ()
    shots = None
    if warn:
        creased = np.zeros(len(points), bool)
        creased[edges] = True
        shots = cross_check(xyz, points, member, mesh, creased, names, read_again)
        warnings = shots.told
    surveyed = shapely.Polygon(points[mesh.ring, :2])
    corners = mesh.corners
    lines = tuple(np.asarray(line, float)[:, :2] for line in breaklines)
    if kind == "smooth" and len(points) > smooth.MOST_SPOTS:
        kind = "tin"
        warnings += (
            f"{names.file}: {len(points)} points are more than the {smooth.MOST_SPOTS} that a "
            "smooth surface can be drawn through; flat triangles between them are used.",
        )
    if sd is not None:
        shared = np.bincount(member, sd, spots) / np.bincount(member, minlength=spots)
        sd = np.append(shared, np.full(len(points) - spots, np.median(shared)))
    measured = Measured(points, corners, edges, lines, kind == "smooth", sd)
    if kind == "smooth":
        points, corners = smooth.smoothed(points, edges, surveyed)
    bare = Ground(
        points=points,
        triangles=corners,
        organics=np.full(len(points), float(organics)),
        spots=spots,
        surveyed=surveyed,
        beyond=np.zeros(len(corners), bool),
        surface=kind,
        warnings=warnings,
        shots=shots,
        measured=measured,
    )
    if probes is None or not len(probes):
        return bare
    topsoil.check_probes(probes, names)
    return _with_holes(bare, probes)
