"""Edges and joints of the table of options: their names, how an edge is fixed, how wide it is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Literal, get_args

from msgspec import Struct
from pydantic import BeforeValidator

from grading.catalogue.suitability import option_entries

EdgeName = Literal[
    "panel edge", "spiked edge", "dense shoulder", "concrete edge", "border", "wall"
]  # fmt: skip
JointName = Literal["polymeric sand", "wet-laid compound", "jointing sand", "chips"]
Fixing = Literal["screws", "spikes", "concrete", ""]

SHOULDER: EdgeName = "dense shoulder"
"""The edge that is spiked into a strip of dense-graded base beside open-graded stone."""

BORDER: EdgeName = "border"
"""The edge of curb units in concrete."""

WALL: EdgeName = "wall"
"""The edge, in the table of edges, that holds what is raised."""


class EdgeKind(Struct, frozen=True):
    """How one edge is laid.

    Attributes
    ----------
    name : str
    fixing : "screws", "spikes", "concrete" or ""
        What it is held with; "" where it is nothing of the paving's.
    flush : bool
        Whether a panel ends with the pavers, and does not run on under it.
    width : str
        The rule that says how wide it is outside the paving; "" where it lies on the base.
    nothing : bool
        Whether nothing of the base goes on beyond the paving.
    """

    name: str
    fixing: Fixing
    flush: bool
    width: str
    nothing: bool


@cache
def edge_kinds() -> Mapping[str, EdgeKind]:
    """Return every edge of the table of options by its name."""
    return {
        entry["name"]: EdgeKind(
            entry["name"],
            entry.get("fixing", ""),
            entry.get("flush", False),
            entry.get("width", ""),
            entry.get("nothing", False),
        )
        for entry in option_entries("edge")
    }


@cache
def passing_rules() -> Mapping[str, str]:
    """Return the rule that says what share of the rain each joint lets through, by its name."""
    return {entry["name"]: entry["passes"] for entry in option_entries("joint")}


def _named(about: Literal["edge", "joint"]) -> BeforeValidator:
    """Return what reads the name of an edge or a joint, or another word for it."""
    called = {
        word: entry["name"]
        for entry in option_entries(about)
        for word in (entry["name"], *entry.get("also", ()))
    }

    def read(value: Any) -> Any:
        return (
            called.get(" ".join(value.lower().split()), value) if isinstance(value, str) else value
        )

    return BeforeValidator(read)


EDGE, JOINT = _named("edge"), _named("joint")

EDGES, JOINTS = ", ".join(get_args(EdgeName)), ", ".join(get_args(JointName))
"""What may be written, in a list."""
