"""Which reader a file has."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from grading.errors import Problem, SiteError
from grading.signs import shortened, visible
from grading.survey.sources.model import PointFile, ScanFile
from grading.survey.sources.readers.dxf import read_dxf
from grading.survey.sources.readers.geojson import read_geojson
from grading.survey.sources.readers.landxml import read_landxml
from grading.survey.sources.readers.las import open_las
from grading.survey.sources.readers.ply import open_ply
from grading.survey.sources.readers.tables import read_csv, read_xlsx
from grading.survey.sources.readers.text_scan import open_text_scan

Way = Literal["points", "scan"]

POINTS = (".csv", ".geojson", ".json", ".dxf", ".xml", ".landxml", ".xlsx", ".xlsm")
SCANS = (".las", ".laz", ".ply", ".xyz", ".pts", ".asc")
EITHER = (".txt", ".csv")
"""Endings that stand for points as well as for a scan; a CSV is one of points unless it is said."""

KNOWN = (
    "points: CSV, GeoJSON, DXF, LandXML (.xml), XLSX; scans: LAS, LAZ, PLY, or x, y and z as "
    "text (.xyz, .txt)"
)

_LEAST = 4  # bytes that tell what a file is


def read_file(
    path: Path, way: Way | None, given: float | None, part: str | None
) -> PointFile | ScanFile:
    """Return a file of points read, or a scan opened.

    Parameters
    ----------
    path : Path
    way : "points", "scan" or None
        How the person wants it read; by its ending where it is None.
    given : float or None
        What the person says that one of its unit is, where it does not say so itself. [m]
    part : str or None
        The layer, surface or sheet that is wanted.

    Raises
    ------
    SiteError
        It cannot be opened, is of no kind that is read, or is broken.
    """
    shown, ending = path.name, path.suffix.lower()
    try:
        if path.is_dir() or not path.exists():
            found = "a folder" if path.is_dir() else "nothing there"
            raise SiteError([Problem(str(path), found, "a file of points or a scan")])
        with path.open("rb") as file:
            if len(file.read(_LEAST)) < _LEAST:
                raise SiteError([Problem(shown, "an empty file", "points or a scan")])
        return _read(path, shown, ending, way, given, part)
    except (OSError, ValueError) as error:
        if isinstance(error, SiteError):
            raise
        words = getattr(error, "strerror", None) or str(error)
        found = f"a file that cannot be read ({shortened(visible(words))})"
        raise SiteError([Problem(shown, found, "a file that can")]) from error


def _read(
    path: Path, shown: str, ending: str, way: Way | None, given: float | None, part: str | None
) -> PointFile | ScanFile:
    if ending not in POINTS + SCANS + EITHER:
        found = f'the ending "{shortened(visible(ending))}"' if ending else "no ending"
        mend = "Export it as one of these."
        raise SiteError([Problem(shown, found, KNOWN, mend)])
    if ending == ".txt" and way is None:
        found = "text that may be points or a scan"
        mend = "Add --as points (point, north, east, elevation) or --as scan (x, y, z)."
        raise SiteError([Problem(shown, found, "which of them it is", mend)])
    scan = ending in SCANS if ending not in EITHER else way == "scan"
    if way is not None and (way == "scan") != scan:
        which = "points" if way == "points" else "a scan"
        expected = "a scan" if scan else "points"
        mend = f"Leave out --as {way}."
        raise SiteError([Problem(shown, f"a file that cannot be read as {which}", expected, mend)])
    if part is not None and (scan or ending not in (".dxf", ".xml", ".landxml", ".xlsx", ".xlsm")):
        expected = "a drawing with layers, surfaces, or a spreadsheet with sheets"
        raise SiteError([Problem("--part", f'"{visible(part)}" of {shown}', expected)])
    if scan:
        if ending in (".las", ".laz"):
            return open_las(path, shown)
        return open_ply(path, shown) if ending == ".ply" else open_text_scan(path, shown)
    if ending in (".geojson", ".json"):
        return read_geojson(path, shown, given)
    if ending == ".dxf":
        return read_dxf(path, shown, given, part)
    if ending in (".xml", ".landxml"):
        return read_landxml(path, shown, given, part)
    if ending in (".xlsx", ".xlsm"):
        return read_xlsx(path, shown, given, part)
    return read_csv(path, shown, given)
