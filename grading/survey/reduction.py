"""Levels reduced by the height of the instrument, in exact fractions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec import Struct, field

from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.survey.setups import Setup, Sight
from grading.worded import Worded


class Closing(Struct, frozen=True):
    """A reading of a point whose elevation was known before: what is found against what was known.

    Attributes
    ----------
    sight : Sight
        The reading that closes.
    file : str
        The level book that it is in.
    start : str
        The key of the benchmark or point that the levels were carried from.
    found, known : Fraction
        [m]
    between : bool
        Whether it ties two benchmarks together; else the levels return to where they came from.
    path : tuple of int
        The set-ups that the levels were carried over, by their place in the reduction.
    """

    sight: Sight
    file: str
    start: str
    found: Fraction
    known: Fraction
    between: bool
    path: tuple[int, ...]

    @property
    def off(self) -> Fraction:
        """How much higher the point is found than it was known to be. [m]"""
        return self.found - self.known


class Reduction(Struct, frozen=True):
    """Set-ups with the height of the instrument, and every point with its elevation.

    Attributes
    ----------
    setups : tuple of Setup
    heights : tuple of Fraction
        Of the instrument, one for each set-up. [m]
    points : mapping
        The elevation of each point as it was first found, or as its benchmark has it. [m]
    made_by : mapping
        The set-up that each point was first read from; benchmarks have none.
    closings : tuple of Closing
    """

    setups: tuple[Setup, ...]
    heights: tuple[Fraction, ...]
    points: Mapping[str, Fraction]
    made_by: Mapping[str, int]
    closings: tuple[Closing, ...]


class _Carrying(Struct):
    """How far the levels have been carried."""

    points: dict[str, Fraction]
    made_by: dict[str, int] = field(default_factory=dict)
    heights: dict[int, Fraction] = field(default_factory=dict)
    from_point: dict[int, str] = field(default_factory=dict)
    closings: list[Closing] = field(default_factory=list)

    def take(self, place: int, setup: Setup, start: Sight) -> None:
        height = self.points[start.point] + start.reading
        self.heights[place], self.from_point[place] = height, start.point
        for sight in setup.sights:
            if sight is start:
                continue
            found = height - sight.reading
            if sight.point in self.points:
                path, roots = self.path(place, sight.point)
                self.closings.append(
                    Closing(
                        sight, setup.file, roots[0], found, self.points[sight.point],
                        roots[0] != roots[1], path,
                    )
                )  # fmt: skip
            else:
                self.points[sight.point] = found
                self.made_by[sight.point] = place

    def _way(self, place: int | None, point: str) -> list[tuple[str, int | None]]:
        """Return the points back to a benchmark, each with the set-up that it is carried from."""
        way: list[tuple[str, int | None]] = []
        while True:
            made = self.made_by.get(point)
            way.append((point, made))
            if made is None:
                return way
            point = self.from_point[made]

    def path(self, place: int, point: str) -> tuple[tuple[int, ...], tuple[str, str]]:
        """Return the set-ups between one of them and a point, and the roots of either."""
        here, there = self._way(place, self.from_point[place]), self._way(None, point)
        one = [place, *(made for _, made in here if made is not None)]
        other = [made for _, made in there if made is not None]
        ahead, behind = [each for each, _ in here], [each for each, _ in there]
        common = set(one) & set(other)
        path = [each for each in one + other if each not in common]
        # The two ways part at a point, or under a set-up that both were read from.
        met = next((each for each in ahead if each in behind), None)
        fork = next((each for each in one if each in common), None)
        if fork is not None and (met is None or self.made_by.get(met) != fork):
            path.append(fork)
        return tuple(sorted(path)), (ahead[-1], behind[-1])


def reduced(setups: Sequence[Setup], fixed: Mapping[str, Fraction]) -> Reduction:
    """Return levels reduced from the benchmarks, set-up by set-up.

    Parameters
    ----------
    setups : sequence of Setup
    fixed : mapping
        Elevations of the benchmarks by the key of the point. [m]

    Raises
    ------
    SiteError
        A set-up that no reading ties to a point of known elevation.

    Notes
    -----
    HI = z + backsight; z = HI - intermediate, HI - foresight. A set-up whose backsight is on a
    point that is found only later, in another book, waits for it.
    """
    levels = _Carrying(dict(fixed))
    waiting = list(enumerate(setups))
    while waiting:
        taken = _next(waiting, levels.points)
        if taken is None:
            raise SiteError([_unknown(setup, levels.points) for _, setup in waiting[:1]])
        place, start = taken
        levels.take(place, setups[place], start)
        waiting = [each for each in waiting if each[0] != place]
    heights = tuple(levels.heights[place] for place in range(len(setups)))
    return Reduction(tuple(setups), heights, levels.points, levels.made_by, tuple(levels.closings))


def _next(
    waiting: Sequence[tuple[int, Setup]], points: Mapping[str, Fraction]
) -> tuple[int, Sight] | None:
    """Return the first set-up that can be reduced, and the sight that it is reduced from."""
    for place, setup in waiting:
        if setup.sights[0].point in points:
            return place, setup.sights[0]
    for place, setup in waiting:
        for sight in setup.sights:
            if sight.point in points:
                return place, sight
    return None


def _unknown(setup: Setup, points: Mapping[str, Fraction]) -> Problem:
    sight = setup.sights[0]
    where = f"{setup.file}, line {sight.row.line}"
    found = f"a backsight on {shown_value(sight.name)}, whose elevation nothing tells"
    known = [point for point in points if ", " not in point]
    name = shown_value(sight.name)
    mend = nearest(sight.name, known) or Worded(
        f"Write [[benchmark]] with the name {name} and its z into site.toml.",
        f"Give {name} its elevation, as a benchmark.",
    )
    return Problem(where, found, "a benchmark, or a point that was read before", mend)
