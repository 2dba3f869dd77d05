"""One thing asked of a finish plane, as bounds on the plane's unknowns and in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.finish.convex import Bounds, Disc
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import READ, ROUNDING, WHOLE, whole_up
from grading.units import INCH, Unit, percent, run, size

HALF_PERCENT = 0.005
_LONG_WAY = 1e4  # m: beyond any slip of a decimal point or a unit
_STEEPEST = 10.0
_HUNDREDTH = 1e-4  # own: ratio, a hundredth of a per cent
_FAR_OFF = 1.0  # m: told in feet and inches, or metres


class Wish(Struct, frozen=True):
    """One thing asked of the finish, in the user's words and as bounds.

    Attributes
    ----------
    text : str
        What is asked.
    complaint : str
        How it is told when it cannot be had; {by} is the least that must give, {to} what a
        limit on a slope would become.
    rule : str
        The rule that its limit comes from.
    about : str
        The wall, door or edge that it is about.
    limit : float
        The limit, of the quantity that the rule bounds. [m or ratio]
    at_least : bool
        Whether the quantity may not be less than the limit; else it may not be more.
    rows : (r, n) float
        Rows on the unknowns of the finish.
    lower, upper : (r,) float
        Bounds on the rows. [m or ratio]
    slope : bool
        Whether the bounds are slopes, not levels.
    discs : tuple of Disc
        Where the wish bounds total falls, one for each plane.
    area : str
        The area that asks it.
    unit : "ft" or "m"
        What lengths are told in.
    """

    text: str
    complaint: str
    rule: str
    about: str
    limit: float
    at_least: bool
    rows: Floats
    lower: Floats
    upper: Floats
    slope: bool = False
    discs: tuple[Disc, ...] = ()
    area: str = ""
    unit: Unit = "ft"

    def margin(self, unknowns: Floats) -> float:
        """Return how far a finish is on the right side of the wish; negative where it is not.

        Parameters
        ----------
        unknowns : (n,) float
        """
        if self.discs:
            return min(
                disc.radius - float(np.hypot(*(disc.matrix @ unknowns))) for disc in self.discs
            )
        at = self.rows @ unknowns
        return float(np.minimum(at - self.lower, self.upper - at).min())

    def asks_as(self, other: Wish) -> bool:
        """Say whether this wish bounds the same thing by the same rule as another."""
        if self is other:
            return True
        return (
            self.rule == other.rule
            and len(self.rows) > 0
            and self.rows.shape == other.rows.shape
            and bool(np.allclose(self.rows, other.rows, rtol=0, atol=ROUNDING))
            and (self.at_least, self.limit) == (other.at_least, other.limit)
        )

    def quantity(self, unknowns: Floats) -> float:
        """Return what the rule bounds: a fall, a step, a clearance, a gap. [m or ratio]"""
        margin = self.margin(unknowns)
        return self.limit + margin if self.at_least else self.limit - margin

    @property
    def step(self) -> float:
        """The step that its price is told for: an inch, or half a per cent. [m or ratio]"""
        return HALF_PERCENT if self.slope else INCH

    @property
    def step_text(self) -> str:
        """The step in words."""
        return "0.5 %" if self.slope else size(INCH, self.unit)

    @property
    def most(self) -> float:
        """The most that it is ever asked to give. [m or ratio]"""
        return _STEEPEST if self.slope else _LONG_WAY

    def eased(self, by: float) -> Wish:
        """Return the wish with its bounds wider by this much (narrower where negative)."""
        discs = tuple(replace(disc, radius=max(disc.radius + by, 0.0)) for disc in self.discs)
        return replace(self, lower=self.lower - by, upper=self.upper + by, discs=discs)

    def told(self, by: float) -> str:
        """Tell what would have to give, and by how much. [m or ratio]"""
        if not self.slope:
            told = size(by, self.unit) if by < _FAR_OFF else run(by, self.unit)
            return self.complaint.format(by=told)
        limit = self.limit - by if self.at_least else self.limit + by
        return self.complaint.format(by=percent(by), to=percent(limit, 2))

    def rounded(self, by: float) -> float:
        """Return what would have to give in whole steps of what it is told in, and no less."""
        grain = _HUNDREDTH if self.slope else READ[self.unit]
        return whole_up(by / grain, WHOLE) * grain


def wish_of(
    rule: str, text: str, complaint: str, rows: Floats,
    lower: Floats | float = -np.inf, upper: Floats | float = np.inf, *,
    about: str = "", limit: float = 0.0, at_least: bool = False, slope: bool = False,
    discs: tuple[Disc, ...] = (), area: str = "", unit: Unit = "ft",
) -> Wish:  # fmt: skip
    """Return a wish, its bounds as wide as its rows; what is left out is no bound, or nothing.

    Parameters
    ----------
    rule, text, complaint, rows, about, limit, at_least, slope, discs, area, unit : as for `Wish`
    lower, upper : float or (r,) float
        One for all rows, or one each. [m or ratio]
    """
    low, high = (np.zeros(len(rows)) + bound for bound in (lower, upper))
    return Wish(
        text, complaint, rule, about, limit, at_least, rows, low, high, slope, discs, area, unit
    )


def joined(wishes: Sequence[Wish], count: int) -> Bounds:
    """Put wishes together as bounds on this many unknowns."""
    return Bounds(
        np.vstack([np.zeros((0, count)), *(wish.rows for wish in wishes)]),
        np.concatenate([np.zeros(0), *(wish.lower for wish in wishes)]),
        np.concatenate([np.zeros(0), *(wish.upper for wish in wishes)]),
        tuple(disc for wish in wishes for disc in wish.discs),
    )
