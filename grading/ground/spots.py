"""What a survey must be before a surface can rest on it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import SAME_ELEVATION, SAME_PLACE
from grading.site.model import Reading
from grading.units import METRES, Unit, number

# Two shots by hand on one place that differ by more are not of one ground. [m] Common practice, no
# source: more than a rod sinks into turf.
SHOT_APART = 0.05
# The same of a scan, which meets grass and ground at one place. [m]
SCANNED_APART = 0.2
# More spots than this come from a scan.
MOST_BY_HAND = 500
# No yard is wider; a wider survey has a slipped decimal or mixes coordinate systems. [m]
WIDEST = 100e3
_MOST_REPORTED = 10

_SCATTER = np.uint64(0x9E3779B97F4A7C15)  # Knuth's: 2^64 over the golden ratio, made odd

FEWEST_SPOTS = "at least three, not all on one line"
"""What a survey is expected to have."""


class SpotNames(Struct, frozen=True, dict=True):
    """How the person knows each spot: its id, and the line of the file that it came from.

    own_ids : ids that the file itself gives, empty where it gives none.
    readings : how each was read on a rod, empty or None where nothing tells.
    sources : the file of each spot, where they come from several.
    """

    ids: Sequence[str] = ()
    lines: Sequence[int] = ()
    file: str = "spots"
    unit: Unit = "m"
    own_ids: Sequence[str] = ()
    readings: Sequence[Reading | None] = ()
    sources: Sequence[str] = ()

    @cached_property
    def _several(self) -> bool:
        return any(source != self.sources[0] for source in self.sources)

    def reading(self, spot: int) -> Reading | None:
        """Return how a spot was read on a rod, None where nothing tells."""
        return self.readings[spot] if spot < len(self.readings) else None

    def key(self, spot: int) -> str:
        """Return what the site file settles a spot by: its own id, or the line that it is on.

        An id that the file gives twice names no spot.
        """
        own = self.own_ids[spot] if spot < len(self.own_ids) else ""
        if own and self.own_ids.count(own) == 1:
            return own
        line = f"line {self.lines[spot]}" if spot < len(self.lines) else f"line {spot + 1}"
        return f"{self.sources[spot]}, {line}" if self._several else line

    def name(self, spot: int) -> str:
        """Return the spot's id, or its number in the file counting from 1."""
        known = self.ids[spot] if spot < len(self.ids) else ""
        return f"spot {known or spot + 1}"

    def where(self, spot: int) -> str:
        """Return the file and line of a spot."""
        file = self.sources[spot] if self._several else self.file
        return f"{file}, line {self.lines[spot]}" if spot < len(self.lines) else file

    def length(self, metres: float) -> str:
        """Return a length as the number that stands in the file, with its unit."""
        return f"{number(metres, self.unit)} {self.unit}"

    def about(self, metres: float) -> str:
        """Return a length that was computed, to 1/100 of the file's unit, with its unit."""
        return f"{metres / METRES[self.unit]:.2f} {self.unit}"

    def place(self, xy: Floats) -> str:
        """Return plan coordinates as they stand in the file."""
        return f"x = {number(xy[0], self.unit)}, y = {number(xy[1], self.unit)}"


def distinct_spots(xyz: Floats, names: SpotNames) -> tuple[Floats, Ints]:
    """Return one point for each distinct spot, and which of them each given spot became.

    Parameters
    ----------
    xyz : (n, 3) float
        Spots as shot. [m]

    Returns
    -------
    (d, 3) float, (n,) int
        Spots within SAME_PLACE of each other become one at the place of the first, at the mean
        of their elevations.

    Raises
    ------
    SiteError
        A coordinate is not finite; fewer than three spots, or all on one line, so that they span
        no area; spots farther apart than WIDEST.

    Notes
    -----
    Where shots at one place differ, `two_levels` says so.
    """
    xyz = np.asarray(xyz, float).reshape(-1, 3)
    odd = np.flatnonzero(~np.isfinite(xyz).all(axis=1))
    if len(odd):
        raise SiteError([_not_finite(names, int(i), xyz[i]) for i in odd[:_MOST_REPORTED]])
    if len(xyz):
        _check_extent(xyz, names)
    group = _same_place(xyz[:, :2])
    if group is None:
        points, member = xyz, np.arange(len(xyz))
    else:
        points, member = _merged(xyz, group)
    _check_spread(points, names)
    return points, member


def _not_finite(names: SpotNames, spot: int, xyz: Floats) -> Problem:
    axis = "xyz"[int(np.argmin(np.isfinite(xyz)))]
    return Problem(
        names.where(spot),
        f"{axis} = {xyz['xyz'.index(axis)]} at {names.name(spot)}",
        "a number",
        "Type the coordinate again, or delete the line.",
    )


