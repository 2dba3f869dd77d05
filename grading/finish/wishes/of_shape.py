"""What the shape of a finish, and the way that it is to fall, ask of it."""

from __future__ import annotations

import numpy as np

from grading.catalogue.rules import Limits, comfortable_fall_rule, greatest_fall_rule
from grading.finish.layout import Block
from grading.finish.wishes.model import Wish
from grading.finish.wishes.of_site import Maker
from grading.geometry.plane import Plane
from grading.units import percent


def bend_wish(block: Block) -> Wish | None:
    """Return the wish that a ridge sheds and a valley gathers, where the shape has any."""
    bends = block.shape.bends
    if not len(bends):
        return None
    rows = np.zeros((len(bends), block.total))
    rows[:, block.first : block.first + block.shape.unknowns] = bends
    kind, name = block.area.shape, block.area.name
    return Maker(block).make(
        "fold", f"a {kind} in {name}", f"{name}: a {kind} that bends {{by}} the other way", rows,
        lower=0.0, about=name, at_least=True, slope=True,
    )  # fmt: skip


def shed_wish(block: Block, limits: Limits) -> Wish | None:
    """Return the wish that each plane of a folded area sheds the way its shape says."""
    sheds = block.shape.sheds
    if not sheds:
        return None
    least, kind = limits["least-fall"], block.area.shape
    rows = np.vstack([block.slope_rows(way, (facet,)) for facet, way in sheds])
    text = f"a fall of {percent(least)} on every plane of the {kind}"
    told = f"fall on every plane of the {kind}: {{to}} at most, not {percent(least)}"
    return Maker(block).make(
        "least-fall", text, told, rows, lower=least, about=kind, limit=least, at_least=True,
        slope=True,
    )  # fmt: skip


def least_fall_wish(block: Block, limits: Limits, bearing: float) -> Wish:
    """Return the wish for the least fall along a bearing, where no wall says which way."""
    turn, least = np.radians(bearing), limits["least-fall"]
    text = f"a fall of at least {percent(least)}"
    return Maker(block).fall(
        "least-fall", text, f"fall: {{to}} at most, not {percent(least)}",
        np.array([np.sin(turn), np.cos(turn)]), lower=least, limit=least, at_least=True,
    )  # fmt: skip


def comfort_wish(block: Block, limits: Limits) -> Wish:
    """Return the wish for a comfortable fall, of an area that lies on grade."""
    rule = comfortable_fall_rule(block.area.use)
    # A site's own limit may be tighter than what is comfortable.
    most = min(limits[rule], limits[greatest_fall_rule(block.area.use)])
    text = f"a comfortable fall of at most {percent(most)}"
    told = f"total fall: {{to}} at least, not a comfortable {percent(most)}"
    return Maker(block).make(rule, text, told, limit=most, slope=True, discs=block.discs(most))


def straight_wish(block: Block, bearing: float) -> Wish:
    """Return the wish that the fall runs straight along a bearing, straying to neither side."""
    turn = np.radians(bearing)
    text = f"a fall straight towards bearing {bearing:g}"
    told = f"fall towards bearing {bearing:g}: {{by}} to the side of it"
    across = np.array([np.cos(turn), -np.sin(turn)])
    return Maker(block).fall("straight-fall", text, told, across, lower=0.0, upper=0.0)


def given_wish(block: Block, plane: Plane) -> Wish:
    """Return the wish that an area keeps the plane that was given for it."""
    own = np.eye(block.total)[block.first : block.first + block.shape.unknowns]
    wanted, name = block.unknowns_of(plane), block.area.name
    text = f"the plane given for {name}"
    return Maker(block).make(
        "given-plane", text, f"{text}: {{by}} off", own, lower=wanted, upper=wanted, about=name
    )
