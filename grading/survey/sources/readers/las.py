"""Scans in LAS and LAZ."""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.signs import shortened, visible
from grading.survey.sources.model import ScanFile
from grading.survey.sources.said_units import in_degrees
from grading.units import FOOT, US_SURVEY_FOOT

CHUNK = 1_000_000
"""Points that are decoded together."""

_LEAST_HEADER = 227  # bytes: that of version 1.0 to 1.2
_LONGEST_RECORD = 512  # bytes of a point, those that a maker adds included
_UNIT_KEYS = {9001: 1.0, 9002: FOOT, 9003: US_SURVEY_FOOT}  # EPSG codes of units of length
_VERSIONS = range(5)

_LEAST_UNIT = 1e-4  # own: m, no unit of length is smaller, nor its inverse larger


def open_las(path: Path, shown: str) -> ScanFile:
    """Return a LAS or LAZ file, its head read.

    Raises
    ------
    SiteError
        It is none, of a version that is not known, cut short, or in degrees.
    """
    _check_head(path, shown)
    with _opened(path, shown) as reader:
        header = reader.header
        said = _said_units(header, shown)
        count = int(header.point_count)
    if count == 0:
        raise SiteError([Problem(shown, "a scan without a point", "points of the yard")])

    def chunks() -> Iterator[tuple[Floats, float]]:
        return _chunks(path, shown, count)

    return ScanFile(shown, "LAS", said, count, chunks)


def _check_head(path: Path, shown: str) -> None:
    """Raise SiteError where the head says what cannot be, before a library believes it."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(_LEAST_HEADER + 148)
        if head[:4] != b"LASF" or len(head) < _LEAST_HEADER:
            raise _broken(shown, "no head of a LAS file")
        major, minor = head[24], head[25]
        if major != 1 or minor not in _VERSIONS:
            found = f"LAS version {major}.{minor}"
            raise SiteError([Problem(shown, found, "version 1.0 to 1.4", "Export it again.")])
        header_size, offset, records = struct.unpack_from("<HII", head, 94)
        format_, length, legacy = struct.unpack_from("<BHI", head, 104)
        count = legacy
        if minor >= 4 and len(head) >= 255:
            count = struct.unpack_from("<Q", head, 247)[0] or legacy
        packed = bool(format_ & 0xC0)
        if not _LEAST_HEADER <= header_size <= offset <= size or records * 54 > offset:
            raise _broken(shown, "a head that points beyond its end")
        if format_ & 0x3F > 10 or not 20 <= length <= _LONGEST_RECORD:
            raise _broken(shown, f"points of format {format_ & 0x3F} with {length} bytes each")
        if not packed and offset + count * length > size:
            there = (size - offset) // length
            raise _broken(shown, f"{there:,} of {count:,} points")
        if packed:
            _check_chunks(file, offset, count, size, shown)


def _check_chunks(file: Any, offset: int, count: int, size: int, shown: str) -> None:
    """Raise SiteError where the table of packed chunks cannot be that of so many points."""
    file.seek(offset)
    place = file.read(8)
    at = struct.unpack("<q", place)[0] if len(place) == 8 else -2
    if at == -1:  # a writer that could not go back tells it in the last eight bytes
        file.seek(size - 8)
        at = struct.unpack("<q", file.read(8))[0]
    file.seek(min(max(at, 0), size))
    table = file.read(8)
    if not offset + 8 <= at <= size or len(table) < 8:
        raise _broken(shown, "a scan cut short: its table of chunks is missing")
    chunks = struct.unpack("<II", table)[1]
    if chunks > count or chunks > (at - offset):
        raise _broken(shown, f"{chunks:,} chunks for {count:,} points")


def _broken(shown: str, found: str) -> SiteError:
    mend = "Copy or export it again: it is cut short, or no scan."
    return SiteError([Problem(shown, found, "a whole LAS or LAZ file", mend)])


def _opened(path: Path, shown: str) -> Any:
    import laspy

    wanted = laspy.DecompressionSelection.XY_RETURNS_CHANNEL | laspy.DecompressionSelection.Z
    with _decoding(shown):
        return laspy.open(
            path,
            laz_backend=laspy.LazBackend.LazrsParallel,
            read_evlrs=False,  # waveforms and the like, of any size
            decompression_selection=wanted,
        )


@contextmanager
def _decoding(shown: str) -> Iterator[None]:
    """Turn what a library says of a broken file into a sentence; it may panic as well as raise."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:
        words = shortened(visible(str(error) or type(error).__name__))
        raise _broken(shown, f"a file that cannot be decoded ({words})") from error


