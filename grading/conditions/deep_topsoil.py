"""Topsoil under an area that is deeper than is dug away for panels: all over it, in parts, or at
one hole alone.

One deep hole among shallow ones is a stump or an old pit: it is told as one place, and does not
decide for the whole area.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.design.local_parts import LocalPart, beyond, parts_above, where_words
from grading.design.model import kept
from grading.design.places import Places
from grading.dig.hole import LEAST_REFILL, Dig
from grading.finish.cutting import clip_facets
from grading.finish.earthwork import Clip, positive_and_negative
from grading.geometry.tolerances import SAME
from grading.ground.test_holes import holes_of, lone_hole
from grading.units import Unit, size, volume
from grading.units.shares import share_words

Extent = Literal["nowhere", "one hole", "parts", "most of it"]

SLIGHT = 0.01
"""A share of an area up to this is not told as a part of it: common practice, no source. [ratio]"""


class DeepTopsoil(Struct, frozen=True):
    """Where topsoil under an area is deeper than `deep-organics`.

    Attributes
    ----------
    extent : "nowhere", "one hole", "parts" or "most of it"
    share : float
        Share of the paving over which it is, as it is drawn between the holes. [ratio]
    deepest : float
        Greatest depth under the paving. [m]
    where : str
        Which part of it, how deep and where, as it follows "deeper than 5 in"; empty where it is
        nowhere or most of it.
    parts : tuple of LocalPart
        The parts, the largest first.
    """

    extent: Extent
    share: float
    deepest: float
    where: str
    parts: tuple[LocalPart, ...]

    @property
    def local(self) -> bool:
        """Whether it is in a part of the area alone."""
        return self.extent in ("one hole", "parts")

    def refill(self, area: AreaPlan, dig: Dig) -> float:
        """Return what is refilled in these parts because topsoil came out, compacted. [m3]

        Parameters
        ----------
        area : AreaPlan
        dig : Dig
            One of its digs.
        """
        shapes = [
            each for part in self.parts for each in shapely.get_parts(part.shape) if each.area > 0
        ]
        if not shapes:
            return 0.0
        where = shapely.MultiPolygon(shapes)
        ground = area.group.group.ground.under(area.name)
        piece = clip_facets(ground, where, [facet.domain for facet in dig.finish.facets])
        return replace(dig, polygon=where, clip=piece).fill_for_organics

    def refill_words(self, area: AreaPlan, dig: Dig, unit: Unit) -> str:
        """Say how these parts are dug on a base system, and what refills them.

        Parameters
        ----------
        area, dig : as for `refill`
        unit : "ft" or "m"
        """
        refill = self.refill(area, dig)
        if refill <= LEAST_REFILL:
            return "the build-up is dug as deep there"
        told, least = (volume(each, unit) for each in (refill, 0.0))
        if told == least:
            told = f"less than {least[: least.index(' ') - 1]}1{least[least.index(' ') :]}"
        return f"dug to their bottom there, and refilled with {told} of stone"


def share_above(paved: Clip, values: np.ndarray, limit: float) -> float:
    """Return the share of paving over which a value (k, 3) passes a limit. [ratio]"""
    return positive_and_negative(beyond(values, limit), paved.areas).cut_area / paved.area


@kept
def deep_topsoil(area: AreaPlan, limits: Limits, places: Places) -> DeepTopsoil:
    """Return where topsoil under an area is deeper than `deep-organics`.

    Its checks and the advice on every base ask; it is found once.

    Parameters
    ----------
    area : AreaPlan
    limits : Limits
    places : Places
        Says where, in the unit that the sentences are written in.
    """
    paved, limit = area.chosen_dig.paved, limits["deep-organics"]
    deepest = float(paved.organics.max())
    share = share_above(paved, paved.organics, limit)
    if deepest <= limit + SAME:
        return DeepTopsoil("nowhere", 0.0, deepest, "", ())
    parts = parts_above(paved, paved.organics, limit)
    lone = _lone_hole(area, limits, places)
    if lone:
        return DeepTopsoil("one hole", share, deepest, lone, parts)
    if share > limits["deep-organics-share"]:
        return DeepTopsoil("most of it", share, deepest, "", parts)
    if share <= SLIGHT:
        return DeepTopsoil("nowhere", share, deepest, "", parts)
    told = where_words(parts, places, places.unit)
    where = f"over {share_words(share)} of the area alone ({told})"
    return DeepTopsoil("parts", share, deepest, where, parts)


def _lone_hole(area: AreaPlan, limits: Limits, places: Places) -> str:
    """Say which hole alone is deeper than the limit; nothing where it is not one alone."""
    site, name = area.group.group.site, area.name
    probes = site.ground.probes
    if probes is None:
        return ""
    holes = holes_of(probes, site.ground.hole_areas, site.areas, limits["hole-reach"])[name]
    own = probes[holes.used]
    lone = lone_hole(own[:, 2], limits["deep-organics"])
    if lone is None:
        return ""
    unit, hole = places.unit, own[lone]
    others = size(float(np.delete(own[:, 2], lone).max()), unit)
    return (
        f"at one test hole of {len(own)} alone ({size(float(hole[2]), unit)} deep, "
        f"{places.at(hole[:2])}; the others at most {others})"
    )
