"""The least volume over finishes that meet every wish: a convex problem in a few unknowns.

The unknowns are levels and slopes: three for a plane, one more for each fold. Wishes are bounds
on linear rows of them, and discs: the total falls. The volume, an integral of abs(depth) and what
is dug whatever the finish is, is convex and once differentiable with a known second derivative, so
Newton steps, each a small quadratic program, reach the optimum in a few rounds. Where the zero
line is an area (a plane lying in planar ground) the derivative jumps, and a bundle of tangent
planes with a proved lower bound finishes the work.
"""

from __future__ import annotations

from collections.abc import Callable

import daqp
import numpy as np
from msgspec import Struct

from grading.finish.earthwork import Moments
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import NOTHING, WHOLE

_TOLERANCE = 1e-9  # own: of a normalised row, a nanometre, a billionth of slope
_MISSED = 1e-7  # own: of a normalised row, more than rounding
_FAR = 1e9  # m: no bound at all, in numbers that the solver takes
_BOX = 10.0  # m: no optimum is farther than this from a point that is nearly one
_TANGENTS = 32
_ROUNDS = 60
_CUTS = 200
_LEAST_BEND = 1e-6  # own: of the curvature, added where there may be none
_NEARER = 3  # steps to the gentlest fall, each with a little less that was added
_LEAST_STEP = 1e-9  # own: of the way across, a step that leads nowhere
_BUNDLE_GAP = 1e-7  # own: of the earth moved, or a tenth of a cubic centimetre


_TURNS = np.linspace(0, 2 * np.pi, _TANGENTS, endpoint=False)
_ROUND = np.column_stack([np.cos(_TURNS), np.sin(_TURNS)])


class Disc(Struct, frozen=True):
    """Two slopes, matrix (2, n) @ unknowns, that stay within a radius of level. [ratio]"""

    matrix: Floats
    radius: float


class Bounds(Struct, frozen=True):
    """What n unknowns must meet: lower <= rows @ unknowns <= upper, and discs of slopes.

    Attributes
    ----------
    rows : (r, n) float
    lower, upper : (r,) float
    discs : tuple of Disc
    """

    rows: Floats
    lower: Floats
    upper: Floats
    discs: tuple[Disc, ...] = ()


class _Program:
    """Quadratic programs over one set of bounds, which remembers the tangents of the discs.

    The unknowns are scaled so that a metre of level and the slope that makes a metre over the
    length of the area weigh the same, and each row is normalised: the solver's tolerance then
    means the same for all. A tangent half-plane of a disc holds for every point of it, so one
    that was needed once stays for every later program.
    """

    def __init__(self, bounds: Bounds, scale: Floats) -> None:
        self.bounds = bounds
        self.scale = scale
        count = len(scale)
        self.rows, self.lower, self.upper = np.zeros((0, count)), np.zeros(0), np.zeros(0)
        tangents = [_ROUND @ disc.matrix for disc in bounds.discs]
        radii = np.repeat([disc.radius for disc in bounds.discs], len(_ROUND))
        self.add(
            np.concatenate([bounds.rows, *tangents]),
            np.concatenate([bounds.lower, np.full(len(radii), -np.inf)]),
            np.concatenate([bounds.upper, radii]),
        )

    def add(self, rows: Floats, lower: Floats, upper: Floats) -> None:
        """Hold to further bounds on the unknowns, rows (r, n)."""
        scaled = rows * self.scale
        norms = np.linalg.norm(scaled, axis=1)
        norms[norms == 0] = 1.0
        self.rows = np.ascontiguousarray(np.vstack([self.rows, scaled / norms[:, None]]))
        self.lower = np.concatenate([self.lower, np.maximum(lower / norms, -_FAR)])
        self.upper = np.concatenate([self.upper, np.minimum(upper / norms, _FAR)])

    def add_tangents(self, disc: Disc, normals: Floats) -> None:
        """Hold to a disc's tangents with these unit normals, (t, 2)."""
        most = np.full(len(normals), disc.radius)
        self.add(normals @ disc.matrix, np.full(len(normals), -np.inf), most)

    def minimise(
        self, hessian: Floats, slope: Floats, centre: Floats, radius: float = 1e6
    ) -> Floats | None:
        """Minimise 1/2 p'Hp + g'p over steps p from the centre; None where no step is allowed."""
        scaled_hessian = np.ascontiguousarray(hessian * np.outer(self.scale, self.scale))
        scaled_slope = slope * self.scale
        reach = np.full(len(self.scale), radius)
        for _ in range(_ROUNDS):
            here = self.rows @ (centre / self.scale)
            upper, lower = self.upper - here, self.lower - here
            step, _, flag, _ = daqp.solve(
                scaled_hessian,
                scaled_slope,
                self.rows,
                np.concatenate([reach, upper]),
                np.concatenate([-reach, lower]),
                primal_tol=_TOLERANCE,
            )
            at = self.rows @ step
            # The solver may call an answer good that is not, where rows are all but parallel.
            if flag != 1 or (np.maximum(at - upper, lower - at) > _MISSED).any():
                return None
            there: Floats = np.asarray(step) * self.scale
            if not self._cut_off(centre + there):
                return there
        return None

    def _cut_off(self, unknowns: Floats) -> bool:
        """Add the tangents that cut a point off which lies outside of discs, if it does."""
        outside = False
        for disc in self.bounds.discs:
            slopes = disc.matrix @ unknowns
            fall = float(np.hypot(*slopes))
            if fall > disc.radius + _TOLERANCE:
                self.add_tangents(disc, slopes[None] / fall)
                outside = True
        return outside

    def nearest(self, target: Floats) -> Floats | None:
        """Return the allowed point nearest to the target; None where none is allowed."""
        step = self.minimise(np.diag(self.scale**-2), np.zeros(len(target)), target)
        return None if step is None else target + step


