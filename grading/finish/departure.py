"""How far a finish leaves the lawn beside it: what a fit on grade has the least of.

Along a free edge h is how high the finish stands over the lawn. Between a little over it and a
little more it costs nothing; higher it costs what it is higher, from where a shoulder of soil no
longer holds the edge thrice that, and lower twice what it is lower: sunk paving takes more digging,
and the lawn's water runs onto it. The integral is convex, as h is linear in the unknowns.

Its slope jumps where a stretch lies level with a limit, as along plane lawn it often does. So each
bend is rounded over `ROUNDED`, a hundredth of a millimetre: what is integrated is then quadratic in
pieces, and two points of Gauss's rule in each piece are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.finish.earthwork import Clip, Moments
from grading.finish.layout import Block
from grading.geometry.arrays import Floats
from grading.geometry.free_edges import free_edges
from grading.ground.model import Ground
from grading.site.walls import Wall

SUNK, HIGH, BEYOND_SHOULDER = 2.0, 1.0, 2.0
"""What an inch below, above, and beyond what a shoulder holds counts: common practice, no source,
as a judgement on trial yards."""

LEAST_FREE = 0.25
"""Share of the outline below which the free edge says nothing of the paving's height. [ratio]"""

ROUNDED = 1e-5  # own: a bend, not a limit
"""Over how much height a bend is rounded. [m]"""

_PARALLEL = np.sin(np.radians(5.0))
_GAUSS = 0.5 + np.array([-0.5, 0.5]) / np.sqrt(3.0)


class Hinge(Struct, frozen=True):
    """What a height costs beyond a limit: weight times (sign times height less limit), if more.

    Attributes
    ----------
    sign : float
        1 where what is higher costs, -1 where what is lower does.
    limit : float
        [m]
    weight : float
        [m per m]
    """

    sign: float
    limit: float
    weight: float


def hinges(limits: Limits) -> tuple[Hinge, ...]:
    """Return what the height of a finish over the lawn costs."""
    return (
        Hinge(-1.0, limits["lawn-least"], SUNK),
        Hinge(1.0, limits["lawn-most"], HIGH),
        Hinge(1.0, limits["lawn-shoulder"], BEYOND_SHOULDER),
    )


class Departure(Struct, frozen=True):
    """The integral of what the finish's height over the lawn costs, for areas solved together.

    Attributes
    ----------
    ends : (k, 2, n) float
        Rows that give the finish at both ends of each stretch of free edge.
    lawn : (k, 2) float
        Existing ground there, linear between. [m]
    lengths : (k,) float
        [m]
    tilts : (t, n) float
        Rows that give the fall of a patio along its wall.
    earned : (t,) float
        What a unit of such a fall costs: a tilt must earn it. [m2]
    paved : tuple of ((3, n) float, Clip, float)
        For paving with no free edge to speak of: the map to each plane, the ground under it, and
        the length of its outline over its area, so that both count alike. [1/m]
    hinges : tuple of Hinge
    free : float
        The length of all that it is integrated over. [m]
    """

    ends: Floats
    lawn: Floats
    lengths: Floats
    tilts: Floats
    earned: Floats
    paved: tuple[tuple[Floats, Clip, float], ...]
    hinges: tuple[Hinge, ...]
    free: float

    def moments(self, unknowns: Floats, rounded: float = ROUNDED) -> Moments:
        """Return the departure of finishes, with its derivatives. [m2]

        Parameters
        ----------
        unknowns : (n,) float
        rounded : float
            Over how much height bends are rounded. [m]
        """
        value = 0.0
        gradient, curvature = np.zeros(len(unknowns)), np.zeros((len(unknowns),) * 2)
        for rows, over, weights in self._bent(unknowns):
            value += _integral(rows, over, weights, rounded, gradient, curvature)
        for placed, clip, share in self.paved:
            plane = placed @ unknowns
            for hinge in self.hinges:
                part = _over(clip, plane, hinge)
                by = hinge.weight * share
                value += by * part.moved
                gradient += by * placed.T @ part.gradient
                curvature += by * placed.T @ part.curvature @ placed
        return Moments(value, gradient, curvature)

    def _bent(self, unknowns: Floats) -> Iterable[tuple[Floats, Floats, Floats]]:
        """Give what costs where it is above nought: its rows, its values, and its weights."""
        height = self.ends @ unknowns - self.lawn
        for hinge in self.hinges:
            over = hinge.sign * (height - hinge.limit)
            yield hinge.sign * self.ends, over, hinge.weight * self.lengths
        for sign in (1.0, -1.0):
            # A slope bends over as much of the height as it makes in ten metres.
            rows = 10 * sign * np.repeat(self.tilts[:, None], 2, axis=1)
            yield rows, rows @ unknowns, self.earned / 10


