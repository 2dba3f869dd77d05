"""Scans as text, a point on each line."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.signs import shortened, visible
from grading.survey.sources.model import ScanFile

BLOCK = 16_000_000
"""Bytes that are read together: some half a million points."""
_MOST_HEAD = 50  # lines above the first point: titles, a count, remarks


def open_text_scan(path: Path, shown: str) -> ScanFile:
    """Return a file with x, y and z on each line, apart by blanks, tabs, commas or semicolons.

    Lines above the first point, such as a title or a count, are passed over.

    Raises
    ------
    SiteError
        No line of its beginning has three numbers.
    """
    with path.open("rb") as file:
        data = file.read(65_536)
    start = first = 0
    for line in data.split(b"\n")[: _MOST_HEAD + 1]:
        if len(_numbers(line)) >= 3:
            break
        start, first = start + len(line) + 1, first + 1
    else:
        start = len(data)
    if b"\0" in data or start >= len(data):
        found = "no line with x, y and z" if data else "an empty file"
        mend = "Export the points as text, x, y and z on each line."
        raise SiteError([Problem(shown, found, "a scan as text", mend)])

    def chunks() -> Iterator[tuple[Floats, float]]:
        return text_chunks(path, shown, start=start, first=first)

    return ScanFile(shown, "text", None, None, chunks)


def text_chunks(
    path: Path,
    shown: str,
    columns: Sequence[int] = (0, 1, 2),
    start: int = 0,
    first: int = 0,
    count: int | None = None,
) -> Iterator[tuple[Floats, float]]:
    """Yield points (n, 3) of a text with the share of the file that is read.

    Parameters
    ----------
    columns : sequence of int
        Where x, y and z stand in a line.
    start, first : int
        Bytes and lines above the first point.
    count : int or None
        How many points there are; what comes after them is something else. As many as there are
        lines where it is None.

    Raises
    ------
    SiteError
        A line has no three numbers, with its number; or there are fewer than `count`.
    """
    size, done, line = max(path.stat().st_size, 1), 0, first
    with path.open("rb") as file:
        file.seek(start)
        rest = b""
        while data := file.read(BLOCK):
            data = rest + data
            end = data.rfind(b"\n") + 1
            if not end and len(data) >= BLOCK:
                raise _no_point(shown, line + 1, data[:100])
            rest, data = data[end:], data[:end]
            lines = data.split(b"\n")[:-1]
            if count is not None:
                lines = lines[: count - done]
            if lines:
                yield _points(lines, shown, line, columns), file.tell() / size
            done, line = done + len(lines), line + len(lines)
            if done == count:
                return
        if rest.strip() and done != count:
            yield _points([rest], shown, line, columns), 1.0
            done += 1
    if count is not None and done < count:
        found = f"{done:,} of {count:,} points"
        mend = "Copy or export it again: it is cut short."
        raise SiteError([Problem(shown, found, "all of them", mend)])


def _points(lines: list[bytes], shown: str, before: int, columns: Sequence[int]) -> Floats:
    """Return the points of lines (n, 3); `before` is how many lines stand above them."""
    sample = next((line for line in lines if line.strip()), b"")
    sign = next((sign for sign in (";", "\t", ",") if sign.encode() in sample), None)
    if sign == "\t":
        sign = None  # blanks and tabs alike
    texts = [line.decode("latin-1") for line in lines]
    if sign == ";":
        texts = [text.replace(",", ".") for text in texts]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of lines that are all empty
            points = np.loadtxt(texts, delimiter=sign, usecols=columns, ndmin=2, comments="#")
    except ValueError:
        for place, line in enumerate(lines, start=before + 1):
            text = line.split(b"#")[0]
            if text.strip() and len(_numbers(text)) < max(columns) + 1:
                raise _no_point(shown, place, line) from None
        raise _no_point(shown, before + 1, lines[0]) from None
    return points.reshape(-1, 3)


def _numbers(line: bytes) -> list[float]:
    """Return the numbers that a line begins with."""
    text = line.decode("latin-1")
    if ";" in text:
        text = text.replace(",", ".").replace(";", " ")
    cells = text.replace(",", " ").split()
    found = []
    for cell in cells:
        try:
            found.append(float(cell))
        except ValueError:
            break
    return found


def _no_point(shown: str, line: int, text: bytes) -> SiteError:
    words = shortened(visible(text[:200].decode("latin-1"))) or "an empty line"
    mend = "Delete the line, or export the points as text, x, y and z on each line."
    return SiteError([Problem(f"{shown}, line {line}", f'"{words}"', "x, y and z", mend)])
