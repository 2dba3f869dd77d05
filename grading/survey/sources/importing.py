"""Files of points and scans, made into a table of spots in the folder of a site."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely
from msgspec.structs import replace

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.survey.sources.common import read_common
from grading.survey.sources.destination import Destination, destination, write_into
from grading.survey.sources.formats import Way, read_file
from grading.survey.sources.imported import Imported, Source
from grading.survey.sources.model import PointFile, Progress, ScanFile
from grading.survey.sources.registration import TILT, Registration, register
from grading.survey.sources.said_units import OF_DRAWINGS, UNITS, metres_of, named
from grading.survey.sources.scans.streamed import Step, scanned_ground
from grading.survey.sources.thinned import thinned
from grading.survey.sources.written import breaklines_table, spots_table
from grading.units import length, size


def import_files(
    folder: Path,
    file: Path,
    paths: Sequence[Path],
    *,
    way: Way | None = None,
    common: Path | None = None,
    units: str | None = None,
    part: str | None = None,
    y_up: bool = False,
    progress: Progress = lambda what, share: None,
) -> Imported:
    """Read files of points and scans and write a table of spots into the folder of a site.

    Parameters
    ----------
    folder, file : Path
        The folder of the site, and its site.toml.
    paths : sequence of Path
        Files of points, and scans that share one frame.
    way : "points", "scan" or None
        How they are read; by their endings where it is None.
    common : Path or None
        Points of the site that are seen in the scan, or in the points where there is no scan.
    units : "ft", "m", "us-ft" or None
        What the numbers of files mean that do not say so themselves.
    part : str or None
        The layer, surface or sheet that is wanted.
    y_up : bool
        y points up in the scan.
    progress : callable
        Told what is being done, and which share of it is done.

    Raises
    ------
    SiteError
        A file is of no kind that is read, is broken, or says nothing that can be used; or the
        table cannot be written. Nothing is written then.
    """
    to = destination(folder, file)
    given = None if units is None else UNITS[units]
    read = [read_file(path, way, given, part) for path in paths]
    points = [each for each in read if isinstance(each, PointFile)]
    scans = [_with_unit(each, given) for each in read if isinstance(each, ScanFile)]
    _check_units(points, scans, units)
    if y_up and not scans:
        raise SiteError([Problem("--up", "y, and no scan", "a scan", "Leave it out.")])
    laid = None
    if common is not None:
        scan_unit = scans[0][1] if scans else (1.0, 1.0)
        if not scans:
            scan_unit = (_unit_of_points(points),) * 2
        laid = register(
            read_common(common, to.unit, scan_unit, y_up), to.paving, to.unit, common.name
        )
        if not scans:
            points = [_moved(each, laid) for each in points]
    steps: list[Step] = []
    sources = [
        Source(each.shown, each.kind, each.unit, each.told_by, len(each.xyz), len(each.breaklines))
        for each in points
    ]
    parts: list[tuple[Floats, Floats, Floats]] = []
    scatter = None
    if points:
        came = sum(len(each.xyz) for each in points)
        points = _all_thinned(points)
        left = sum(len(each.xyz) for each in points)
        steps.append(Step("points apart by a millimetre", came, left))
        parts += [(each.xyz, each.sd_z, each.sd_xy) for each in points]
    if scans:
        ground = scanned_ground(
            scans,
            to.unit,
            laid=laid,
            y_up=y_up,
            drawn=to.drawn,
            house=to.house,
            walls=to.walls,
            progress=progress,
        )
        steps += ground.steps
        scatter = ground.scatter
        nodes = (ground.xyz, ground.sd_z, ground.sd_xy)
        parts.append(nodes if laid is not None else (*nodes[:2], np.full(len(nodes[1]), np.nan)))
        for (scan, (along, _)), count in zip(scans, ground.read, strict=True):
            told_by = "file" if scan.said is not None else "person"
            sources.append(Source(scan.shown, scan.kind, named(along), told_by, count, 0))
    xyz, sd_z, sd_xy = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    if not len(xyz):
        shown = ", ".join(path.name for path in paths)
        mend = "Import the points that they run through as well."
        raise SiteError([Problem(shown, "breaklines and no points", "points", mend)])
    lines = [line for each in points for line in each.breaklines]
    told = write_into(
        to, paths[0].stem,
        spots_table(points, xyz, sd_z, sd_xy, to.unit),
        breaklines_table(lines, xyz, to.unit) if lines else None,
    )  # fmt: skip
    far, away = None, 0.0
    if laid is not None:
        far, away = laid.far(to.paving if len(to.paving) else xyz[:, :2])
    known = sd_z[np.isfinite(sd_z)]
    return Imported(
        folder, to.unit, tuple(sources), tuple(steps), len(xyz),
        float(np.median(known)) if len(known) else math.nan, scatter, laid, far, away, told,
        tuple(_remarks(to, points, scans, laid, xyz)),
    )  # fmt: skip


def _with_unit(scan: ScanFile, given: float | None) -> tuple[ScanFile, tuple[float, float]]:
    if scan.said is not None:
        return scan, scan.said
    metres = metres_of(None, given, scan.shown)
    return scan, (metres, metres)


def _check_units(
    points: Sequence[PointFile],
    scans: Sequence[tuple[ScanFile, tuple[float, float]]],
    units: str | None,
) -> None:
    """Raise SiteError where a unit is given that no file asks for, and one says another."""
    if units is None:
        return
    said = [(each.shown, each.unit) for each in points if each.told_by == "file"]
    said += [(scan.shown, named(along)) for scan, (along, _) in scans if scan.said is not None]
    if len(said) < len(points) + len(scans):
        return
    for shown, unit in said:
        if unit != units:
            found = f"--units {units}, while {shown} says {unit}"
            raise SiteError([Problem("--units", found, "what the file says", "Leave it out.")])


def _unit_of_points(points: Sequence[PointFile]) -> float:
    """Return what one of the unit of points is, for the coordinates in the common file. [m]"""
    units = {each.unit for each in points}
    unit = units.pop() if len(units) == 1 else ""
    if unit not in OF_DRAWINGS:
        shown = ", ".join(each.shown for each in points)
        raise SiteError([Problem(shown, "numbers in several units", "one unit beside --common")])
    return OF_DRAWINGS[unit]


def _moved(points: PointFile, laid: Registration) -> PointFile:
    """Return points brought onto the site's axes, with what that leaves unknown."""
    xyz = points.xyz @ laid.turn.T + laid.shift
    lines = []
    for line in points.breaklines:
        level = np.nan_to_num(line[:, 2])
        moved = np.column_stack([line[:, :2], level]) @ laid.turn.T + laid.shift
        moved[np.isnan(line[:, 2]), 2] = np.nan
        lines.append(moved)
    return replace(
        points,
        xyz=xyz,
        sd_z=np.hypot(np.nan_to_num(points.sd_z), laid.z_sd(xyz[:, :2])),
        sd_xy=np.hypot(np.nan_to_num(points.sd_xy), laid.xy_sd(xyz[:, :2])),
        breaklines=tuple(lines),
    )


