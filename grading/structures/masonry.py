"""What masonry of blocks is ordered by, whatever it is built into: units, caps, glue, pad."""

from __future__ import annotations

from collections.abc import Iterator

from grading.crew.lines import Line, Work, stone_line
from grading.crew.model import Crew
from grading.geometry.tolerances import whole_up
from grading.units import Unit, percent, run, size, volume


def _pieces(item: str, title: str, net: float, how: str, crew: Crew) -> Line:
    more = crew["wall-waste"]
    amount = float(whole_up(net * (1 + more)))
    mass = amount * crew[{"wall-units": "wall-unit-mass", "caps": "wall-cap-mass"}[item]]
    return Line(item, title, "each", net, amount, f"{how}; {percent(more, 0)} more", mass=mass)


def unit_line(name: str, net: float, how: str, crew: Crew) -> Line:
    """Return the wall units of something, so many of them and what is broken or cut besides.

    Parameters
    ----------
    name : str
        Of what they are built into.
    net : float
        Units in it.
    how : str
        How they were counted, to go before what is added to them.
    crew : Crew
    """
    return _pieces("wall-units", f"units of {name}", net, how, crew)


def cap_line(name: str, net: float, how: str, crew: Crew) -> Line:
    """Return the caps of something, as `unit_line` its units."""
    return _pieces("caps", f"caps of {name}", net, how, crew)


def glue_line(name: str, beads: float, under: str, unit: Unit, crew: Crew) -> Line:
    """Return the glue of something.

    Parameters
    ----------
    name : str
    beads : float
        Length of all beads of it. [m]
    under : str
        What it is laid under.
    unit : "ft" or "m"
    crew : Crew
    """
    reach = crew["glue-reach"]
    net = beads / reach
    how = f"under {under}, a tube to {run(reach, unit)}"
    return Line("glue", f"glue of {name}", "each", net, float(whole_up(net)), how)


def masonry_works(of: str, base: float, courses: float, cuts: float, cut: str) -> tuple[Work, ...]:
    """Return the work of masonry, but digging, carrying and placing stone.

    Parameters
    ----------
    of : str
        What is built.
    base, courses : float
        Length of its base course, as that of its caps, and of all its courses together. [m]
    cuts : float
        How many of its units are cut.
    cut : str
        What cutting them is called.
    """
    return (
        Work(f"lay the base course of {of}", base, "m", "wall-base"),
        Work(f"lay the other courses of {of}", courses - base, "m", "wall-course"),
        Work(f"glue the caps of {of}", base, "m", "wall-cap"),
        Work(cut, cuts, "each", "cut-unit"),
    )


def level_pad(name: str, compacted: float, thick: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    """Yield the stone of a level pad, so much of it compacted [m3] and so thick [m]."""
    how = f"{size(thick, unit)} thick, dead level, {volume(compacted, unit)} compacted"
    yield stone_line("dense-graded", f"pad of {name}", compacted, how, crew)
