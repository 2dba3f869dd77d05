"""What is said on what is taken away, and of shots that are given back."""

from __future__ import annotations

from collections.abc import Mapping

from grading.units import FOOT, Unit
from viz.words.plain import table

PAPER: Mapping[str, str] = table("paper", "field")
"""On what is taken away: heads, and sentences with braces to be filled."""

EXAMPLE: Mapping[Unit, float] = {"ft": 4 * FOOT, "m": 1.2}
"""A reading that the sum is worked for. [m]"""

BACK: Mapping[str, str] = table("back", "field")
"""What is said of shots given back; a stake's own phrases are put together by commas."""
