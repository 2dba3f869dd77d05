"""How a level thing is set out where the finish falls, in words.

The report, the checks and the crew's sheet tell it in these sentences.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from grading.conditions.level_things import Corner, Courses, End, LevelThing, Risers
from grading.geometry.tolerances import TAPED
from grading.units import Unit, counted, run, size
from grading.worded import Said, Worded, of_file

LINE = 0.001
"""Less than this is told as nothing: no trowel and no saw knows it. [m]"""


def setting_words(thing: LevelThing, unit: Unit) -> Iterator[str]:
    """Give what must be known to set a thing level, a sentence each.

    Parameters
    ----------
    thing : LevelThing
    unit : "ft" or "m"
    """
    if thing.seat.stands == "bedding":
        yield _sand(thing, unit)
    elif any(corner.base_below is not None for corner in thing.corners):
        yield _base(thing, unit)
    yield from map(of_file, beside_words(thing, unit))


def beside_words(thing: LevelThing, unit: Unit) -> Iterator[Said]:
    """Give the same without what lies under its corners, for where a table tells that.

    Parameters
    ----------
    thing : LevelThing
    unit : "ft" or "m"
    """
    yield from _line(thing, unit)
    if thing.ends:
        yield _ends(thing, unit)
    if thing.risers is not None:
        yield risers_words(thing.risers, unit)


def _at_corners(
    corners: Iterable[Corner], values: Iterable[float], unit: Unit, places: bool = False
) -> str:
    return "; ".join(
        f"{size(_told(value), unit)} at {corner.name}" + (f", {corner.where}" if places else "")
        for corner, value in zip(corners, values, strict=True)
    )


def _told(value: float) -> float:
    return 0.0 if abs(value) < LINE else value


def _sand(thing: LevelThing, unit: Unit) -> str:
    sand = [corner.sand or 0.0 for corner in thing.corners]
    return (
        "set level, it has bedding under it, from what carries the pavers: "
        f"{_at_corners(thing.corners, sand, unit, places=True)}"
    )


def _base(thing: LevelThing, unit: Unit) -> str:
    deep = [corner.base_below or 0.0 for corner in thing.corners]
    return (
        "the level top of its base lies below the finish: "
        f"{_at_corners(thing.corners, deep, unit, places=True)}"
    )


def _line(thing: LevelThing, unit: Unit) -> Iterator[str]:
    """Say which line is cut: that of the pavers along it, or that of its lowest course."""
    if thing.line <= LINE:
        return
    pavers = f"pavers are cut along its outline, {run(thing.line, unit)} of it"
    lost = [corner.lost for corner in thing.corners]
    cut = [each for each in lost if each is not None]
    if len(cut) < len(lost) or max(cut, default=0.0) < LINE:
        yield pavers
        return
    yield (
        f"{pavers}; or, where it is of masonry and stands on the pavers, its lowest course is cut "
        f"to the fall and loses {_at_corners(thing.corners, cut, unit)}"
    )


def courses_words(found: Courses, course: float, unit: Unit) -> str:
    """Say how many courses show: "3 courses of 6 in and 1 1/4 in of one more".

    What is no more than a joint is not told as a course: no block is cut so thin.

    Parameters
    ----------
    found : Courses
    course : float
        Height of one. [m]
    unit : "ft" or "m"
    """
    many = counted(found.whole, "course")
    said = f"{many} of {size(course, unit)}"
    if found.part >= TAPED:
        said += f" and {size(found.part, unit)} of one more"
    return said


def end_words(end: End, course: float | None, unit: Unit) -> str:
    """Say how much of a wall shows at one end, and in how many courses.

    Parameters
    ----------
    end : End
    course : float or None
        Height of one; None where it is not laid in courses. [m]
    unit : "ft" or "m"
    """
    said = size(end.shows, unit)
    if course is not None and end.courses is not None:
        said += f", {courses_words(end.courses, course, unit)}"
    return said


def _ends(thing: LevelThing, unit: Unit) -> Said:
    high, low = thing.ends
    shows, less = (end_words(end, thing.course, unit) for end in thing.ends)
    said: Said = (
        f"level on top, it shows {shows}, at its high end ({high.where}), and {less}, at its low "
        f"end ({low.where})"
    )
    if shows == less:
        said = f"level on top, it shows {shows}, at either end"
    if thing.laid is not None and thing.course is not None:
        said += f"; {thing.laid} courses from its base to its top"
        if thing.spare >= LINE:
            said += (
                f", whole where its base lies {size(thing.spare, unit)} deeper, which is planned "
                + Worded("once [[feature]] course says how high one is",
                         "once it is told how high one is")
            )  # fmt: skip
    return said


def risers_words(risers: Risers, unit: Unit) -> str:
    """Say how steps go down from a sill to the finish at their foot.

    Parameters
    ----------
    risers : Risers
    unit : "ft" or "m"
    """
    many = counted(risers.count, "riser")
    said = (
        f"from the sill of {risers.door.name} down to the finish at their foot "
        f"{size(risers.drop, unit)}: {many} of {size(risers.each, unit)}"
    )
    if risers.count == 1:
        said += ", which asks for no steps"
    elif not risers.fits:
        said += f", with steps {size(risers.height, unit)} high over the finish at their high edge"
    if risers.last is not None and not risers.fits:
        said += f"; with steps as high as is given, the last one up is {size(risers.last, unit)}"
    return said