def _all_thinned(points: Sequence[PointFile]) -> list[PointFile]:
    """Return points thinned across all files, as one file."""
    first = points[0]
    return [
        thinned(
            replace(
                first,
                xyz=np.concatenate([each.xyz for each in points]),
                names=tuple(name for each in points for name in each.names),
                codes=tuple(code for each in points for code in each.codes),
                sd_z=np.concatenate([each.sd_z for each in points]),
                sd_xy=np.concatenate([each.sd_xy for each in points]),
                breaklines=tuple(line for each in points for line in each.breaklines),
                remarks=tuple(remark for each in points for remark in each.remarks),
            )
        )
    ]


def _remarks(
    to: Destination,
    points: Sequence[PointFile],
    scans: Sequence[tuple[ScanFile, tuple[float, float]]],
    laid: Registration | None,
    xyz: Floats,
) -> list[str]:
    """Return what was not used, and what to look at again."""
    remarks = [remark for each in points for remark in each.remarks]
    if laid is None and scans:
        remarks.append(
            "the scan was taken as it lies: three points or more that it has in common with the "
            "site (--common FILE) bring it onto the axes of the site and tell how well"
        )
    if to.drawn is not None and not _meets(to.drawn, xyz):
        remarks.append(
            "no spot lies by what site.toml draws: look at the unit (--units), or give points in "
            "common (--common FILE)"
        )
    if laid is not None and laid.unknowns == 4:
        away = laid.far(to.paving if len(to.paving) else xyz[:, :2])[1]
        off = size(math.tan(TILT) * away, to.unit)
        remarks.append(
            f"the tilt is that of the scanner: half a degree would be {off} at the corner "
            f"{length(away, to.unit)} away; a common point beyond the paving on every side shows it"
        )
    return remarks


def _meets(drawn: shapely.Geometry, xyz: Floats) -> bool:
    hull = shapely.MultiPoint(xyz[:, :2]).convex_hull
    return bool(hull.distance(drawn) == 0)
