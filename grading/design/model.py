"""A site as it is designed: its ground, the plan of each area, and what is worked out of it once.

What is built is held against it. Where water goes, what is advised, ordered and checked is read off
it by rooms of their own; `grading.pipeline.Plan` has them all. What is kept is kept with the plan,
and no longer.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cached_property, wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import shapely
from msgspec import Struct, field

from grading.catalogue.rules import Limits
from grading.crew.model import Crew
from grading.design.area import AreaPlan, GroupPlan
from grading.design.places import Places, places_of
from grading.design.uncertainty import Uncertainty, uncertainty_of
from grading.finish.wishes.of_site import NEARBY
from grading.ground.model import Ground
from grading.kept import Kept
from grading.site.model import Site
from grading.site.tables import Area

Of = TypeVar("Of")
Rest = ParamSpec("Rest")
Made = TypeVar("Made")


def kept(make: Callable[Concatenate[Of, Rest], Made]) -> Callable[Concatenate[Of, Rest], Made]:
    """Let a function work out each of its results once, and keep it on what it is worked out of.

    A cache beside the plans would hold each of them, ground and all, until others came. What it is
    worked out of comes first and never changes; the result may hold it, for both are let go
    together. Whatever else it takes is hashable, and told apart by equality.
    """
    name = f"_{make.__module__}.{make.__qualname__}"

    @wraps(make)
    def made(of: Of, /, *rest: Rest.args, **named: Rest.kwargs) -> Made:
        own: dict[Hashable, Any] = vars(of).setdefault(name, {})
        key = (rest, tuple(named.items()))
        if key not in own:
            own[key] = make(of, *rest, **named)
        found: Made = own[key]
        return found

    return made


class Design(Struct, frozen=True, eq=False, dict=True, weakref=True):
    """A site, its ground, the plan of each area, and what looked suspicious.

    Attributes
    ----------
    site : Site
    ground : Ground
    areas : tuple of AreaPlan
        In the order of the site.
    warnings : tuple of str
        A sentence each.
    groups : tuple of GroupPlan
        Areas whose finishes were solved together.
    crew : Crew
        What it is reckoned with.
    kept : Kept
        What was made before of the same.
    """

    site: Site
    ground: Ground
    areas: tuple[AreaPlan, ...]
    warnings: tuple[str, ...]
    groups: tuple[GroupPlan, ...]
    crew: Crew
    kept: Kept = field(default_factory=Kept)

    def area(self, name: str) -> AreaPlan:
        """Return the plan of an area by its name."""
        return next(each for each in self.areas if each.name == name)

    def built_over(self, but: str = "") -> shapely.Geometry:
        """Return where no lawn is: the house, and the paving of every area but one by name. [m]"""
        house = self.site.body(NEARBY)
        return shapely.union_all([house, *(one.outline for one in self.areas if one.name != but)])

    @property
    def paving(self) -> float:
        """All that is paved, as it lies in plan. [m2]"""
        return sum(area.paving for area in self.areas)

    @property
    def dug(self) -> float:
        """All that is dug under its areas, on the bases chosen, in the ground. [m3]"""
        return sum(area.chosen_dig.cut for area in self.areas)

    @property
    def areas_on_their_bases(self) -> tuple[Area, ...]:
        """The areas as the site writes them, each with the base chosen for it written down."""
        return tuple(
            area.model_copy(update={"base": self.area(area.name).chosen})
            for area in self.site.areas
        )

    @cached_property
    def limits(self) -> Limits:
        """The limits in force on the site."""
        return self.site.in_force

    @cached_property
    def places(self) -> Places:
        """Says where points of the site are."""
        return places_of(self.site, self.areas)

    @cached_property
    def uncertainty(self) -> Uncertainty | None:
        """How well its numbers are known; None where the spots are too few to say."""
        return uncertainty_of(self.site, self.ground, self.areas, self.kept)
