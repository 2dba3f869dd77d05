"""Which sites are meant by the words after the command: each its own folder, or folders of them."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.reading.site_file import locate
from grading.reading.written import FILE
from viz.files import NOTE
from viz.many.several import inside
from viz.tables.yards import CSV, XLSX

OWN_MARK = ".fallaway"
"""What the names of our own files in a folder begin with."""

_TAKEN = frozenset(name.casefold() for name in (CSV, XLSX, NOTE))


class Found(Struct, frozen=True):
    """A site that was named.

    path : as it was written.
    home : its folder, in full.
    refused : why no site is there, empty where one is.
    """

    path: Path
    home: Path
    refused: str = ""

    @property
    def name(self) -> str:
        """The name of its folder, by which it stands in the table."""
        return self.home.name or "site"


def sites_of(paths: Sequence[Path], out: Path | None = None) -> list[Found]:
    """Return the sites that paths mean, in their order; those of one folder by name.

    A path that leads to none among others that do is told in its row, and stops none of them.

    Parameters
    ----------
    paths : sequence of Path
        Site folders, their site files, and folders of site folders.
    out : Path, optional
        The folder to write into.

    Raises
    ------
    SiteError
        No path leads to a site, a site is named twice, two have one name, or what is written would
        stand inside one.
    """
    found: list[Found] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            found += _sites_at(path)
        except SiteError as error:
            problems += error.problems
            found.append(Found(path, path.resolve(), str(error)))
    wrong = list(_twice(found))
    if out is not None:
        wrong += _in_the_way(found, out)
    if wrong or all(each.refused for each in found):
        raise SiteError(problems + wrong)
    return found


def _sites_at(path: Path) -> list[Found]:
    try:
        return _entered(path)
    except OSError as error:
        found = f"a folder that cannot be entered ({error.strerror})"
        expected = f"a folder with {FILE}, or a folder of such"
        mend = "Give it rights to be read."
        raise SiteError([Problem(str(path), found, expected, mend)]) from error


def _entered(path: Path) -> list[Found]:
    if path.is_dir() and not (path / FILE).is_file():
        sites = inside(path)
        if not sites:
            found = f"a folder without {FILE}, and none in the folders inside it"
            mend = f"A site is a folder that holds {FILE}: name it, or the folder that it is in."
            raise SiteError([Problem(str(path), found, "a site, or a folder of sites", mend)])
        return [Found(each, each.resolve()) for each in sites]
    folder, _ = locate(path)
    return [Found(path, folder.resolve())]


def _twice(found: Sequence[Found]) -> Iterator[Problem]:
    by_home: dict[Path, Found] = {}
    by_name: dict[str, Found] = {}
    for each in found:
        if each.home in by_home:
            first = by_home[each.home]
            same = "twice" if first.path == each.path else f"and {each.path}, which are one site"
            yield Problem("the command", f"{first.path} {same}", "each site once",
                          "Leave one of them out.")  # fmt: skip
            continue
        by_home[each.home] = each
        # Some file systems take "Elm" and "elm" for one name.
        first = by_name.setdefault(_plain(each.name), each)
        if first is not each:
            yield Problem(
                "the command", f'two sites in folders named "{each.name}", {first.path} and '
                f"{each.path}", "names that differ, for each has its row by that name",
                "Rename one of the folders, or plan them apart.",
            )  # fmt: skip


def _plain(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _in_the_way(found: Sequence[Found], out: Path) -> Iterator[Problem]:
    """Yield what forbids that the table and a folder for each site are written into a folder."""
    where, into = f"--out {out}", out.resolve()
    mend = "Name a folder elsewhere."
    homes = {each.home: each for each in found}
    for place in (into, *into.parents):
        if place in homes:
            what = "the site" if place == into else "a folder inside the site"
            yield Problem(where, f"{what} {homes[place].path}", "a folder outside of every site",
                          mend)  # fmt: skip
            return
    for each in found:
        target = into / each.name
        if target in homes:
            yield Problem(where, f"the folder that holds the site {homes[target].path}",
                          "a folder in which no site stands", mend)  # fmt: skip
            return
        if each.name.casefold() in _TAKEN or each.name.startswith(OWN_MARK):
            yield Problem(str(each.path), f'a site in a folder named "{each.name}"',
                          "another name, for a file of the table is called so",
                          "Rename the folder.")  # fmt: skip
