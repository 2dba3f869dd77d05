"""The steps of the job sheet in the order of the work."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from viz.desk.blocks import Step
from viz.desk.seen import Seen
from viz.desk.steps import base, built, cost, finish, ground, papers, setout, water, yard


class Listed(Struct, frozen=True):
    """A step by its key, what makes it, and whether it is all that is wanted in the field."""

    key: str
    make: Callable[[Seen], Step]
    in_the_field: bool = False


STEPS: tuple[Listed, ...] = (
    Listed("yard", yard.step),
    Listed("ground", ground.step),
    Listed("finish", finish.step),
    Listed("base", base.step),
    Listed("water", water.step),
    Listed("cost", cost.step),
    Listed("papers", papers.step),
    Listed("setout", setout.step, in_the_field=True),
    Listed("built", built.step, in_the_field=True),
)
"""As they stand in the sheet."""
