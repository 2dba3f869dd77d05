"""The formats that a plan is exported in, by name, and the writer of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.pipeline import Plan
from viz.export.dxf import write_dxf
from viz.export.glb import write_models
from viz.export.landxml import write_landxml
from viz.export.levels import levels_table
from viz.export.planbook import write_planbook
from viz.export.stl import write_solids
from viz.export.usdz import installed, require_usd, write_packed_models
from viz.file_names import area_slugs, slug
from viz.files import write_with
from viz.table import DIGITS, csv_text


def _areas(plan: Plan) -> Iterator[tuple[AreaPlan, str]]:
    yield from zip(plan.areas, area_slugs(plan), strict=True)


def _bases(plan: Plan) -> Iterator[tuple[AreaPlan, str, str]]:
    """Yield each area with each of its base systems, and the start of the names of its files."""
    for area, name in _areas(plan):
        taken: set[str] = set()
        for base in area.digs:
            plain, count = slug(base), 1
            while plain in taken:
                count += 1
                plain = f"{slug(base)}-{count}"
            taken.add(plain)
            yield area, base, f"{name}-{plain}"


def _glb(plan: Plan, folder: Path) -> None:
    for area, base, name in _bases(plan):
        write_models(plan, area, base, folder / name)


def _usdz(plan: Plan, folder: Path) -> None:
    for area, base, name in _bases(plan):
        write_packed_models(plan, area, base, folder / name)


def _stl(plan: Plan, folder: Path) -> None:
    (folder / "stl").mkdir()
    for area, base, name in _bases(plan):
        write_solids(area, base, folder / "stl" / name)


def _dxf(plan: Plan, folder: Path) -> None:
    for area, name in _areas(plan):
        write_dxf(plan, area, folder / f"{name}.dxf")


def _landxml(plan: Plan, folder: Path) -> None:
    write_landxml(plan, folder / "surfaces.xml")


def _xlsx(plan: Plan, folder: Path) -> None:
    write_planbook(plan, folder / "plan.xlsx")


def _csv(plan: Plan, folder: Path) -> None:
    for area, name in _areas(plan):
        text = csv_text(levels_table(plan, area).rounded(DIGITS))
        (folder / f"{name}-points.csv").write_text(text, encoding="utf-8-sig")


FORMATS: dict[str, Callable[[Plan, Path], None]] = {
    "glb": _glb,
    "usdz": _usdz,
    "stl": _stl,
    "dxf": _dxf,
    "landxml": _landxml,
    "xlsx": _xlsx,
    "csv": _csv,
}
"""The writer of each format; it puts files of its own into a folder."""


def chosen_formats(words: str | None) -> tuple[str, ...]:
    """Return the formats that a person named, separated by commas; all of them for None.

    What takes a library that is not installed is left out of all of them.

    Raises
    ------
    SiteError
        A name is none of them, or its library is not installed.
    """
    if words is None:
        return tuple(name for name in FORMATS if name != "usdz" or installed())
    names = [name.strip().lower() for name in words.split(",") if name.strip()]
    unknown = [name for name in names if name not in FORMATS]
    if unknown or not names:
        found = " and ".join(f'"{name}"' for name in unknown) or "no format"
        raise SiteError(
            [Problem("--as", found, f"any of {', '.join(FORMATS)}", "Leave it out for all.")]
        )
    if "usdz" in names:
        require_usd()
    return tuple(dict.fromkeys(names))


def export(plan: Plan, folder: Path, formats: Iterable[str] | None = None) -> list[Path]:
    """Write a plan in open formats, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Made where it is not there; files of earlier runs are replaced.
    formats : iterable of str, optional
        Keys of `FORMATS`; by default all that can be written here.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """
    names: Sequence[str] = tuple(chosen_formats(None) if formats is None else formats)

    def make(made: Path) -> None:
        for name in names:
            FORMATS[name](plan, made)

    return write_with(folder, make, plan.site)
