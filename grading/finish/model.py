"""The finish: planes given, or those that are best at what is aimed for and meet every wish."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cache, cached_property, partial
from typing import overload

from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.errors import NoFinish, Relaxation
from grading.finish.conflict import explained, smallest_conflict
from grading.finish.convex import Optimum
from grading.finish.earthwork import Clip, positive_and_negative
from grading.finish.fit import Fit, Measure, candidates
from grading.finish.layout import Block
from grading.finish.leading import led, standing
from grading.finish.objectives import Aim, best_at
from grading.finish.wishes.model import Wish
from grading.finish.wishes.of_shape import least_fall_wish
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.plane import Plane

_ACTIVE = 1e-6  # own: m or ratio, a bound nearer than this binds
_FINE = 1e-4  # own: degrees, how finely a bearing is found
_WORTH = 1e-6  # own: m3, what saves less than this holds nothing
_DIRECTIONS = 36
# What an area is, not what is wished of it: it has no price.
_STRUCTURE = frozenset({"given-plane", "fold", "shared-edge", "straight-fall"})


class Binding(Struct, frozen=True, eq=False, dict=True):
    """A wish that holds the finish where it is, and its price.

    Attributes
    ----------
    wish : str
        What is asked, in the user's words.
    rule : str
        The rule that its limit comes from.
    step : str
        The step that the price is for: "1 in" or "0.5 %".
    hardened : float or None, or callable
        What `harder` is, or gives it.
    easier : float
        What is counted of the earth with the wish one step easier, less what is now. [m3]
    nearer : float
        By how much less the finish departs from the lawn with the wish one step easier, over all
        the free edge of the areas on grade: inches along feet are inches at a foot. [m]
    eased : (n,) float or None
        The finishes with the wish one step easier.
    """

    wish: str
    rule: str
    step: str
    hardened: float | Callable[[], float | None] | None
    easier: float | None
    nearer: float = 0.0
    eased: Floats | None = None

    @cached_property
    def harder(self) -> float | None:
        """The same with the wish one step harder, solved when it is asked for. [m3]

        None where no finish meets it.
        """
        return self.hardened() if callable(self.hardened) else self.hardened


class Bindings(Sequence[Binding]):
    """What holds a finish, priced when it is first asked for.

    Each price is two problems more to solve, together several times the finish itself, and who
    drags a corner asks for none of them.
    """

    def __init__(self, make: Callable[[], tuple[Binding, ...]]) -> None:
        self._make = make

    @cached_property
    def _made(self) -> tuple[Binding, ...]:
        return self._make()

    @overload
    def __getitem__(self, place: int) -> Binding: ...

    @overload
    def __getitem__(self, place: slice) -> tuple[Binding, ...]: ...

    def __getitem__(self, place: int | slice) -> Binding | tuple[Binding, ...]:
        return self._made[place]

    def __len__(self) -> int:
        return len(self._made)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._made == tuple(other)

    __hash__ = None  # type: ignore[assignment]


class Finish(Struct, frozen=True):
    """The finish of an area.

    Attributes
    ----------
    surface : Surface
        One plane, or several that meet along folds.
    fitted : bool
        Whether it was fitted, not given.
    system : str
        The base system whose build-up it was fitted for.
    moved : float
        Earth moved for it: the integral of abs(ground - (finish - build-up)) over the
        outline. [m3]
    work : float
        Dug in the bank and refilled compacted in the outline, topsoil to its bottom included. [m3]
    gap : float
        What is not proved of its measure being the least, all areas solved together. [m3]
    binding : sequence of Binding
        What holds it there, worked out when first asked for; empty where it was given.
    """

    surface: Surface
    fitted: bool
    system: str
    moved: float
    work: float
    gap: float = 0.0
    binding: Sequence[Binding] = ()

    @property
    def plane(self) -> Plane:
        """The plane, or of several the one with the most paving."""
        return self.surface.main


class Solved(Struct, frozen=True):
    """Finishes solved together.

    Attributes
    ----------
    finishes : mapping of str to Finish
        By the name of their area.
    unknowns : (n,) float
        What they stand for.
    held : Fit
        The problem that they solve, with the way to fall of areas that nothing directs, and of
        water that planes gather between them.
    build_ups : tuple of float
        Of the base systems they were solved for, area by area. [m]
    redirected : callable
        Gives the problem with nothing asked of how areas lie to the lawn, and with the ways to
        fall that are best where a measure is counted.
    """

    finishes: Mapping[str, Finish]
    unknowns: Floats
    held: Fit
    build_ups: tuple[float, ...]
    redirected: Callable[[Measure], Fit]


def given_finish(
    surface: Surface, clip: Clip, systems: Sequence[BaseSystem], measure: Measure
) -> Finish:
    """Return the finish that the site gives, with the base system that takes least under it.

    Parameters
    ----------
    surface : Surface
    clip : Clip
        Existing ground in the outline.
    systems : sequence of BaseSystem
        The one chosen, or all of them.
    measure : "dig and refill" or "earth"
        What the least is counted by.
    """
    stripped = float(clip.areas @ clip.organics.mean(axis=1))
    found = []
    for system in systems:
        depth = clip.depth_below(surface.lowered(system.build_up).coefficients)
        earth = positive_and_negative(depth, clip.areas)
        firm = positive_and_negative(depth - clip.organics, clip.areas)
        work = stripped + firm.cut + firm.fill
        found.append(Finish(surface, False, system.name, earth.cut + earth.fill, work))
    return min(found, key=lambda each: each.moved if measure == "earth" else each.work)


def fitted_finishes(
    fit: Fit, systems: Mapping[str, BaseSystem], limits: Limits, undirected: Sequence[Block],
    aim: Aim,
) -> Solved:  # fmt: skip
    """Return the finishes that meet every wish together and are best at what is aimed for.

    Parameters
    ----------
    fit : Fit
    systems : mapping of str to BaseSystem
        The base systems that an area may leave open.
    limits : Limits
    undirected : sequence of Block
        Areas that nothing tells which way water must leave; the best way is sought.
    aim : Aim

    Raises
    ------
    NoFinish
        No finish meets every wish; the message names a smallest set that conflicts.
    """
    best: tuple[tuple[BaseSystem, ...], Fit, Optimum] | None = None
    for chosen in candidates(fit.blocks, systems):
        solved = _drained(fit, [system.build_up for system in chosen], limits, undirected)
        if solved and (best is None or solved[1].cost < best[2].cost):
            best = chosen, *solved
    if best is None:
        raise _conflict(fit, systems, limits, undirected)
    chosen, held, optimum = best
    build_ups = [system.build_up for system in chosen]
    priced = aim.objective == aim.weighed
    bindings = cache(partial(_bindings, held, optimum, build_ups))
    if not priced:
        optimum = best_at(held, aim, build_ups) or optimum
    unknowns, earth, work = (
        optimum.unknowns, held.counting("earth"), held.counting("dig and refill"),
    )  # fmt: skip
    finishes = {}
    for number, (block, system) in enumerate(zip(fit.blocks, chosen, strict=True)):
        area = block.area
        finishes[area.name] = Finish(
            block.surface(unknowns).over(area.polygon),
            area.plane is None,
            system.name,
            earth.moved(number, unknowns, system.build_up),
            work.moved(number, unknowns, system.build_up),
            optimum.gap,
            Bindings(partial(_of_area, bindings, area.name)) if priced else (),
        )

    def redirected(measure: Measure) -> Fit:
        known = held.free.counting(measure)
        alike = measure == held.measure and held.lawn is None
        if alike or not (undirected or fit.creases):
            return known
        drained = _drained(fit.free.counting(measure), build_ups, limits, undirected)
        return known if drained is None else drained[0]

    return Solved(finishes, unknowns, held, tuple(build_ups), redirected)


def _conflict(
    fit: Fit, systems: Mapping[str, BaseSystem], limits: Limits, undirected: Sequence[Block]
) -> NoFinish:
    """Return the error that says which wishes conflict, and what would mend it, when asked."""
    build_ups = [system.build_up for system in candidates(fit.blocks, systems)[0]]

    @cache
    def asked() -> tuple[tuple[Wish, ...], tuple[Wish, ...]]:
        """Return all that is wished, and a smallest set of it that conflicts."""
        wishes = list(fit.wishes)
        for block in undirected:
            # The ground's own fall is the easiest to have.
            along = block.surface(fit.start).facets[0].plane.bearing
            wishes.append(least_fall_wish(block, limits, along))
        # Where it is the way of the water alone that cannot be had, the first way is told.
        while optimum := fit.solve(build_ups, wishes):
            crease = standing(fit, optimum.unknowns)
            if crease is None:
                break
            wishes.append(crease.ways()[0])
        return tuple(wishes), smallest_conflict(wishes, fit.scale)

    def cost(eased: Sequence[Wish]) -> float | None:
        optimum = fit.solve(build_ups, eased)
        return None if optimum is None else optimum.cost

    @cache
    def told() -> tuple[str, tuple[Relaxation, ...]]:
        names = [block.area.name for block in fit.blocks]
        return explained(names, *asked(), fit.scale, limits, cost, fit.measure)

    return NoFinish(
        lambda: told()[0],
        lambda: [(wish.rule, wish.text) for wish in asked()[1]],
        lambda: told()[1],
    )


def _drained(
    fit: Fit, build_ups: Sequence[float], limits: Limits, undirected: Sequence[Block]
) -> tuple[Fit, Optimum] | None:
    """Solve, and for each area that nothing directs seek the way that its fall costs least.

    A plane that falls enough by itself is taken as it is. Otherwise the slopes allowed are all
    but a disc, which is not convex but is the union of half-planes, one for each direction: a
    round of directions finds the best, and halving steps to either side close in on it.
    """
    optimum = fit.solve(build_ups)
    if optimum is None:
        return None
    for block in undirected:
        planes = block.surface(optimum.unknowns).planes
        if min(plane.fall for plane in planes) >= limits["least-fall"]:
            continue
        best: tuple[Fit, Optimum] | None = None
        centre, step = 0.0, 360 / _DIRECTIONS
        bearings = [step * number for number in range(_DIRECTIONS)]
        while bearings:
            for bearing in bearings:
                wish = least_fall_wish(block, limits, bearing)
                held = fit.also([wish])
                below = math.inf if best is None else best[1].cost
                tried = held.solve(build_ups, start=optimum.unknowns, below=below)
                if tried and (best is None or tried.cost < best[1].cost):
                    best, centre = (held, tried), bearing
            step /= 2
            bearings = [centre - step, centre + step] if best and step > _FINE else []
        if best is None:
            return None
        fit, optimum = best
    start = optimum.unknowns
    return led(fit, optimum, lambda held: held.solve(build_ups, start=start))


def _of_area(
    bindings: Callable[[], Sequence[tuple[str, Binding]]], area: str
) -> tuple[Binding, ...]:
    return tuple(binding for name, binding in bindings() if name == area)


def _bindings(fit: Fit, optimum: Optimum, build_ups: Sequence[float]) -> list[tuple[str, Binding]]:
    """Return the wishes that bind at an optimum by area, each with the price of a step.

    Wishes that ask for the same thing, as two parallel walls do, give way together or not at
    all, so they are told together.
    """
    found = []
    told: set[int] = set()
    wishes = (*fit.wishes, *fit.comfort)
    for number, wish in enumerate(wishes):
        structure = wish.rule in _STRUCTURE
        if number in told or structure or wish.margin(optimum.unknowns) > _ACTIVE:
            continue
        alike = {other for other, each in enumerate(wishes) if each.asks_as(wish)}
        told |= alike

        otherwise = partial(_otherwise, fit, optimum, build_ups, wishes, alike)
        easier = otherwise(wish.step)
        if easier is None or easier.cost > optimum.cost - _WORTH:
            continue
        harder = partial(_more_moved, partial(otherwise, -wish.step), optimum)
        text = " and ".join(
            [wish.text, *(wishes[other].about for other in sorted(alike - {number}))]
        )
        binding = Binding(
            text, wish.rule, wish.step_text, harder,
            easier.moved - optimum.moved,
            fit.departure(optimum.unknowns) - fit.departure(easier.unknowns),
            easier.unknowns,
        )  # fmt: skip
        found.append((wish.area, binding))
    return found


def _otherwise(
    fit: Fit, optimum: Optimum, build_ups: Sequence[float], wishes: Sequence[Wish],
    eased: Collection[int], by: float,
) -> Optimum | None:  # fmt: skip
    """Solve with some of the wishes, and of what is comfortable, wider by so much."""
    changed = [each.eased(by) if k in eased else each for k, each in enumerate(wishes)]
    own = len(fit.wishes)
    return fit.solve(build_ups, changed[:own], optimum.unknowns, changed[own:])


def _more_moved(other: Callable[[], Optimum | None], optimum: Optimum) -> float | None:
    """Return how much more is counted at another optimum; None where there is none. [m3]"""
    found = other()
    return None if found is None else found.moved - optimum.moved
