"""Points in CSV and in spreadsheets."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from grading.errors import Problem, SiteError
from grading.files.csv_rows import check_lines, delimiter_of, lines_in, rows_of
from grading.files.toml_text import read_limited
from grading.signs import shortened, visible
from grading.survey.sources.model import PointFile
from grading.survey.sources.readers.packed import check_packed, too_large
from grading.survey.sources.readers.rows import points_of_rows

_LENGTH = re.compile(r"[-+\d.,/'\"\s]+(?:ft|in|m|cm|mm)?\s*")
"""A number or a length, and no code or note, whose commas are the person's own."""

LARGEST = 64_000_000
"""Bytes of a file of points at the most; a scan may have any number."""
THIN = "Thin it, or read it as a scan: --as scan."

_MOST_ROWS = 1_000_000
_MOST_COLUMNS = 60


def read_csv(path: Path, shown: str, given: float | None) -> PointFile:
    """Return the points of a CSV file, with a header in any order or without one.

    Cells are parted by commas, or by semicolons or tabs (decimals may then have a comma).

    Raises
    ------
    SiteError
        See `points_of_rows`; or the file is no text.
    """
    lines = lines_in(text_of(path, shown))
    sign = delimiter_of(next((line for line in lines if line.strip()), ""))
    rows = rows_of(lines, 0, sign, shown)
    if sign != ",":
        rows = [(number, list(map(_pointed, cells))) for number, cells in rows]
    return points_of_rows(rows, shown, "CSV", given)


def _pointed(cell: str) -> str:
    return cell.replace(",", ".") if _LENGTH.fullmatch(cell) else cell


def text_of(path: Path, shown: str) -> str:
    """Return a text, UTF-8 or UTF-16 with a mark, or as Windows writes it; SiteError if none."""
    data = read_limited(path, shown, LARGEST, THIN)
    check_lines(data, shown, THIN)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encoding = "utf-16"
    else:
        encoding = "utf-8-sig" if _is_utf8(data) else "cp1252"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise SiteError([Problem(shown, "a file that is no text", "points as text")])
    return text


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def read_xlsx(path: Path, shown: str, given: float | None, part: str | None) -> PointFile:
    """Return the points of a sheet of a spreadsheet, as of a CSV file.

    Parameters
    ----------
    part : str or None
        The name of the sheet; the one that has rows where it is None.

    Raises
    ------
    SiteError
        See `points_of_rows`; it is no spreadsheet, or more sheets than one have rows.
    """
    import openpyxl

    _check_packed(path, shown)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and pictures that are not read
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
            rows = _Rows(shown)
            with closing(book):
                sheets = {sheet.title: list(rows.of(sheet)) for sheet in book.worksheets}
    except SiteError:
        raise
    except Exception as error:
        raise _no_sheet(shown, error) from error
    filled = {name: rows for name, rows in sheets.items() if any(any(row) for _, row in rows)}
    if part is not None and part not in sheets:
        raise no_such_part(shown, "sheet", part, list(sheets))
    if part is None and len(filled) > 1:
        raise several_parts(shown, "sheets", list(filled))
    name = part if part is not None else next(iter(filled), next(iter(sheets), ""))
    return points_of_rows(sheets.get(name, []), shown, "XLSX", given)


def _check_packed(path: Path, shown: str) -> None:
    """Raise SiteError where a packed file is none, or swells to more than any list of points."""
    try:
        found = check_packed(path, LARGEST)
    except Exception as error:
        raise _no_sheet(shown, error) from error
    if found:
        raise too_large(shown, found, THIN)


def _no_sheet(shown: str, error: Exception) -> SiteError:
    words = shortened(visible(str(error))) or type(error).__name__
    mend = "Save it again as XLSX, or as CSV."
    return SiteError([Problem(shown, f"no whole spreadsheet ({words})", "an XLSX file", mend)])


class _Rows:
    """The rows of the sheets of one spreadsheet that hold anything, as far as there is room."""

    def __init__(self, shown: str) -> None:
        self._shown = shown
        self._count = 0

    def of(self, sheet: Any) -> Iterator[tuple[int, list[str]]]:
        """Yield the rows of a sheet, each with its number."""
        sheet.reset_dimensions()  # programs write what is not so
        # Closed by itself: where too many are there, the file would stay open behind it.
        with closing(sheet.iter_rows(values_only=True, max_col=_MOST_COLUMNS)) as rows:
            for number, row in enumerate(rows, start=1):
                self._count += 1
                if self._count > _MOST_ROWS:
                    found = f"more than {_MOST_ROWS:,} rows"
                    raise SiteError([Problem(self._shown, found, "fewer", THIN)])
                cells = [_as_text(cell) for cell in row]
                if any(cells):
                    yield number, cells


def _as_text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        # A point 7 is kept as 7.0 by a spreadsheet.
        return str(int(cell)) if abs(cell) < 1e15 and cell == int(cell) else repr(cell)
    return str(cell)


def no_such_part(shown: str, what: str, part: str, known: list[str]) -> SiteError:
    """Return the error of a part that a file has not."""
    listed = ", ".join(f'"{shortened(visible(name))}"' for name in known[:20]) or "none"
    found = f'no {what} "{shortened(visible(part))}"'
    return SiteError([Problem(shown, found, f"one of {listed}", "Look at --part.")])


def several_parts(shown: str, what: str, known: list[str]) -> SiteError:
    """Return the error of a file with several parts of which none was chosen."""
    listed = ", ".join(f'"{shortened(visible(name))}"' for name in known[:20])
    mend = f'Say which with --part, such as --part "{shortened(visible(known[0]))}".'
    return SiteError([Problem(shown, f"{len(known)} {what}: {listed}", "one", mend)])
