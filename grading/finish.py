"""The finish: the plane given, or the one that moves the least earth and meets every wish."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grading.baselayers import BaseSystem
from grading.conflict import explained
from grading.convex import Optimum, least
from grading.earthwork import Clip
from grading.errors import NoFinish
from grading.plane import Plane
from grading.rules import Limits
from grading.site import Area, Site
from grading.wish import Wish, joined
from grading.wishes import least_fall_wish, straight_wish

Floats = NDArray[np.float64]

_ACTIVE = 1e-6  # m or ratio: a bound nearer than this binds
_WORTH = 1e-6  # m3: what saves less than this holds nothing
_DIRECTIONS = 36


@dataclass(frozen=True)
class Binding:
    """A wish that holds the finish where it is, and its price.

    Attributes
    ----------
    wish : str
        What is asked, in the user's words.
    rule : str
        The rule that its limit comes from.
    step : str
        The step that the price is for: "1 in" or "0.5 %".
    harder, easier : float or None
        Earth moved with the wish one step harder or easier, less that moved now. None where no
        plane meets the harder wish. [m3]
    """

    wish: str
    rule: str
    step: str
    harder: float | None
    easier: float | None


@dataclass(frozen=True)
class Finish:
    """The finish plane of an area.

    Attributes
    ----------
    plane : Plane
    fitted : bool
        Whether it was fitted, not given.
    system : str
        The base system whose build-up it was fitted for.
    moved : float
        Earth moved for it: the integral of abs(ground - (finish - build-up)) over the
        outline. [m3]
    gap : float
        What is not proved of that being the least. [m3]
    binding : tuple of Binding
        What holds it there; empty where it was given.
    """

    plane: Plane
    fitted: bool
    system: str
    moved: float
    gap: float = 0.0
    binding: tuple[Binding, ...] = ()


def _length(clip: Clip) -> float:
    corners = clip.xy.reshape(-1, 2)
    return float(np.hypot(*(corners.max(axis=0) - corners.min(axis=0)))) / 2


def _about(unknowns: Floats, centre: Floats, build_up: float) -> Plane:
    level, dzdx, dzdy = (float(value) for value in unknowns)
    return Plane(level + build_up - dzdx * centre[0] - dzdy * centre[1], dzdx, dzdy)


def _best_fit(clip: Clip) -> Floats:
    """Return the plane of least squares through the ground, about the clip's centre, (3,)."""
    corners = clip.xy.reshape(-1, 2) - clip.centre
    rows = np.column_stack([np.ones(len(corners)), corners])
    weights = np.repeat(clip.areas, 3)
    return np.asarray(
        np.linalg.lstsq(
            rows.T @ (weights[:, None] * rows), rows.T @ (weights * clip.ground.ravel()), rcond=None
        )[0]
    )


@dataclass(frozen=True)
class _Fit:
    """One area's problem: the ground in its outline, what is wished, and where to begin."""

    clip: Clip
    start: Floats
    length: float

    def solve(
        self, wishes: Sequence[Wish], build_up: float, start: Floats | None = None
    ) -> Optimum | None:
        begin = self.start if start is None else start
        return least(self.clip.moments, joined(wishes, build_up), begin, self.length)


def _binding(
    fit: _Fit, wishes: Sequence[Wish], optimum: Optimum, build_up: float
) -> tuple[Binding, ...]:
    """Return the wishes that bind at an optimum, each with the price of a step.

    Wishes that ask for the same thing, as two parallel walls do, give way together or not at
    all, so they are told together.
    """
    found = []
    told: set[int] = set()
    for number, wish in enumerate(wishes):
        if number in told or _slack(wish, optimum, build_up) > _ACTIVE:
            continue
        alike = {other for other, each in enumerate(wishes) if each.asks_as(wish)}
        told |= alike
        prices: list[float | None] = []
        for by in (-wish.step, wish.step):
            changed = [
                each.eased(by) if other in alike else each for other, each in enumerate(wishes)
            ]
            other_optimum = fit.solve(changed, build_up, optimum.unknowns)
            prices.append(None if other_optimum is None else other_optimum.moved - optimum.moved)
        if prices[1] is None or prices[1] > -_WORTH:
            continue
        text = " and ".join(
            [wish.text, *(wishes[other].about for other in sorted(alike - {number}))]
        )
        found.append(Binding(text, wish.rule, wish.step_text, prices[0], prices[1]))
    return tuple(found)


