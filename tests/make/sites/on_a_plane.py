"""Site folders written for a test, with a survey that lies on a plane."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from grading.reading.site_file import read_site
from grading.site.model import Site


def planar_spots(size: tuple[float, float], plane: tuple[float, float, float]) -> str:
    """Return a survey on a plane z0 + dzdx x + dzdy y, from 3 outside to 3 beyond the size."""
    x, y = np.meshgrid(np.linspace(-3, size[0] + 3, 5), np.linspace(-3, size[1] + 3, 4))
    z = plane[0] + plane[1] * x + plane[2] * y
    return spots_csv(np.column_stack([x.ravel(), y.ravel(), z.ravel()]))


def spots_csv(xyz: np.ndarray) -> str:
    """Return spots (n, 3) as the text of a survey file, no digit lost."""
    return "\n".join(["x,y,z", *(",".join(map(repr, spot)) for spot in xyz.tolist()), ""])


def written(folder: Path, toml: str, spots: str) -> Site:
    """Write a site folder and read it back."""
    (folder / "site.toml").write_text(toml, encoding="utf-8")
    (folder / "spots.csv").write_text(spots, encoding="utf-8")
    return read_site(folder)
