"""Booked points as shots of the survey, and what of a book is no ground."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from grading.catalogue.rules import Limits
from grading.site.level_book import LevelBook
from grading.site.model import Reading
from grading.site.survey_tables import same_name
from grading.survey.levels import Levels
from grading.survey.shots import Shot, Survey
from grading.survey.taped import Taped
from grading.units import Unit, number, size


def booked_survey(
    levels: Levels, places: Taped, books: Sequence[LevelBook], limits: Limits
) -> Survey:
    """Return the points of level books that are ground: levelled, placed, the rod upright.

    Parameters
    ----------
    levels : Levels
    places : Taped
    books : sequence of LevelBook
        Those that both are of.
    limits : Limits
    """
    rods = {book.file: book.rod for book in books}
    shots = []
    for point in levels.points:
        place = places.places.get(point.key)
        if place is None or point.inverted:
            continue
        setup = levels.reduction.setups[point.setup]
        row, file = point.sight.row, setup.file
        shots.append(
            Shot(
                name=row.point,
                x=float(place.xy[0]),
                y=float(place.xy[1]),
                z=point.z,
                sd_z=max(point.sd, limits["level-sd"]),
                sd_xy=place.sd,
                source=file,
                line=row.line,
                code=row.code,
                note=row.note,
                reading=Reading(
                    float(point.sight.booked),
                    rods[file],
                    setup.number,
                    levels.heights[point.setup],
                ),
            )
        )
    return Survey.of(shots)


def idle_points(levels: Levels, places: Taped, known: Collection[str]) -> Iterator[str]:
    """Give a sentence for each point that is booked and changes nothing.

    Parameters
    ----------
    levels : Levels
    places : Taped
    known : collection of str
        Names of doors, siding and other things whose own level may have been read.
    """
    levelled = {point.key for point in levels.points}
    for key in places.places:
        if key not in levelled:
            yield f"{places.names[key]} has a place and no reading: it is no part of the ground"
    for point in levels.points:
        row, kind = point.sight.row, point.sight.kind
        bare = point.key not in places.places and not point.fixed and not point.inverted
        if bare and kind == "intermediate" and same_name(point.name) not in known:
            file = levels.reduction.setups[point.setup].file
            yield (
                f"{point.name} has a reading ({file}, line {row.line}) and no place: it is no part "
                "of the ground"
            )


def levels_against(
    levels: Levels, told: Mapping[str, Sequence[float]], least: float, unit: Unit
) -> Iterator[str]:
    """Give a sentence for each thing of the site file that the level book has at another level.

    Parameters
    ----------
    levels : Levels
    told : mapping
        The levels that the site file has for a thing, by its name. [m]
    least : float
        What is said to differ. [m]
    unit : "ft" or "m"
    """
    for point in levels.points:
        here = told.get(same_name(point.name))
        if not here:
            continue
        nearest = min(here, key=lambda z: abs(z - point.z))
        if abs(nearest - point.z) > least:
            yield (
                f"{point.name} is at {number(nearest, unit)} in site.toml and at "
                f"{number(round(point.z, 4), unit)} in the level book, "
                f"{size(abs(nearest - point.z), unit)} apart"
            )