def _slack(wish: Wish, optimum: Optimum, build_up: float) -> float:
    return wish.margin(optimum.unknowns + np.array([build_up, 0.0, 0.0]))


def given_finish(plane: Plane, clip: Clip, systems: Sequence[BaseSystem]) -> Finish:
    """Return the finish that the site gives, with the base system that moves least under it.

    Parameters
    ----------
    plane : Plane
    clip : Clip
        Existing ground in the outline.
    systems : sequence of BaseSystem
        The one chosen, or all of them.
    """
    moved = {}
    for system in systems:
        low = plane.lowered(system.build_up)
        volumes = clip.volumes(low.z0, low.dzdx, low.dzdy)
        moved[system.name] = volumes.cut + volumes.fill
    name = min(moved, key=lambda key: moved[key])
    return Finish(plane, False, name, moved[name])


def fitted_finish(
    site: Site,
    area: Area,
    clip: Clip,
    wishes: Sequence[Wish],
    systems: Iterable[BaseSystem],
    walls: int,
) -> Finish:
    """Return the plane that moves the least earth and meets every wish.

    Parameters
    ----------
    site : Site
    area : Area
    clip : Clip
        Existing ground in the outline.
    wishes : sequence of Wish
        What is asked of the plane, about the clip's centre.
    systems : iterable of BaseSystem
        The base system chosen, or all of them: the one that moves least is fitted.
    walls : int
        How many foundation walls are in reach. Where there is none, the least fall may run in
        any direction, and the best is sought.

    Raises
    ------
    NoFinish
        No plane meets every wish; the message names a smallest set that conflicts.
    """
    limits = Limits(site.limits)
    fit = _Fit(clip, _best_fit(clip), _length(clip))
    directed = walls > 0
    if area.toward is not None:
        directed = True
        wishes = [*wishes, straight_wish(area.toward), least_fall_wish(limits, area.toward)]
    best: tuple[float, BaseSystem, Sequence[Wish], Optimum] | None = None
    for system in systems:
        if directed:
            optimum = fit.solve(wishes, system.build_up)
            solved = None if optimum is None else (wishes, optimum)
        else:
            solved = _draining(fit, wishes, system.build_up, limits)
        if solved and (best is None or solved[1].moved < best[0]):
            best = solved[1].moved, system, *solved
    if best is None:
        if not directed:
            # The ground's own fall is the easiest to have.
            along = float(np.degrees(np.arctan2(-fit.start[1], -fit.start[2])) % 360)
            wishes = [*wishes, least_fall_wish(limits, along)]
        raise NoFinish(explained(area.name, wishes, fit.length))
    _, system, held, optimum = best
    return Finish(
        _about(optimum.unknowns, clip.centre, system.build_up),
        True,
        system.name,
        optimum.moved,
        optimum.gap,
        _binding(fit, held, optimum, system.build_up),
    )


def _draining(
    fit: _Fit, wishes: Sequence[Wish], build_up: float, limits: Limits
) -> tuple[Sequence[Wish], Optimum] | None:
    """Solve where no wall says which way water must leave.

    A plane that falls enough by itself is taken as it is. Otherwise the slopes allowed are all
    but a disc, which is not convex but is the union of half-planes, one for each direction: a
    round of directions finds the best, and halving steps to either side close in on it.
    """
    free = fit.solve(wishes, build_up)
    if free is None:
        return None
    if float(np.hypot(*free.unknowns[1:])) >= limits["least-fall"]:
        return wishes, free
    best: tuple[Sequence[Wish], Optimum] | None = None
    centre, step = 0.0, 360 / _DIRECTIONS
    bearings = [step * number for number in range(_DIRECTIONS)]
    while bearings:
        for bearing in bearings:
            held = [*wishes, least_fall_wish(limits, bearing)]
            optimum = fit.solve(held, build_up, free.unknowns)
            if optimum and (best is None or optimum.moved < best[1].moved):
                best, centre = (held, optimum), bearing
        step /= 2
        bearings = [centre - step, centre + step] if best and step > 1e-4 else []
    return best
