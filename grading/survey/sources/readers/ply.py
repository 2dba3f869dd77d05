"""Scans in PLY, as telephones write them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.survey.sources.model import ScanFile
from grading.survey.sources.readers.text_scan import text_chunks

CHUNK = 1_000_000

_TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"), **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"), **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"), **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"), **dict.fromkeys(("double", "float64"), "f8"),
}  # fmt: skip
_FORMATS = {"binary_little_endian": "<", "binary_big_endian": ">", "ascii": ""}
_LONGEST_HEAD = 65_536  # bytes


class _Head(Struct, frozen=True):
    """What stands above the numbers.

    order : "<", ">" or "" for text. start : where the points begin, after what stands before
    them. lines : lines of text up to there.
    """

    order: str
    count: int
    fields: tuple[tuple[str, str], ...]
    start: int
    lines: int


def open_ply(path: Path, shown: str) -> ScanFile:
    """Return a PLY file, its head read.

    Raises
    ------
    SiteError
        It is none, has no points with x, y and z, or ends before the last of them.
    """
    with path.open("rb") as file:
        head = _head(file.read(_LONGEST_HEAD), shown)
    if head.count == 0:
        raise SiteError([Problem(shown, "a scan without a point", "points of the yard")])
    names = [name for name, _ in head.fields]
    where = [names.index(axis) for axis in "xyz"]
    if not head.order:

        def texts() -> Iterator[tuple[Floats, float]]:
            return text_chunks(
                path, shown, columns=where, start=head.start, first=head.lines, count=head.count
            )

        return ScanFile(shown, "PLY", None, head.count, texts)
    row = np.dtype([(name, head.order + kind) for name, kind in head.fields])
    there = max(path.stat().st_size - head.start, 0) // row.itemsize
    if there < head.count:
        raise _broken(shown, f"{there:,} of {head.count:,} points")

    def chunks() -> Iterator[tuple[Floats, float]]:
        rows = np.memmap(path, row, mode="r", offset=head.start, shape=(head.count,))
        for start in range(0, head.count, CHUNK):
            part = rows[start : start + CHUNK]
            with np.errstate(invalid="ignore"):  # of what is no number, which is left out later
                xyz = np.column_stack([part[axis].astype(float) for axis in "xyz"])
            yield xyz, min(start + CHUNK, head.count) / head.count

    return ScanFile(shown, "PLY", None, head.count, chunks)


def _broken(shown: str, found: str, mend: str = "") -> SiteError:
    mend = mend or "Copy or export it again: it is cut short, or no scan."
    return SiteError([Problem(shown, found, "a whole PLY file", mend)])


def _head(data: bytes, shown: str) -> _Head:
    end = data.find(b"end_header")
    line_end = data.find(b"\n", end)
    if not data.startswith(b"ply") or end < 0 or line_end < 0:
        raise _broken(shown, "no head of a PLY file")
    order: str | None = None
    elements: list[tuple[str, int, list[tuple[str, str]]]] = []
    words = [line.split() for line in data[:end].decode("latin-1").splitlines()]
    try:
        for word, *rest in (line for line in words if line):
            if word == "format":
                order = _FORMATS[rest[0]]
            elif word == "element":
                elements.append((rest[0], int(rest[1]), []))
            elif word == "property":
                # A list has as many bytes as its first number says: none can be skipped unread.
                kind = "list" if rest[0] == "list" else _TYPES[rest[0]]
                elements[-1][2].append((rest[-1], kind))
    except (KeyError, IndexError, ValueError):
        raise _broken(shown, "a head of PLY that cannot be read") from None
    if order is None or any(count < 0 for _, count, _ in elements):
        raise _broken(shown, "a head of PLY that cannot be read")
    start, lines = line_end + 1, data[: line_end + 1].count(b"\n")
    for name, count, fields in elements:
        kinds = [kind for _, kind in fields]
        if name == "vertex":
            return _of_points(order, count, fields, start, lines, shown)
        if "list" in kinds or not order:
            raise _broken(
                shown, f"`{name}` before the points", "Export the points alone, as a point cloud."
            )
        start += count * sum(np.dtype(kind).itemsize for kind in kinds)
    raise _broken(shown, "no points", "Export it as a point cloud.")


def _of_points(
    order: str, count: int, fields: list[tuple[str, str]], start: int, lines: int, shown: str
) -> _Head:
    names = [name for name, _ in fields]
    if any(names.count(axis) != 1 for axis in "xyz"):
        raise _broken(
            shown, f"points with {', '.join(names) or 'nothing'}", "x, y and z are asked."
        )
    if any(kind == "list" for _, kind in fields) or len(set(names)) < len(names):
        raise _broken(shown, "points of unlike length", "Export it as a point cloud.")
    return _Head(order, count, tuple(fields), start, lines)
