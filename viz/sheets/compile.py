"""From data and pictures to a PDF: a template that a person can edit, set by a typesetter.

The template reads its data as JSON from `sys.inputs.data`, so nothing that a person wrote is ever
taken for code. Pictures lie beside it as files with names of our own.
"""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Mapping
from contextlib import ExitStack
from importlib.resources import files
from types import TracebackType
from typing import Any, Self

from viz.paper.compose import Sheet
from viz.paper.lettering import extent, font_file
from viz.paper.players import write
from viz.scratch import scratch_folder
from viz.sheets.lettered import lettered

TEMPLATES = ("common.typ", "plain.typ", "homeowner.typ", "questions.typ", "crew.typ", "change.typ",
             "stakes.typ", "signoff.typ", "asbuilt.typ", "quote.typ", "pricing.typ")  # fmt: skip
MADE = 0
"""The moment that every sheet says it was made at, so that two runs give the same bytes. [s]"""

CLOSEST = 4
"""Steps by which a sheet is set closer, that takes more pages than it may."""

_SOLID = 24.0  # of the type size: a wider word may be broken anywhere, as 24 capital W are
_LONGEST = 160  # letters of a name that a person wrote


class Compiled:
    """A sheet in the making: a folder with its templates and pictures.

    Parameters
    ----------
    kind : "homeowner", "questions", "crew", "change", "stakes", "signoff", "asbuilt",
        "quote" or "pricing"
        Which template.
    """

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self._count = 0

    def __enter__(self) -> Self:
        home = files("viz.sheets").joinpath("templates")
        with ExitStack() as stack:
            self.folder = stack.enter_context(scratch_folder())
            for name in TEMPLATES:
                text = home.joinpath(name).read_text(encoding="utf-8")
                (self.folder / name).write_text(text, encoding="utf-8")
            self._stack = stack.pop_all()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self._stack.__exit__(kind, error, trace)

    def _name(self, ending: str) -> str:
        self._count += 1
        return f"picture-{self._count}.{ending}"

    def drawing(self, sheet: Sheet, alt: str) -> dict[str, Any]:
        """Play a drawing to SVG beside the template; return its file, size [mm] and words."""

        name = self._name("svg")
        write(lettered(sheet), self.folder / name.removesuffix(".svg"), ("svg",))
        size = {"width": sheet.page.width, "height": sheet.page.height}
        return {"file": name, "alt": printable(alt, 600), **size}

    def picture(self, data: bytes, ending: str, alt: str) -> dict[str, Any]:
        """Put a picture beside the template; return its file and words."""
        name = self._name(ending)
        (self.folder / name).write_bytes(data)
        return {"file": name, "alt": printable(alt, 600)}

    def fault(self, name: str) -> str:
        """Return why a picture of the sheet cannot be set, empty where it can."""
        import typst

        alone = self.folder / "alone.typ"
        alone.write_text(f"#image({json.dumps(name)})", encoding="utf-8")
        try:
            typst.compile(str(alone), root=str(self.folder), ignore_system_fonts=True)
        except typst.TypstError as error:
            return str(error).partition(" (")[0]
        return ""

    def _read(self, data: Mapping[str, Any]) -> dict[str, Any]:
        # The typsetter's own fonts stand behind it for signs that the drawings' font lacks.
        return {
            "root": str(self.folder),
            "font_paths": [str(font_file().parent)],
            "ignore_system_fonts": True,
            "sys_inputs": {"data": json.dumps(data, allow_nan=False)},
        }

    def pdf(self, data: Mapping[str, Any]) -> bytes:
        """Return the sheet as a tagged PDF.

        Parameters
        ----------
        data : mapping
            What the template reads.
        """
        import typst

        made = typst.compile(
            str(self.folder / f"{self.kind}.typ"), **self._read(data), pdf_standards=["ua-1"],
            timestamp=MADE, format="pdf",
        )  # fmt: skip
        assert isinstance(made, bytes)
        return made

    def within(self, data: Mapping[str, Any], most: int) -> bytes:
        """Return the sheet as a tagged PDF of so many pages at the most, set closer for that.

        Parameters
        ----------
        data : mapping
            What the template reads, beside how close it is set.
        most : int
            Pages. What takes more however close is set as close as makes them the fewest.
        """
        import typst

        file = str(self.folder / f"{self.kind}.typ")

        def pages(closer: int) -> int:
            read = self._read({**data, "closer": closer})
            found: list[int] = json.loads(typst.query(file, "<pages>", field="value", **read))
            return found[0]

        closer = 0
        if pages(0) > most:
            # As many as it takes however close: no closer than that needs.
            fewest = max(most, pages(CLOSEST))
            closer = bisect_left(range(CLOSEST), True, 1, key=lambda each: pages(each) <= fewest)
        return self.pdf({**data, "closer": closer})


def printable(text: str, longest: int = _LONGEST) -> str:
    """Return what a person wrote as it is set: cut where it is very long, breakable in long words.

    Parameters
    ----------
    text : str
    longest : int
        Letters kept.
    """
    if len(text) > longest:
        text = text[: longest - 1].rstrip() + "…"

    words = []
    for word in text.split(" "):
        # A name that people have fits its place, and is found and copied whole; no word of fewer
        # letters than this is wider.
        if len(word) > _SOLID and extent(word, 1.0)[0] > _SOLID:
            # A zero-width space: the word may end a line here, and is one word to a reader.
            word = "\u200b".join(word[k : k + 12] for k in range(0, len(word), 12))
        words.append(word)
    return " ".join(words)