def feasible(bounds: Bounds, scale: Floats) -> bool:
    """Say whether some finish meets the bounds.

    Parameters
    ----------
    bounds : Bounds
    scale : (n,) float
        What one unit of each unknown is worth: a metre of level, and of a slope 1 / length.
    """
    return _Program(bounds, scale).nearest(np.zeros(len(scale))) is not None


def nearest_by(bounds: Bounds, hessian: Floats, slope: Floats, scale: Floats) -> Floats | None:
    """Minimise 1/2 x'Hx + g'x over the bounds; None where nothing meets them.

    Parameters
    ----------
    bounds : Bounds
    hessian : (n, n) float
    slope : (n,) float
    scale : (n,) float
        What one unit of each unknown is worth: a metre of level, and of a slope 1 / length.
    """
    program = _Program(bounds, scale)
    here = program.nearest(np.zeros(len(scale)))
    if here is None:
        return None
    step = program.minimise(hessian, slope + hessian @ here, here)
    return here if step is None else here + step


def gentlest(bounds: Bounds, disc: Disc, start: Floats, scale: Floats) -> float | None:
    """Return the least fall that a disc's slopes can have within bounds; None where none can.

    Parameters
    ----------
    bounds : Bounds
    disc : Disc
        Its radius says nothing.
    start : (n,) float
        Where to begin; need not meet the bounds.
    scale : (n,) float
        What one unit of each unknown is worth: a metre of level, and of a slope 1 / length.
    """
    program = _Program(bounds, scale)
    here = program.nearest(start)
    if here is None:
        return None
    bend = disc.matrix.T @ disc.matrix
    for _ in range(_NEARER):
        # Levels have no curvature here; a little is added, about where the step before ended.
        little = _LEAST_BEND * float(np.trace(bend * np.outer(scale, scale)))
        step = program.minimise(bend + little * np.diag(scale**-2), bend @ here, here)
        if step is None:
            break
        here = here + step
    return float(np.hypot(*(disc.matrix @ here)))


class Optimum(Struct, frozen=True):
    """The best unknowns, the volume moved there, and how far from the least that can be.

    Attributes
    ----------
    unknowns : (n,) float
    moved : float
        [m3]
    gap : float
        What is not proved of the cost being the least. [m3]
    before : float
        What comes before the volume, where something does: worth so much volume. [m3]
    """

    unknowns: Floats
    moved: float
    gap: float
    before: float = 0.0

    @property
    def cost(self) -> float:
        """What is least: the volume, and what comes before it. [m3]"""
        return self.moved + self.before


