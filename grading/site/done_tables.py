"""[done]: what is dug, bought and standing there already, where a job is half-way."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from grading.catalogue.items import TITLES
from grading.files.fields import Name, Size, Table, UnfitError, at_most, number_that, unit_of
from grading.files.toml_text import nearest
from grading.units import FOOT
from grading.units.measures import read_like

DEEPEST_DUG = 5 * FOOT
"""A hole for paving that is deeper was hardly meant. Common practice, no source. [m]"""

_COUNT = number_that(
    lambda value: 0 < value < 1e6, "a number of packages as they are sold, more than none"
)

_ANY_OF = ", ".join(f'"{title}"' for title in TITLES.values())


def _share(value: Any) -> float:
    said = value.strip().removesuffix("%") if isinstance(value, str) else value
    per = 100.0 if isinstance(value, str) and value.strip().endswith("%") else 1.0
    try:
        share = float(said) / per if not isinstance(value, bool) else -1.0
    except (TypeError, ValueError):
        share = -1.0
    if not 0 < share <= 1:
        raise UnfitError('a share of the area such as "60 %", more than none and at most all of it')
    return share


def _volume(value: Any, info: ValidationInfo) -> float:
    like = "1 yd3" if unit_of(info) == "ft" else "1 m3"
    volume = read_like(value, like)
    if volume <= 0:
        raise UnfitError(f'a volume such as "{like}", more than none')
    return volume


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1000:
        raise UnfitError("a whole number of bins, zero or more")
    return value


def _item(value: Any) -> str:
    """Return what is ordered by the name or the title that it has in the order list."""
    known = {**{item: item for item in TITLES}, **{title: item for item, title in TITLES.items()}}
    if not isinstance(value, str) or " ".join(value.lower().split()) not in known:
        mend = nearest(value, TITLES.values()) if isinstance(value, str) else ""
        raise UnfitError(f"what the order list calls it, one of {_ANY_OF}", mend)
    return known[" ".join(value.lower().split())]


class Dug(Table):
    """[[done.dug]]: a part of an area's hole that is dug: how much of it, and to what depth."""

    area: Name | None = Field(None, description="the name of the area it is in")
    share: Annotated[float, BeforeValidator(_share)] | None = Field(
        None, description='how much of the hole is dug, such as "60 %"; left out: all of it'
    )
    volume: Annotated[float, BeforeValidator(_volume)] | None = Field(
        None, description='what is dug, as it lay in the ground, such as "3 yd3"'
    )
    depth: Annotated[Size, at_most(DEEPEST_DUG)] = Field(
        description='how deep it is dug below the lawn as it was, such as "5 in"'
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.share is not None and self.volume is not None:
            raise UnfitError(
                "either a `share` or a `volume`",
                "Leave one of them out: with the depth, each tells the other.",
                found="both of them",
                key="volume",
            )
        return self


class Bought(Table):
    """[[done.bought]]: something of the order list that is paid for and stands there."""

    item: Annotated[str, BeforeValidator(_item)] = Field(
        description="what the order list calls it, such as `panels`"
    )
    count: Annotated[float, _COUNT] = Field(
        description="how many packages, as they are sold: panels, tons, rolls"
    )


class Done(Table):
    """[done]: what is dug, bought and standing there already."""

    dug: tuple[Dug, ...] = Field((), description="a list of tables [[done.dug]]")
    bought: tuple[Bought, ...] = Field((), description="a list of tables [[done.bought]]")
    bins: Annotated[int, BeforeValidator(_whole)] = Field(
        0, description="how many bins for soil stand there, paid for"
    )

    @property
    def counts(self) -> Mapping[str, float]:
        """How many packages of each item are bought."""
        counts: dict[str, float] = {}
        for one in self.bought:
            counts[one.item] = counts.get(one.item, 0.0) + one.count
        return counts