def _integral(
    rows: Floats, over: Floats, weights: Floats, rounded: float,
    gradient: Floats, curvature: Floats,
) -> float:  # fmt: skip
    """Integrate what is above nought along stretches, and add to its derivatives.

    Parameters
    ----------
    rows : (k, 2, n) float
    over : (k, 2) float
        What they give at both ends. [m]
    weights : (k,) float
        Of the whole stretch. [m]
    """
    some = over.max(axis=1) > 0
    if not some.any():
        return 0.0
    rows, over, weights = rows[some], over[some], weights[some]
    first, last = over.T
    run = np.where(first == last, 1.0, last - first)
    level = first == last

    def crossed(value: float) -> Floats:
        """Return where along them a value is passed, 0 or 1 where it is not."""
        return np.asarray(np.clip((value - first) / run, 0.0, 1.0))

    nought, whole = crossed(0.0), crossed(rounded)
    rising = last > first
    end = np.where(rising, 1.0, 0.0)
    value = 0.0
    bending = level & (first < rounded)
    # Where it is rounded, then where it is straight; level stretches are the one or the other.
    spans = (
        (np.where(level, 0.0, nought), np.where(level, bending * 1.0, whole)),
        (np.where(level, 0.0, whole), np.where(level, ~bending * 1.0, end)),
    )
    for number, (begin, stop) in enumerate(spans):
        long = np.abs(stop - begin)
        for point in _GAUSS:
            at = begin + point * (stop - begin)
            there = first + at * (last - first)
            share = weights * long / 2
            if number:
                cost, slope = there - rounded / 2, np.ones(len(there))
            else:
                cost, slope = there**2 / (2 * rounded), there / rounded
            value += float(share @ cost)
            row = (1 - at)[:, None] * rows[:, 0] + at[:, None] * rows[:, 1]
            gradient += (share * slope) @ row
            if not number:
                curvature += (share / rounded * row.T) @ row
    return value


def _over(clip: Clip, plane: Floats, hinge: Hinge) -> Moments:
    """Integrate over paved ground what a plane's height over it is beyond a hinge's limit. [m3]"""
    shifted = plane - np.array([hinge.limit, 0.0, 0.0])
    part = clip.moments(shifted)
    net = float(clip.integral_of_rows @ shifted) - clip.ground_volume
    return Moments(
        (part.moved + hinge.sign * net) / 2,
        (part.gradient + hinge.sign * clip.integral_of_rows) / 2,
        part.curvature / 2,
    )


class Profile(Struct, frozen=True):
    """The free edges of an area with the existing ground along them, as lines in space."""

    lines: tuple[shapely.LineString, ...]
    outline: float
    area: float

    @property
    def length(self) -> float:
        """[m]"""
        return float(sum(line.length for line in self.lines))

    @property
    def speaks(self) -> bool:
        """Whether there is enough of it to say how high the paving should lie."""
        return self.length >= LEAST_FREE * self.outline