def _check_extent(xyz: Floats, names: SpotNames) -> None:
    span = np.array([np.ptp(column) for column in xyz.T])
    if span.max() <= WIDEST:
        return
    axis = int(np.argmax(span))
    far = int(np.argmax(np.abs(xyz[:, axis] - np.median(xyz[:, axis]))))
    raise SiteError(
        [
            Problem(
                names.where(far),
                f"{'xyz'[axis]} = {number(xyz[far, axis], names.unit)} at {names.name(far)}, "
                f"{names.about(span[axis])} from the farthest other spot",
                f"spots within {names.length(WIDEST)} of each other",
                "Look for a slipped decimal, or for spots from two coordinate systems.",
            )
        ]
    )


def _same_place(xy: Floats) -> Ints | None:
    """Return the first spot at the same place for each spot, or None when all stand apart.

    Two points within SAME_PLACE share a cell twice that wide in at least one of four grids, each
    shifted by half a cell along x, y, both or neither.
    """
    if len(xy) < 2:
        return None
    x, y = (xy.T - xy.min(axis=0)[:, None]) / (2 * SAME_PLACE)
    bits = max(len(xy).bit_length() + 2, 8)
    pairs = []
    for shift_x, shift_y in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        key = (x + shift_x).astype(np.int64) * (1 << 31) + (y + shift_y).astype(np.int64)
        # Counted in a table, which is several times faster than put in order; what shares a place
        # of the table by chance is told apart below.
        place = (key.view(np.uint64) * _SCATTER) >> np.uint64(64 - bits)
        place = place.view(np.int64)
        few = np.flatnonzero((np.bincount(place, minlength=1 << bits) > 1).take(place))
        few = few[np.argsort(key[few], kind="stable")]
        ordered, apart = key[few], 1
        while (together := ordered[apart:] == ordered[:-apart]).any():
            pairs.append(np.column_stack((few[:-apart], few[apart:]))[together])
            apart += 1
    if not pairs:
        return None
    pair = np.concatenate(pairs)
    reach = xy[pair[:, 0]] - xy[pair[:, 1]]
    pair = pair[np.hypot(reach[:, 0], reach[:, 1]) < SAME_PLACE]
    if not len(pair):
        return None
    group = np.arange(len(xy))
    while True:
        before = group.copy()
        np.minimum.at(group, pair[:, 0], group[pair[:, 1]])
        np.minimum.at(group, pair[:, 1], group[pair[:, 0]])
        if (group == before).all():
            return group


def _merged(xyz: Floats, group: Ints) -> tuple[Floats, Ints]:
    first, member = np.unique(group, return_inverse=True)
    points = xyz[first].copy()
    points[:, 2] = np.bincount(member, xyz[:, 2]) / np.bincount(member)
    return points, member


class TwoLevels(Struct, frozen=True):
    """Shots at one place that differ: the first, the one farthest from it, and by how much. [m]

    far : by more than shots on one place do.
    """

    one: int
    other: int
    gap: float
    far: bool


def two_levels(xyz: Floats, member: Ints) -> list[TwoLevels]:
    """Return the places whose shots differ by more than SAME_ELEVATION, in the file's order.

    Parameters
    ----------
    xyz : (n, 3) float
        Spots as shot. [m]
    member : (n,) int
        Which distinct spot each became.
    """
    count = int(member.max()) + 1
    if count == len(xyz):
        return []
    z = xyz[:, 2]
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, member, z)
    np.maximum.at(high, member, z)
    differing = np.flatnonzero(high - low > SAME_ELEVATION)
    most = SHOT_APART if len(xyz) <= MOST_BY_HAND else SCANNED_APART
    shots = np.flatnonzero(np.isin(member, differing))
    shots = shots[np.argsort(member[shots], kind="stable")]
    found = []
    for shot in np.split(shots, np.flatnonzero(np.diff(member[shots])) + 1):
        if len(shot):
            one = int(shot[0])
            other = int(shot[np.argmax(np.abs(z[shot] - z[one]))])
            gap = float(np.ptp(z[shot]))
            found.append(TwoLevels(one, other, gap, gap > most))
    return found


def _check_spread(points: Floats, names: SpotNames) -> None:
    if len(points) < 3:
        count = {0: "no spot", 1: "one spot", 2: "two spots"}[len(points)]
        raise SiteError(
            [
                Problem(
                    names.file,
                    f"{count} at distinct places",
                    FEWEST_SPOTS,
                    "Shoot more spots around the area.",
                )
            ]
        )
    local = points[:, :2] - points[:, :2].mean(axis=0)
    # the two axes of the cloud; its width is measured across the longer
    across, along = np.linalg.eigh(local.T @ local)[1].T
    if np.ptp(local @ across) >= SAME_PLACE:
        return
    ends = int(np.argmin(local @ along)), int(np.argmax(local @ along))
    raise SiteError(
        [
            Problem(
                names.file,
                f"all {len(points)} spots on one line, from {names.place(points[ends[0]])} "
                f"to {names.place(points[ends[1]])}",
                "spots that span an area",
                "Shoot at least one spot to the side of that line.",
            )
        ]
    )
