"""A yard surveyed by a scan: made anew each time, since a scan is too large to be kept.

`PYTHONPATH=.:tests python tests/make/sites/scan_site.py DIR` writes the site, the scan,
and points that were measured and are seen in it; sample_sites/README.md tells
what to do with them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import laspy
import numpy as np
from make.sites.scans import Yard

from grading.units import FOOT

HEAD = """# my yard
name = "Fir Lane, back patio"
unit = "ft"   # a tape in feet
"""
REST = """
[ground]
soil = "clay"   # heavy

[house]
walls = [[0, 0], [60, 0]]
inside = [30, -10]

[[door]]
at = [30, 0]
sill = 1.0

[[area]]
name = "patio"
outline = [[22, 0], [40, 0], [40, 16], [22, 16]]
"""
YARD = Yard(20, 12)
TURN = np.radians(37)


def seen(xyz):
    """Return where a scanner sees points of the site, from where it stood."""
    c, s = np.cos(TURN), np.sin(TURN)
    return (xyz - [3, -7, 1.3]) @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def scan_of(path, count=200_000):
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = [0.001] * 3, [0.0] * 3
    data = laspy.LasData(header)
    data.x, data.y, data.z = seen(YARD.scan(count)).T
    data.write(str(path))
    return path


def common_of(path, names="ABCD", wrong=None):
    places = np.array([[1, 1], [17, 1.5], [2, 11], [16, 10], [9, 6]])[: len(names)]
    xyz = np.column_stack([places, YARD.z(*places.T)])
    rows = np.column_stack([xyz / FOOT, seen(xyz)])
    if wrong is not None:
        rows[wrong, 3] += 1.0
    lines = [
        ",".join([name, *map("{:.4f}".format, row)]) for name, row in zip(names, rows, strict=True)
    ]
    path.write_text("point,x,y,z,scan x,scan y,scan z\n" + "\n".join(lines) + "\n")
    return path


def write(folder: Path) -> None:
    """Write a site without a survey, a scan of it, and five points that are known in both."""
    (folder / "yard").mkdir(parents=True)
    (folder / "yard" / "site.toml").write_text(HEAD + REST, encoding="utf-8")
    scan_of(folder / "scan.laz", 600_000)
    common_of(folder / "common.csv", "ABCDE")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
