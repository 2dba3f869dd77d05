"""Two folders of one yard: a patio on a lawn that falls 2 %, and what is changed in the second."""

from __future__ import annotations

from pathlib import Path

import grading
from grading.comparison.model import Comparison, compared

SITE = """
name = "Alder Row"
unit = "m"
spots = "spots.csv"

[ground]
soil = "clay"
organics = "{organics}"

[house]
walls = [[-6, 0], [6, 0]]
inside = [0, -4]

[[door]]
name = "garden door"
at = [0, 0]
sill = 10.10

[[area]]
name = "terrace"
outline = [[-2, 0], [2, 0], [2, 3], [-2, 3]]
{area}
{more}
"""

SPOTS = "x,y,z,id\n-8,-1,10.02,a\n8,-1,10.02,b\n8,9,9.82,c\n-8,9,9.82,d\n0,4,{z},e\n"

GIVEN = 'base = "dense"\nplane = {at = [0, 0], z = 10.03, fall = "3 %", bearing = 0}'


def folder(
    root: Path, organics: str = "100 mm", area: str = GIVEN, more: str = "", z: str = "9.92"
) -> Path:
    """Write the yard into a folder, with one thing or another changed."""
    root.mkdir()
    written = SITE.format(organics=organics, area=area, more=more)
    (root / "site.toml").write_text(written, encoding="utf-8")
    (root / "spots.csv").write_text(SPOTS.format(z=z), encoding="utf-8")
    return root


def pair(before: Path, after: Path) -> Comparison:
    """Hold the plans of two folders against each other."""
    return compared(*(grading.plan(grading.read_site(each)) for each in (before, after)))
