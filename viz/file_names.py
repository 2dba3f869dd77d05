"""Names of files that a site and its areas are written to."""

from __future__ import annotations

import re
import unicodedata

from grading.design.model import Design


def slug(name: str, otherwise: str = "area") -> str:
    """Return a name fit for a file: lower-case letters, digits and hyphens, at most 60."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or otherwise


def area_slugs(plan: Design) -> list[str]:
    """Return a file name for each area; two of the same name are told apart by a number."""
    names: list[str] = []
    for area in plan.areas:
        name = base = slug(area.area.name)
        count = 1
        while name in names:
            count += 1
            name = f"{base}-{count}"
        names.append(name)
    return names
