"""Who the crew is: [crew] of crew.toml, its name and how to reach it, as its sheets say it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pydantic import Field, StrictBool

from grading.errors import Problem
from grading.files.fields import Name, Table
from grading.files.xml_text import prolog_of

LOGOS = {
    ".png": b"\x89PNG\r\n\x1a\n",
    ".jpg": b"\xff\xd8\xff",
    ".jpeg": b"\xff\xd8\xff",
    ".svg": b"",
}
"""The kinds of picture that a logo may be, and how such a file begins; svg is read as XML."""

LARGEST_LOGO = 5_000_000
"""What a logo weighs at the most: every sheet carries it. [bytes]"""

_EXPECTED = "a picture that ends in .png, .jpg or .svg"


class CrewTable(Table):
    """[crew]: what stands at the head of the sheets; every key may be left out."""

    name: Name | None = Field(None, description="the name of the crew in quotes")
    phone: Name | None = Field(None, description='a telephone number in quotes, "555 0142"')
    email: Name | None = Field(None, description="an e-mail address in quotes")
    registration: Name | None = Field(
        None, description="a licence or registration number in quotes, as it should be printed"
    )
    logo: Name | None = Field(
        None, description="the file of a picture beside crew.toml, such as logo.png"
    )
    show_prices: StrictBool = Field(
        False, description="true where the sheets may tell what the job costs, or false"
    )


def logo_path(table: CrewTable, folder: Path) -> Path | None:
    """Return where the logo lies, None where there is none.

    Parameters
    ----------
    table : CrewTable
    folder : Path
        That of crew.toml.
    """
    return None if table.logo is None else folder / table.logo


def logo_problems(table: CrewTable, folder: Path, shown: str) -> Iterator[Problem]:
    """Yield what is wrong with the file of the logo.

    Parameters
    ----------
    table : CrewTable
    folder : Path
        That of crew.toml.
    shown : str
        The name of crew.toml in messages.
    """
    path = logo_path(table, folder)
    if path is None:
        return
    where, found = f"{shown}, key crew.logo", f'"{table.logo}"'
    if not path.resolve().is_relative_to(folder.resolve()):
        mend = f"Copy the picture beside {shown}."
        yield Problem(where, f"{found}, which leaves the folder", "a file inside it", mend)
    elif path.suffix.lower() not in LOGOS:
        yield Problem(where, found, _EXPECTED)
    elif not path.is_file():
        yield Problem(where, f"{found}, which is not there", "the file of a picture")
    elif path.stat().st_size > LARGEST_LOGO:
        most = f"a picture of at most {LARGEST_LOGO // 1_000_000} MB"
        yield Problem(
            where, f"{found}, {path.stat().st_size / 1e6:.1f} MB", most, "Make it smaller."
        )
    elif not _is_picture(path):
        kind = path.suffix.lower().lstrip(".")
        yield Problem(where, f"{found}, which holds no {kind} picture", _EXPECTED, "Save it again.")


def _is_picture(path: Path) -> bool:
    try:
        data = path.read_bytes()
    except OSError:
        return False
    if path.suffix.lower() != ".svg":
        return data.startswith(LOGOS[path.suffix.lower()])
    from xml.etree import ElementTree

    # An entity could be made to grow without end, and no drawing program writes one.
    if prolog_of(data).has_entities:
        return False
    try:
        return str(ElementTree.fromstring(data).tag).rpartition("}")[2] == "svg"
    except (ElementTree.ParseError, UnicodeError, ValueError, LookupError):
        return False
