"""What is said in the trench: what a rod is read for, what a shot means, what every key does."""

from __future__ import annotations

from collections.abc import Mapping

from grading.asbuilt.words import OFF
from grading.setout.model import ABOVE_SIGHT, BEYOND_ROD
from grading.setout.words import LOWER
from viz.words.plain import table

UNTIL: Mapping[str, str] = table("until", "field")
"""Above the reading, by the role of the surface."""

LIES = "the rod on it reads"
"""Above the reading of a surface that is neither dug nor levelled by itself."""

BEYOND: Mapping[str, Mapping[str, str]] = table("beyond", "field")
"""What is done about a shot beyond its tolerance."""

VERDICT: Mapping[str, str] = {**OFF, **table("verdict", "field")}
"""What a shot says at once; in braces what the rod tells."""

MARKS: Mapping[str, str] = table("marks", "field")
"""What a rod is marked in, on its key."""

LABELS: Mapping[str, str] = {
    **table("labels", "field"),
    "above_sight": f"The {{layer}} lies {ABOVE_SIGHT}.",
    "beyond_rod": f"The {{layer}} lies {BEYOND_ROD}.",
    "lower": LOWER,
}
"""On keys, above fields and beside figures; in braces what is told there."""
