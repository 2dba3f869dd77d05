"""Site folders for tests, written the way that a person writes them."""

from __future__ import annotations

from pathlib import Path

LARCH_LANE = Path(__file__).parent / "larch-lane"
"""Metres, two areas, one of them folded, with an underdrain and a bench."""

SPOTS = """x,y,z,code,note
0,0,100.0,GND,
30,0,100.1,GND,
30,20,99.4,GND,"by the fence, low"
0,20,99.3,GND,
15,10,99.7,GND,
"""

HEAD = 'name = "Alder Row"\nunit = "ft"\nspots = "spots.csv"\n'

AREA = """[[area]]
name = "patio"
outline = [[2, 0], [28, 0], [28, 18], [2, 18]]
"""

FULL = (
    HEAD
    + """
[ground]
soil = "clay"
organics = "4 in"
breaklines = [[[0, 0], [15, 10], [28, 18, 99.5]]]
surface = "smooth"

[house]
walls = [[0, 0], [32, 0]]
inside = [16, -8]

[[door]]
at = [12, 0]
sill = "100' 7 13/16\\""

[[door]]
name = "kitchen"
at = [20, 0]
sill = 100.65
step = ["1 in", "7 in"]

[[ceiling]]
kind = "siding"
at = [[0, 0], [32, 0]]
z = 100.9

[[ceiling]]
kind = "window well"
name = "well"
at = [25, 0]
z = 100.8
clearance = "3 in"
area = "patio"

[[floor]]
kind = "lawn"
at = [[2, 18], [28, 18]]
above = "1/2 in"

[[meet]]
name = "front walk"
at = [[2, 4], [2, 8]]
z = [100.2, 100.1]

[[area]]
name = "patio"
use = "patio"
outline = [[2, 0], [28, 0], {arc = [[33, 9], [28, 18]]}, [2, 18]]
holes = [[[10, 10], [12, 10], [12, 12], [10, 12]]]
base = "mine"
plane = {at = [2, 0], z = 100.2, fall = "1/4 in/ft", bearing = 0}

[[area]]
name = "walk"
use = "front walkway"
outline = [[2, 18], [6, 18], [6, 20], [2, 20]]
accessible = true
toward = -90

[[base]]
name = "mine"
layers = [
  {name = "paver", thickness = "60 mm"},
  {name = "base", thickness = 0.5, material = "dense-graded"},
]

[limits]
least-fall = "1.5 %"
door-step = ["1 in", 0.5]
"""
)


def write_site(folder: Path, text: str = HEAD + AREA, **files: str | bytes) -> Path:
    """Write a site into a folder, its csv files by their names less the ending."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    for name, content in {"spots": SPOTS, **files}.items():
        data = content.encode() if isinstance(content, str) else content
        (folder / f"{name}.csv").write_bytes(data)
    return folder