def _chunks(path: Path, shown: str, count: int) -> Iterator[tuple[Floats, float]]:
    done = 0
    with _opened(path, shown) as reader:
        scales, offsets = np.array(reader.header.scales), np.array(reader.header.offsets)
        if not np.isfinite(scales).all() or not np.isfinite(offsets).all() or not scales.all():
            raise _broken(shown, "a head whose scales are no numbers")
        while done < count:
            with _decoding(shown):
                points = reader.read_points(min(CHUNK, count - done))
                raw = (points.X, points.Y, points.Z)
                xyz = np.empty((len(raw[0]), 3))
                with np.errstate(over="ignore"):  # of what is no number, which is left out later
                    for axis, column in enumerate(raw):
                        np.multiply(column, scales[axis], out=xyz[:, axis])
            if not len(xyz):
                raise _broken(shown, f"{done:,} of {count:,} points")
            xyz += offsets
            done += len(xyz)
            yield xyz, done / count


def _said_units(header: Any, shown: str) -> tuple[float, float] | None:
    """Return what the file says of its units along the ground and upward. [m]"""
    keys: dict[int, int] = {}
    for record in header.vlrs:
        text = getattr(record, "string", None)
        if record.user_id.startswith("LASF_Projection") and record.record_id == 2112 and text:
            return units_of_wkt(str(text), shown)
        if record.record_id == 34735:
            for key in getattr(record, "geo_keys", ()):
                if key.tiff_tag_location == 0:
                    keys[key.id] = key.value_offset
    if keys.get(1024) == 2:
        raise in_degrees(shown)
    along = _UNIT_KEYS.get(keys.get(3076, 0))
    system = keys.get(3072, 0)
    if along is None and (32600 < system <= 32660 or 32700 < system <= 32760):
        along = 1.0  # UTM of WGS 84
    if along is None:
        return None
    return along, _UNIT_KEYS.get(keys.get(4099, 0), along)


_UNIT = re.compile(r'\b(?:LENGTH)?UNIT\s*\[\s*"([^"]*)"\s*,\s*([0-9.eE+-]+)')
_UPWARD = re.compile(r"\b(?:VERT_CS|VERTCRS|VERTICALCRS|VERT_DATUM)\s*\[")
_GRID = re.compile(r"\b(?:PROJCS|PROJCRS|PROJECTEDCRS|LOCAL_CS|ENGCRS|ENGINEERINGCRS)\s*\[")
_ANGLES = ("degree", "radian", "grad", "gon", "second")


def units_of_wkt(text: str, shown: str) -> tuple[float, float] | None:
    """Return what a coordinate system in well-known text says of lengths, or None. [m]

    Raises
    ------
    SiteError
        It is one of longitude and latitude.
    """
    upward = _UPWARD.search(text)
    ground, height = (text[: upward.start()], text[upward.start() :]) if upward else (text, "")
    if not _GRID.search(ground):
        if re.search(r"\bGEO[A-Z]*\s*\[", ground):
            raise in_degrees(shown)
        return None
    along = _last_length(ground)
    return None if along is None else (along, _last_length(height) or along)


def _last_length(text: str) -> float | None:
    """Return the last unit of length of a text: that of the axes, after those of what they use."""
    found = None
    for name, size in _UNIT.findall(text):
        if not any(word in name.lower() for word in _ANGLES):
            try:
                found = float(size)
            except ValueError:
                continue
    return found if found and _LEAST_UNIT < found < 1 / _LEAST_UNIT else None
