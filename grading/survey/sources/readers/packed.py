"""Spreadsheets before they are read: what would swell to more than any list of points.

A spreadsheet is packed XML, which a library reads into objects row by row. A few hundred bytes may
unpack to a row of a hundred million cells, so its elements are counted first, by the standard's own
parser (expat), which keeps none of them.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import IO
from xml.parsers import expat

from grading.errors import Problem, SiteError

MOST_UNPACKED = 500_000_000
"""Of all that a spreadsheet holds. [bytes] Common practice, no source."""

MOST_ELEMENTS = 12_000_000
"""Of its sheets and its words together: a million points with an id and a code have as many.
Common practice, no source."""

MOST_IN_A_ROW = 16_384
"""Cells of a row, the most that a sheet has (ECMA-376, part 1, 18.3.1.73; from memory)."""

_BLOCK = 1 << 20


class _TooManyError(Exception):
    """More than is read."""


def check_packed(path: Path, most_packed: int) -> str:
    """Return what is wrong with the size of a packed file, empty where nothing is.

    Parameters
    ----------
    path : Path
    most_packed : int
        Of the file itself. [bytes]

    Raises
    ------
    zipfile.BadZipFile, OSError, ValueError
        It is no packed file.
    """
    with zipfile.ZipFile(path) as packed:
        size = sum(entry.file_size for entry in packed.infolist())
        if size > MOST_UNPACKED or path.stat().st_size > most_packed:
            return f"a spreadsheet of {size / 1e6:.0f} MB unpacked"
        counted = _Counted()
        for entry in packed.infolist():
            if entry.filename.startswith("xl/") and entry.filename.endswith(".xml"):
                with packed.open(entry) as part:
                    said = counted.of(part)
                if said:
                    return said
    return ""


class _Counted:
    """Elements of the parts of one spreadsheet, counted until there are too many."""

    def __init__(self) -> None:
        self._elements = self._in_row = 0
        self._said = ""

    def of(self, part: IO[bytes]) -> str:
        """Return what there is too much of in a part and those before it, empty for nothing."""
        parser = expat.ParserCreate(namespace_separator="}")
        parser.StartElementHandler = self._begun
        parser.StartDoctypeDeclHandler = self._typed
        try:
            while data := part.read(_BLOCK):
                parser.Parse(data, False)
        except (_TooManyError, expat.ExpatError):  # what is broken is told by its reader
            pass
        return self._said

    def _begun(self, name: str, _: object) -> None:
        self._elements += 1
        tag = name.rpartition("}")[2]
        if tag == "row":
            self._in_row = 0
        elif tag == "c":
            self._in_row += 1
        if self._in_row > MOST_IN_A_ROW:
            self._end(f"a row of more than {MOST_IN_A_ROW:,} cells")
        if self._elements > MOST_ELEMENTS:
            self._end(f"more than {MOST_ELEMENTS:,} cells, rows and words")

    def _typed(self, *_: object) -> None:
        self._end("a document type of its own")

    def _end(self, said: str) -> None:
        self._said = said
        raise _TooManyError


def too_large(shown: str, found: str, mend: str) -> SiteError:
    """Return the error of a spreadsheet that is larger than any list of points."""
    most = f"a list of points, at most {MOST_UNPACKED / 1e6:.0f} MB unpacked"
    return SiteError([Problem(shown, found, most, mend)])
