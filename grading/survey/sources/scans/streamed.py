"""A scan streamed twice: once to see where the ground is, once to measure it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.survey.sources.model import Progress, ScanFile
from grading.survey.sources.registration import Registration
from grading.survey.sources.scans.by_walls import by_walls
from grading.survey.sources.scans.extent import FARTHEST_STRAY, Census, cells_over
from grading.survey.sources.scans.ground_cells import Minima, ground_cells
from grading.survey.sources.scans.nodes import Residuals
from grading.survey.sources.scans.spool import Points, Spool, ahead
from grading.units import FARTHEST, Unit

BESIDE = 15.0
"""How far beyond what a site draws its ground is taken from a scan. [m] Common practice, no
source: water that runs on comes from no farther in a yard."""


class Step(Struct, frozen=True):
    """How much of a scan went into a step of the work, and how much came out of it."""

    name: str
    came: int
    left: int


class ScannedGround(Struct, frozen=True, eq=False):
    """The ground that a scan shows.

    Attributes
    ----------
    xyz : (n, 3) float
        On a grid of 25 cm, on the site's axes; nothing where no ground is seen. [m]
    sd_z, sd_xy : (n,) float
        Standard deviations, of the scan's own scatter and of how it was brought here. [m]
    scatter : float
        How far points lie off the ground, a standard deviation. [m]
    read : tuple of int
        Points of each file.
    steps : tuple of Step
    """

    xyz: Floats
    sd_z: Floats
    sd_xy: Floats
    scatter: float
    read: tuple[int, ...]
    steps: tuple[Step, ...]


def scanned_ground(
    scans: Sequence[tuple[ScanFile, tuple[float, float]]],
    unit: Unit,
    *,
    laid: Registration | None = None,
    y_up: bool = False,
    drawn: shapely.Geometry | None = None,
    house: shapely.Geometry | None = None,
    walls: shapely.Geometry | None = None,
    progress: Progress = lambda what, share: None,
) -> ScannedGround:
    """Return the ground of scans that share one frame.

    Parameters
    ----------
    scans : sequence of (ScanFile, (float, float))
        Each with what one of its unit is along the ground and upward. [m]
    unit : "ft" or "m"
        That of messages.
    laid : Registration or None
        How they lie on the site; as they are where it is None.
    y_up : bool
        Their y points up, and z to who holds the phone.
    drawn : geometry or None
        All that the site draws: what lies farther than BESIDE from it is left out.
    house : geometry or None
        The body of the house: no ground is taken in it.
    walls : geometry or None
        Its walls: the ground beside them is carried on to them.

    Raises
    ------
    SiteError
        A scan is broken, too wide, has no point beside what is drawn, or shows no ground.
    """
    shown = ", ".join(scan.shown for scan, _ in scans)
    with closing(Spool()) as spool:
        census, origin, counts, bad = _spooled(scans, spool, laid, y_up, progress)
        if spool.count == 0 or origin is None:
            raise SiteError([Problem(shown, "no point with numbers", "a scan of the yard")])
        box = _cut(census.box(), origin, drawn, shown)
        cells = cells_over(box, origin, unit, shown)
        minima = Minima(cells)
        _sweep(spool, minima.add, "lowest points", progress)
        ground = ground_cells(minima)
        if ground is None:
            raise SiteError([Problem(shown, "no ground", "a scan of the yard from above")])
        residuals = Residuals(cells, ground)
        _sweep(spool, residuals.add, "level of the ground", progress)
        found = residuals.nodes()
    xyz = found.xyz + origin
    indoors = np.zeros(len(xyz), bool)
    if house is not None:
        indoors = np.asarray(shapely.intersects_xy(house, xyz[:, 0], xyz[:, 1]))
    if len(xyz) - indoors.sum() < 3:
        mend = "Scan it from nearer, so that the soil is seen, or import points."
        raise SiteError([Problem(shown, "hardly any ground", "a scan of the yard", mend)])
    read, used = sum(counts), spool.count - minima.outside
    steps: tuple[Step, ...] = (
        Step("points with numbers", read, read - bad),
        Step("points by the yard", read - bad, used),
        Step("points of the ground", used, found.used),
        Step("cells of 5 cm without a stray below", _seen(minima), _seen(minima) - ground.low),
        Step(
            "cells of 5 cm with nothing standing on them",
            _seen(minima) - ground.low,
            int(ground.shown.sum()),
        ),
        Step("nodes of 25 cm with ground", len(xyz) + found.empty, len(xyz)),
        Step("nodes out of the house", len(xyz), int(len(xyz) - indoors.sum())),
    )
    xyz, sd_z = xyz[~indoors], found.sd[~indoors]
    if walls is not None:
        beside = by_walls(xyz, sd_z, walls)
        every = len(xyz) + len(beside.xyz)
        steps += (
            Step("nodes, and spots where these are carried on to the walls", len(xyz), every),
        )
        xyz, sd_z = np.concatenate([xyz, beside.xyz]), np.concatenate([sd_z, beside.sd])
    sd_xy = np.zeros(len(xyz))
    if laid is not None:
        sd_z = np.hypot(sd_z, laid.z_sd(xyz[:, :2]))
        sd_xy = laid.xy_sd(xyz[:, :2])
    return ScannedGround(xyz, sd_z, sd_xy, found.scatter, tuple(counts), steps)


def _seen(minima: Minima) -> int:
    return int(np.isfinite(minima.lowest).sum())


def _spooled(
    scans: Sequence[tuple[ScanFile, tuple[float, float]]],
    spool: Spool,
    laid: Registration | None,
    y_up: bool,
    progress: Progress,
) -> tuple[Census, Floats | None, list[int], int]:
    """Decode scans into the spool.

    Returns the census, the origin, the points of each scan, and how many are no numbers.
    """
    census, counts, bad = Census(), [0] * len(scans), 0
    origin: Floats | None = None
    for number, (scan, (along, upward)) in enumerate(scans):
        turn, shift = _way(along, upward, laid, y_up)
        with closing(ahead(_converted(scan, turn, shift))) as chunks:
            for xyz, share in chunks:
                counts[number] += len(xyz)
                finite = np.asarray((np.abs(xyz) < FARTHEST).all(axis=1))
                if not finite.all():
                    bad += int(len(xyz) - finite.sum())
                    xyz = xyz[finite]
                if not len(xyz):
                    continue
                if origin is None:
                    # A whole metre in the middle of the first points: float32 is exact about it.
                    origin = np.round(np.median(xyz[:: max(len(xyz) // 10_000, 1)], axis=0))
                points: Points = (xyz - origin).astype(np.float32)
                near = np.abs(points[:, :2]).max() < FARTHEST_STRAY
                spool.add(points if near else points[_near(points)])
                census.add(points)
                progress(f"reading {scan.shown}", share)
    return census, origin, counts, bad


def _near(points: Points) -> NDArray[np.bool_]:
    """Return which points are not far beyond any yard: strays that no cell is laid for."""
    return np.asarray((np.abs(points[:, :2]) < FARTHEST_STRAY).all(axis=1))


def _way(
    along: float, upward: float, laid: Registration | None, y_up: bool
) -> tuple[Floats | None, Floats]:
    """Return what makes points of a file into those of the site: turn (3, 3) or factors, shift."""
    turn = np.diag([along, along, upward])
    if y_up:
        turn = np.array([[along, 0.0, 0.0], [0.0, 0.0, -along], [0.0, upward, 0.0]])
    shift = np.zeros(3)
    if laid is not None:
        turn, shift = laid.turn @ turn, laid.shift
    plain = np.array_equal(turn, np.eye(3)) and not shift.any()
    return (None if plain else turn), shift


def _converted(
    scan: ScanFile, turn: Floats | None, shift: Floats
) -> Iterator[tuple[Floats, float]]:
    for xyz, share in scan.chunks():
        yield (xyz if turn is None else xyz @ turn.T + shift), share


def _cut(
    box: tuple[float, float, float, float] | None,
    origin: Floats,
    drawn: shapely.Geometry | None,
    shown: str,
) -> tuple[float, float, float, float]:
    """Return what of a box lies by what is drawn, about the origin. [m]"""
    if box is None:
        mend = "Scan the yard from nearer, or import points."
        raise SiteError([Problem(shown, "a few scattered points", "a scan of the yard", mend)])
    if drawn is None or shapely.is_empty(drawn):
        return box
    left, bottom, right, top = map(float, shapely.bounds(drawn))
    x, y = float(origin[0]), float(origin[1])
    cut = (
        max(box[0], left - BESIDE - x), max(box[1], bottom - BESIDE - y),
        min(box[2], right + BESIDE - x), min(box[3], top + BESIDE - y),
    )  # fmt: skip
    if cut[0] >= cut[2] or cut[1] >= cut[3]:
        mend = (
            "Give --common FILE with three points that were measured on the site and are seen in "
            "the scan, or look at --units."
        )
        raise SiteError([Problem(shown, "no point by what site.toml draws", "a scan of it", mend)])
    return cut


def _sweep(spool: Spool, add: Callable[[Points], None], what: str, progress: Progress) -> None:
    done = 0
    for points in spool.chunks():
        add(points)
        done += len(points)
        progress(what, done / max(spool.count, 1))
