"""What is built beside and below the paving, as plain data in SI."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from grading.crew.model import Crew
from grading.record.fields import each, fields
from grading.record.order import LINE
from grading.structures.model import Structure

_WORK = "task=title amount measure rate"


def structures_record(structures: Iterable[Structure], crew: Crew) -> list[dict[str, Any]]:
    """Return structures as plain data, ready for JSON: m, m2, m3, kg.

    Parameters
    ----------
    structures : iterable of Structure
    crew : Crew
        Its figures make the lines.
    """
    return [_structure(one, crew) for one in structures]


def _structure(one: Structure, crew: Crew) -> dict[str, Any]:
    return {
        **fields(one, "kind name area said plain"),
        "dug": fields(one.dug, "bank topsoil put_back"),
        "lines": each((line for maker in one.makers for line in maker.lines(crew)), LINE),
        "works": each(one.works, _WORK),
        "parts": sorted({solid.material for solid in one.solids}),
        **fields(one, "cautions not_counted"),
    }