def profile_of(
    paving: shapely.Polygon, lines: Iterable[shapely.Geometry],
    bodies: Sequence[shapely.Geometry], ground: Ground,
) -> Profile:  # fmt: skip
    """Return the free edges of paving with the ground along them.

    Parameters
    ----------
    paving : shapely polygon
        [m]
    lines, bodies
        What holds an edge, as in `free_edges`. [m]
    ground : Ground
        Existing.
    """
    found = []
    edges = free_edges(paving, lines, bodies)
    sections = ground.sections([shapely.get_coordinates(line) for line in edges])
    for line, section in zip(edges, sections, strict=True):
        at = shapely.get_coordinates(shapely.line_interpolate_point(line, section[:, 0]))
        points = np.column_stack([at, section[:, 1]])
        known = np.isfinite(section[:, 1])
        for part in np.split(points, np.flatnonzero(~known)):
            part = part[np.isfinite(part[:, 2])]
            if len(part) > 1:
                found.append(shapely.LineString(part))
    return Profile(tuple(found), float(paving.length), float(paving.area))


class Lying(Struct, frozen=True):
    """An area that is to lie on grade.

    Attributes
    ----------
    block : Block
    profile : Profile
        Its free edges.
    clip : Clip
        The ground under it.
    walls : sequence of Wall
        The foundation walls in its reach.
    """

    block: Block
    profile: Profile
    clip: Clip
    walls: Sequence[Wall]


def departure_of(lying: Sequence[Lying], limits: Limits) -> Departure:
    """Return how areas, one or more, leave the lawn."""
    total = lying[0].block.total
    ends, lawn = [np.zeros((0, 2, total))], [np.zeros((0, 2))]
    lengths, tilts, earned, paved = [np.zeros(0)], [], [], []
    free = 0.0
    for each in lying:
        block, profile, clip = each.block, each.profile, each.clip
        if profile.speaks:
            free += profile.length
            for facet, line in _by_facet(block, profile):
                corners = shapely.get_coordinates(line, include_z=True)
                rows = np.column_stack([np.ones(len(corners)), corners[:, :2] - block.centre])
                placed = rows @ block.map_of(facet)
                ends.append(np.stack([placed[:-1], placed[1:]], axis=1))
                lawn.append(np.column_stack([corners[:-1, 2], corners[1:, 2]]))
                lengths.append(np.hypot(*np.diff(corners[:, :2], axis=0).T))
        else:
            free += profile.outline
            for facet in np.unique(clip.facet).tolist():
                share = profile.outline / profile.area
                paved.append((block.map_of(facet), clip.part(facet, block.centre), share))
        along = _along_walls(block, each.walls)
        if along is not None:
            tilts.append(block.slope_rows(along, block.paved_facets)[0])
            over = profile.length if profile.speaks else profile.outline
            earned.append(limits["lawn-tilt"] * over / 0.01)
    return Departure(
        ends=np.concatenate(ends),
        lawn=np.concatenate(lawn),
        lengths=np.concatenate(lengths),
        tilts=np.array(tilts).reshape(-1, total),
        earned=np.array(earned),
        paved=tuple(paved),
        hinges=hinges(limits),
        free=free,
    )


def _by_facet(block: Block, profile: Profile) -> Iterable[tuple[int, shapely.LineString]]:
    """Give the free edges parted by the planes of the finish that they lie on."""
    if len(block.shape.domains) == 1:
        yield from ((0, line) for line in profile.lines)
        return
    for facet in block.paved_facets:
        domain = block.shape.domains[facet]
        for line in profile.lines:
            for part in shapely.get_parts(shapely.intersection(line, domain)):
                if part.geom_type == "LineString" and part.length > 0:
                    yield facet, part


def _along_walls(block: Block, walls: Sequence[Wall]) -> Floats | None:
    """Return the unit vector along the walls of a patio of one plane, where all are parallel."""
    if block.area.use != "patio" or len(block.shape.maps) > 1 or not walls:
        return None
    out = np.array([wall.outward for wall in walls])
    turned = out[:, 0] * out[0, 1] - out[:, 1] * out[0, 0]
    if np.abs(turned).max() > _PARALLEL:
        return None
    return np.array([out[0, 1], -out[0, 0]])
