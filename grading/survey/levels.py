"""The level books of a site, reduced, closed and adjusted: what a crew checks its levels by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import sqrt

from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.site.level_book import LevelBook
from grading.site.model import Site
from grading.site.survey_tables import Benchmark, same_name
from grading.survey.closure import LIMIT, Closure, causes, closures_of, worst
from grading.survey.level_warnings import book_warnings, close_calls, not_read_again
from grading.survey.net import Difference, Net, adjusted
from grading.survey.reduction import Reduction, reduced
from grading.survey.setups import Setup, Sight, setups_of
from grading.units import Unit


class LevelPoint(Struct, frozen=True):
    """A point with its elevation.

    Attributes
    ----------
    key, name : str
        What it is known by, and what the book calls it.
    z : float
        Its elevation, adjusted where the levels were. [m]
    raw : Fraction
        As it was reduced. [m]
    sd : float
        Standard deviation of z, 0 for a benchmark. [m]
    sight : Sight
        The reading that it was first found by, of a benchmark the first of it.
    setup : int
        The set-up that this was read from, by its place in the reduction.
    fixed : bool
        Whether it is a benchmark.
    """

    key: str
    name: str
    z: float
    raw: Fraction
    sd: float
    sight: Sight
    setup: int
    fixed: bool

    @property
    def inverted(self) -> bool:
        """Whether the rod hung from it upside down: it is no ground."""
        return self.sight.inverted


class PageCheck(Struct, frozen=True):
    """The sums of a stretch of a book that is carried on without a break.

    The backsights less the foresights are the last elevation less the first, whatever the
    readings are: it is the arithmetic that is checked. Where a stretch ends in readings without a
    foresight, the last of them is taken for it. [m]
    """

    file: str
    setups: tuple[int, int]
    backsights: Fraction
    foresights: Fraction
    first: Fraction
    last: Fraction

    @property
    def holds(self) -> bool:
        """Whether it comes out."""
        return self.backsights - self.foresights == self.last - self.first


class Levels(Struct, frozen=True):
    """All levels of a site.

    Attributes
    ----------
    reduction : Reduction
    heights : tuple of float
        Of the instrument in each set-up, adjusted where the levels were. [m]
    points : tuple of LevelPoint
        In the order in which they are named in the books.
    closures : tuple of Closure
    pages : tuple of PageCheck
    adjusted : bool
        Whether the misclosures were spread over the set-ups; not where one is over its limit.
    by_distance : bool
        Whether sights weigh by their length, not all alike.
    spread : float
        Standard deviation of unit weight, NaN where nothing is left over.
    limit_source : str
        Where the limit of misclosure comes from.
    faults : tuple of str
        A sentence for each closure over its limit.
    unchecked : tuple of str
        A sentence for each book, or set-up, in which nothing was read again.
    close : tuple of str
        A sentence for each closure that is within its limit and worth a second look.
    warnings : tuple of str
        What else is worth one.
    """

    reduction: Reduction
    heights: tuple[float, ...]
    points: tuple[LevelPoint, ...]
    closures: tuple[Closure, ...]
    pages: tuple[PageCheck, ...]
    adjusted: bool
    by_distance: bool
    spread: float
    limit_source: str
    faults: tuple[str, ...]
    unchecked: tuple[str, ...]
    close: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def worst(self) -> Closure | None:
        """The closure that takes up the most of its limit."""
        return worst(self.closures)

    @property
    def failed(self) -> bool:
        """Whether a closure is over its limit."""
        return any(each.status == "fail" for each in self.closures)


def levels_of(site: Site) -> Levels | None:
    """Return the levels of a site; None where it has no level book.

    Raises
    ------
    SiteError
        A reading before any backsight, or a set-up that hangs on no benchmark.
    """
    if not site.levels:
        return None
    return levels_from(site.levels, site.benchmarks, site.in_force, site.unit)


def levels_from(
    books: Sequence[LevelBook], benchmarks: Sequence[Benchmark], limits: Limits, unit: Unit
) -> Levels:
    """Return level books reduced, closed and adjusted.

    Parameters
    ----------
    books : sequence of LevelBook
    benchmarks : sequence of Benchmark
    limits : Limits
    unit : "ft" or "m"
        What the sentences are written in.

    Raises
    ------
    SiteError
        See `levels_of`.

    Notes
    -----
    The adjustment is that of all sights by least squares: of one line of set-ups alike it takes
    -m k/n from a point after set-up k of n, m being the misclosure, and intermediates go with
    their instrument. Levels over the limit are not adjusted: a blunder is found, not spread.
    """
    fixed = {same_name(each.name): _exact(each.z) for each in benchmarks}
    given = {same_name(each.name): each.name for each in benchmarks}
    setups = setups_of(books, fixed)
    levels = reduced(setups, fixed)
    closures = closures_of(levels, limits)
    names = {**{s.point: s.name for setup in setups for s in setup.sights}, **given}
    failed = any(each.status == "fail" for each in closures)
    moved = not failed and any(each.closing.off for each in closures)
    by_distance = all(s.row.distance is not None for setup in setups for s in setup.sights)
    net, variance = _net(levels, fixed, limits["level-sd"], by_distance)
    heights = [
        net.heights[_instrument(place)] if moved else float(height)
        for place, height in enumerate(levels.heights)
    ]
    points = tuple(_points(levels, names, fixed, net, variance, heights, moved))
    return Levels(
        reduction=levels,
        heights=tuple(heights),
        points=points,
        closures=closures,
        pages=tuple(_pages(levels)),
        adjusted=moved,
        by_distance=by_distance and moved,
        spread=net.spread,
        limit_source=limits.source(LIMIT),
        faults=tuple(causes(levels, closures, fixed, names, limits, unit)),
        unchecked=tuple(not_read_again(levels, closures, names)),
        close=tuple(close_calls(closures, names, unit)),
        warnings=tuple(book_warnings(books, levels, limits, unit)),
    )


def _exact(z: float) -> Fraction:
    """Return an elevation as it was written: to a tenth of a micrometre no foot has more."""
    return Fraction(str(round(z, 9)))


def _instrument(place: int) -> str:
    return f"\n{place}"  # no name of a point has a line break


def _net(
    levels: Reduction, fixed: Mapping[str, Fraction], sd: float, by_distance: bool
) -> tuple[Net, Mapping[int, float]]:
    """Return the set-ups and what ties them together adjusted, and the variance of each sight."""
    sights = [(place, s) for place, setup in enumerate(levels.setups) for s in setup.sights]
    far = [float(s.row.distance) for _, s in sights if s.row.distance is not None]
    mean = sum(far) / len(far) if far else 1.0
    variance = {
        id(s): sd**2 * (float(s.row.distance) / mean if by_distance and s.row.distance else 1.0)
        for _, s in sights
    }
    times: dict[str, int] = {}
    for _, sight in sights:
        times[sight.point] = times.get(sight.point, 0) + 1
    differences = [
        Difference(s.point, _instrument(place), float(s.reading), variance[id(s)])
        for place, s in sights
        if s.point in fixed or times[s.point] > 1
    ]
    held = {point: float(z) for point, z in fixed.items()}
    return adjusted(differences, held), variance


def _points(
    levels: Reduction, names: Mapping[str, str], fixed: Mapping[str, Fraction], net: Net,
    variance: Mapping[int, float], heights: Sequence[float], moved: bool,
) -> Iterator[LevelPoint]:  # fmt: skip
    # A set-up that had to wait is booked before the one that a point of it was found from.
    every = [(place, sight) for place, each in enumerate(levels.setups) for sight in each.sights]
    named = dict.fromkeys(sight.point for _, sight in every)
    first = {
        sight.point: (place, sight)
        for place, sight in reversed(every)
        if levels.made_by.get(sight.point, place) == place
    }
    for point in named:
        place, sight = first[point]
        raw = levels.points[point]
        own = net.heights.get(point)
        sd = net.sd(point)
        if own is None:
            own = heights[place] - float(sight.reading)
            sd = sqrt(net.sd(_instrument(place)) ** 2 + variance[id(sight)])
        z = float(raw) if point in fixed or not moved else own
        yield LevelPoint(point, names[point], z, raw, sd, sight, place, point in fixed)


def _pages(levels: Reduction) -> Iterator[PageCheck]:
    """Give the check of each stretch that is carried on from foresight to backsight."""
    stretch: list[int] = []
    for place, setup in enumerate(levels.setups):
        before = levels.setups[stretch[-1]] if stretch else None
        ends = _end(before) if before else None
        carried = (
            before is not None and ends is not None and before.file == setup.file
            and ends.kind == "foresight" and ends.point == setup.sights[0].point
            and levels.made_by.get(ends.point) == stretch[-1]
        )  # fmt: skip
        if stretch and not carried:
            yield _page(levels, stretch)
            stretch = []
        stretch.append(place)
    if stretch:
        yield _page(levels, stretch)


def _end(setup: Setup) -> Sight:
    """Return the foresight that a set-up ends in; its last reading where it has none."""
    return next((each for each in reversed(setup.sights) if each.kind == "foresight"),
                setup.sights[-1])  # fmt: skip


def _page(levels: Reduction, stretch: Sequence[int]) -> PageCheck:
    setups = [levels.setups[place] for place in stretch]
    backs, ends = [each.sights[0] for each in setups], [_end(each) for each in setups]
    # The first elevation is that of its reduction: a set-up may hang on another of its sights.
    first = levels.heights[stretch[0]] - backs[0].reading
    last = levels.heights[stretch[-1]] - ends[-1].reading
    return PageCheck(
        setups[0].file,
        (setups[0].number, setups[-1].number),
        sum((each.reading for each in backs), Fraction(0)),
        sum((each.reading for each in ends), Fraction(0)),
        first,
        last,
    )