def least(
    moments: Callable[[Floats], Moments],
    bounds: Bounds,
    start: Floats,
    scale: Floats,
    *,
    finish: bool = True,
) -> Optimum | None:
    """Minimise a convex function of the unknowns over the bounds.

    Parameters
    ----------
    moments : callable
        Gives the value, gradient and curvature at the unknowns.
    bounds : Bounds
    start : (n,) float
        Where to begin; need not meet the bounds.
    scale : (n,) float
        What one unit of each unknown is worth: a metre of level, and of a slope 1 / length.
    finish : bool
        Whether a point that Newton's steps do not prove to be the best is to be bettered until it
        is; a start for another problem needs no proof.

    Returns
    -------
    Optimum or None
        None where nothing meets the bounds.

    Notes
    -----
    A convex function lies above each of its tangents. Where the quadratic program with the
    curvature of the function proposes no step, its multipliers prove that no allowed point is
    lower; `gap` is the decrease that the last program still promised.
    """
    program = _Program(bounds, scale)
    here = program.nearest(start)
    if here is None:
        return None
    value = moments(here)
    length = float(1 / scale.min())
    radius = length
    metric = np.diag(scale**-2)
    for _ in range(_ROUNDS):
        # Where all is cut or all is fill there is no curvature, and a program without any is
        # one that the solver answers wrongly: a little is added, too little to slow the steps.
        press = float(np.abs(value.gradient * scale).sum())
        bend = float(np.trace(value.curvature * np.outer(scale, scale)))
        hessian = value.curvature + (_LEAST_BEND * bend + 1e-3 * press / radius) * metric
        step = program.minimise(hessian, value.gradient, here, radius)
        if step is None:
            break
        promised = -float(value.gradient @ step + 0.5 * step @ value.curvature @ step)
        reach = float(np.abs(step / scale).max())
        # The solver holds bounds to its tolerance, and pressing on one for that much promises
        # the gradient times it for ever.
        settled = promised <= 10 * _TOLERANCE * press + NOTHING * value.moved
        if settled and reach < radius * (1 - WHOLE):
            return Optimum(here, value.moved, max(promised, 0.0))
        if radius < _LEAST_STEP * length:
            break
        there = moments(here + step)
        gained = value.moved - there.moved
        if gained >= 0.1 * promised:
            here, value = here + step, there
            radius = max(radius, 2 * reach) if gained > 0.7 * promised else radius
        else:
            radius = reach / 4
    if not finish:
        return Optimum(here, value.moved, value.moved)
    return _by_bundle(moments, program, here, value)


def _by_bundle(
    moments: Callable[[Floats], Moments], program: _Program, here: Floats, value: Moments
) -> Optimum:
    """Finish with the level method: cuts below the function, a bound from a linear program.

    Lemarechal, Nemirovskii and Nesterov, "New variants of bundle methods", Mathematical
    Programming 69 (1995): project the best point on the level set of the tangents' maximum.
    """
    from scipy.optimize import linprog

    best, best_value = here, value
    points, values, slopes = [here], [value.moved], [value.gradient]
    bound = 0.0
    while len(points) < _CUTS:
        cuts = np.array(slopes)
        right = np.einsum("ki,ki->k", cuts, np.array(points)) - np.array(values)
        two_sided = np.vstack([program.rows, -program.rows]) / program.scale
        limits = np.concatenate([program.upper, -program.lower])
        finite = np.abs(limits) < _FAR
        answer = linprog(
            [0.0] * len(best) + [1.0],
            A_ub=np.vstack(
                [
                    np.column_stack([cuts, -np.ones(len(cuts))]),
                    np.column_stack([two_sided[finite], np.zeros(finite.sum())]),
                ]
            ),
            b_ub=np.concatenate([right, limits[finite] + _TOLERANCE]),
            bounds=[
                (centre - _BOX * size, centre + _BOX * size)
                for centre, size in zip(best, program.scale, strict=True)
            ]
            + [(0, None)],
            method="highs-ds",
        )
        if answer.status == 0:
            bound = max(bound, float(answer.fun or 0.0))
        gap = best_value.moved - bound
        if gap <= _BUNDLE_GAP * max(1.0, best_value.moved):
            break
        level = bound + 0.3 * gap
        raised = _Program(program.bounds, program.scale)
        raised.add(cuts, np.full(len(cuts), -np.inf), level + right)
        there = raised.nearest(best)
        if there is None:
            bound = level
            continue
        new = moments(there)
        points.append(there)
        values.append(new.moved)
        slopes.append(new.gradient)
        if new.moved < best_value.moved:
            best, best_value = there, new
    return Optimum(best, best_value.moved, max(best_value.moved - bound, 0.0))
