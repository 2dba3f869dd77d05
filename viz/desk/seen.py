"""What a step of the job sheet may read: the document as written, and the plan made of it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct, field

from grading.design.area import AreaPlan
from grading.errors import Problem, Relaxation
from grading.pipeline import Plan
from grading.reading.partly import Partly
from grading.site.model import Site

Point = tuple[float, float]

Who = Literal["crew", "home", "field"]


class Asked(Struct, frozen=True):
    """What a window looks at.

    Attributes
    ----------
    step : str
        The step that is open.
    view : "plan", "section" or "model"
    area, base_system : str
        Empty for the first area, and for the base that is planned.
    cut : pair of points or None
        The line of the section, in the unit of the site.
    place : point or None
        Where it was tapped, in the unit of the site.
    prices : bool
        Whether money is shown.
    who : "crew", "home" or "field"
        Who looks: the homeowner changes nothing, and in the field rods and shots are all there is.
    """

    step: str = "yard"
    view: str = "plan"
    area: str = ""
    base_system: str = ""
    cut: tuple[Point, Point] | None = None
    place: Point | None = None
    prices: bool = True
    who: Who = "crew"


class Seen(Struct, frozen=True, eq=False):
    """A document as far as it can be read and planned.

    Attributes
    ----------
    folder : Path
    document : mapping
        The site file as TOML has it.
    files : mapping of str to str
        The texts of the other files that it names, as far as they are texts of a moderate length.
    partly : Partly
        What of it can be read.
    site : Site or None
        None where something in it is wrong.
    plan : Plan or None
        None where there is none yet; where it is stale, of the document before.
    stale : bool
        Whether the document has moved on since the plan was made.
    problems : tuple of Problem
        What is wrong, or what conflicts.
    conflict : str
        Where no finish meets every wish: the sentence that says which conflict.
    relaxations : tuple of Relaxation
        What that sentence offers.
    whole : bool
        Whether all of the plan may be asked for; else only finish, digs and checks of areas.
    asked : Asked
    revision : int
    """

    folder: Path
    document: Mapping[str, Any]
    partly: Partly
    files: Mapping[str, str] = field(default_factory=dict)
    site: Site | None = None
    plan: Plan | None = None
    stale: bool = False
    problems: tuple[Problem, ...] = ()
    conflict: str = ""
    relaxations: tuple[Relaxation, ...] = ()
    whole: bool = True
    asked: Asked = field(default_factory=Asked)
    revision: int = 0

    def planned(self, name: str) -> AreaPlan | None:
        """Return an area as it is planned now, by its name; None where there is no such plan."""
        areas = () if self.plan is None or self.stale else self.plan.areas
        return next((each for each in areas if each.name == name), None)

    @property
    def money(self) -> bool:
        """Whether money is shown: where it is asked for and the crew gave prices."""
        return self.asked.prices and self.plan is not None and self.plan.crew.priced
