"""Today's instrument: its height from a reading on a benchmark, and the rod that a level reads.

Rod = height of the instrument - elevation (grade rod: NAVEDTRA 14069, Engineering Aid Basic,
chapter 14). A bigger reading is a lower point.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.geometry.tolerances import READ, ROUNDING
from grading.site.model import Site
from grading.units import FOOT, INCH, Unit, UnitError, feet_inches, read_length
from grading.units.rods import ROD_UNITS, RodUnit, read_rod

_FINEST = 1e-4  # own: m, no rod is read finer
_DECIMALS: Mapping[str, tuple[float, int]] = {
    "ft": (FOOT, 2), "m": (1.0, 3), "cm": (0.01, 1), "mm": (0.001, 0),
}  # fmt: skip


class Instrument(Struct, frozen=True):
    """A level set up in the yard.

    Attributes
    ----------
    benchmark : str
        What it was sighted on.
    z : float
        The elevation of that. [m]
    reading : float
        On the rod held there. [m]
    rod : float
        How long the rod is. [m]
    """

    benchmark: str
    z: float
    reading: float
    rod: float

    @property
    def height(self) -> float:
        """Of its line of sight. [m]"""
        return self.z + self.reading

    def at(self, z: float) -> float:
        """Return what a rod reads that is held at an elevation; below zero above the sight. [m]"""
        return self.height - z


def benchmarks_of(site: Site) -> dict[str, float]:
    """Return what an instrument can be sighted on, by its name: benchmarks, sills of doors. [m]"""
    sills = {door.name: float(door.sill) for door in site.doors}
    return {**sills, **{each.name: float(each.z) for each in site.benchmarks}}


def instrument_of(
    site: Site, benchmark: str | None, reading: str | None, rod: float, marks: RodUnit
) -> Instrument | None:
    """Return the instrument that a person tells of, None where none is told of.

    Parameters
    ----------
    site : Site
    benchmark : str or None
        The name of one of `benchmarks_of`; may be left out where there is only one.
    reading : str or None
        As it was read on the rod; a bare number as the rod is marked.
    rod : float
        How long the rod is. [m]
    marks : RodUnit
        What it is marked in.

    Raises
    ------
    SiteError
        A benchmark without a reading, a name that is none, several to choose from, or a reading
        that is no length, or longer than the rod.
    """
    if benchmark is None and reading is None:
        return None
    known = benchmarks_of(site)
    named = ", ".join(f'"{name}"' for name in known)
    if reading is None:
        mend = "Hold the rod on it and write what it reads after --reading."
        raise SiteError([Problem("--benchmark", f'"{benchmark}" without a reading', "both", mend)])
    if not known:
        mend = "Write a [[benchmark]] with a name and its z into site.toml, or the sill of a door."
        raise SiteError([Problem("--reading", "a site without a benchmark", "one", mend)])
    if benchmark is None and len(known) > 1:
        found = f"a reading without the benchmark it was taken on, of {len(known)}"
        raise SiteError([Problem("--reading", found, f"--benchmark with one of {named}")])
    name = next(iter(known)) if benchmark is None else benchmark
    if name not in known:
        mend = nearest(name, list(known))
        raise SiteError([Problem("--benchmark", shown_value(name), f"one of {named}", mend)])
    try:
        told = float(read_rod(reading, marks))
    except UnitError as error:
        raise SiteError([Problem("--reading", error.found, error.expected, error.mend)]) from None
    if abs(told) > rod:
        mend = "Read it again; a longer rod stands in [limits] as rod-length."
        found = f"a reading of {reading}, beyond the rod"
        raise SiteError([Problem("--reading", found, f"at most {rod_words(rod, 'm')}", mend)])
    return Instrument(name, known[name], told, rod)


def rod_marks(words: str | None, site: Site) -> RodUnit:
    """Return what a rod is marked in: as is said, else that of the level book, or as usual.

    Parameters
    ----------
    words : str or None
    site : Site

    Raises
    ------
    SiteError
        No rod is marked in that.
    """
    if words is None:
        return site.levels[0].rod if site.levels else "ft-in" if site.unit == "ft" else "m"
    for marks in ROD_UNITS:
        if words == marks:
            return marks
    expected = f"one of {', '.join(ROD_UNITS)}"
    raise SiteError([Problem("--rod", shown_value(words), expected)])


def rounding_of(words: str | None, unit: Unit) -> float:
    """Return what rods and tapes are told to the nearest of. [m]

    Parameters
    ----------
    words : str or None
        A length; 1/16 in, or 1 mm, where it is left out.
    unit : "ft" or "m"

    Raises
    ------
    SiteError
        No length, or one that no rod is read to.
    """
    if words is None:
        return READ[unit]
    try:
        step = read_length(words, unit)
    except UnitError as error:
        raise SiteError([Problem("--round", error.found, error.expected, error.mend)]) from None
    if not _FINEST <= step <= INCH:
        raise SiteError([Problem("--round", words, "from 0.1 mm to 1 in, such as 1/16 in")])
    return step


def rounded(metres: float, step: float) -> float:
    """Return a length to the nearest step, halves up; each from its own exact value. [m]"""
    # What lies at a half but for rounding goes up as well.
    return float((metres / step + 0.5 + ROUNDING) // 1 * step)


def step_on(rod: RodUnit, step: float) -> float:
    """Return what a rod is told to the nearest of: whole last digits, the most that a step holds.

    A sixteenth of an inch is no number of millimetres: rounded to it first and to a digit then, a
    reading would be off by half of both.

    Parameters
    ----------
    rod : "ft-in", "ft", "m", "cm" or "mm"
    step : float
        [m]
    """
    if rod == "ft-in":
        return step
    factor, decimals = _DECIMALS[rod]
    last = factor / 10**decimals
    return float(max((step / last + ROUNDING) // 1, 1.0) * last)


def rod_words(metres: float, rod: RodUnit, step: float = INCH / 16) -> str:
    """Write a reading as it stands on a rod.

    Parameters
    ----------
    metres : float
    rod : "ft-in", "ft", "m", "cm" or "mm"
        What the rod is marked in.
    step : float
        What it is told to the nearest of. [m]
    """
    step = step_on(rod, step)
    told = rounded(metres, step)
    if rod == "ft-in":
        return feet_inches(told, max(round(INCH / step), 1))
    factor, decimals = _DECIMALS[rod]
    return f"{told / factor + 0.0:.{decimals}f}"
