"""What became of files that were imported."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.survey.sources.destination import Told
from grading.survey.sources.registration import TILT, Registration
from grading.survey.sources.scans.streamed import Step
from grading.units import Unit

SCHEMA = "fallaway/import/1"


class Source(Struct, frozen=True):
    """One file as it was taken: what it is, what its numbers mean and who says so, its points."""

    file: str
    kind: str
    unit: str
    told_by: str
    points: int
    breaklines: int


class Imported(Struct, frozen=True, eq=False):
    """What became of files.

    Attributes
    ----------
    site : Path
        The folder.
    unit : "ft" or "m"
        That of the site.
    sources : tuple of Source
    steps : tuple of Step
        What went into each step and what came out.
    spots : int
        In the table that was written.
    sd_z : float
        The median standard deviation of their elevations, NaN where none is told. [m]
    scatter : float or None
        How far points of a scan lie off its ground, a standard deviation. [m]
    laid : Registration or None
        How scan or points were brought onto the site's axes.
    far : (2,) float or None
        The corner that is farthest from the common points: of the paving, or of the spots. [m]
    far_away : float
        How far it is. [m]
    told : Told
        The files written, and what site.toml says.
    remarks : tuple of str
        What was not used, and what to look at again.
    """

    site: Path
    unit: Unit
    sources: tuple[Source, ...]
    steps: tuple[Step, ...]
    spots: int
    sd_z: float
    scatter: float | None
    laid: Registration | None
    far: Floats | None
    far_away: float
    told: Told
    remarks: tuple[str, ...]

    @property
    def z_sd_far(self) -> float:
        """The standard deviation of the elevation that the far corner is brought to. [m]"""
        assert self.laid is not None
        assert self.far is not None
        return float(self.laid.z_sd(self.far[None])[0])

    @property
    def tilt_far(self) -> float:
        """What half a degree of tilt would be at the far corner, where it was not measured. [m]"""
        assert self.laid is not None
        return math.tan(TILT) * self.far_away if self.laid.unknowns == 4 else 0.0

    def record(self) -> dict[str, Any]:
        """Return what scripts rely on, in SI."""
        laid = self.laid
        return {
            "schema": SCHEMA,
            "site": str(self.site),
            "files": [
                {
                    "file": each.file, "kind": each.kind, "unit": each.unit,
                    "unit_told_by": each.told_by, "points": each.points,
                    "breaklines": each.breaklines,
                }
                for each in self.sources
            ],
            "filters": [
                {"name": step.name, "in": step.came, "out": step.left} for step in self.steps
            ],
            "spots": self.spots,
            "sd_z_median": None if math.isnan(self.sd_z) else self.sd_z,
            "scatter": self.scatter,
            "registration": None if laid is None else self._registration(laid),
            "table": self.told.table,
            "breaklines": self.told.breaklines,
            "site_lines": list(self.told.lines),
            "site_line_alone": self.told.alone or None,
            "site_changed": self.told.changed,
            "remarks": list(self.remarks),
        }  # fmt: skip

    def _registration(self, laid: Registration) -> dict[str, Any]:
        return {
            "unknowns": laid.unknowns,
            "turn": laid.turn.tolist(),
            "shift": laid.shift.tolist(),
            "residuals": [
                {
                    "point": name,
                    "dx": float(off[0]),
                    "dy": float(off[1]),
                    "dz": float(off[2]),
                    "alone": None if math.isnan(alone) else float(alone),
                }
                for name, off, alone in zip(
                    laid.common.names, laid.residuals, laid.alone, strict=True
                )
            ],
            "sd_z": laid.sd_z,
            "sd_xy": laid.sd_xy,
            "far": None if self.far is None else self.far.tolist(),
            "far_distance": self.far_away,
            "z_sd_far": self.z_sd_far,
            "tilt_far": self.tilt_far,
        }
