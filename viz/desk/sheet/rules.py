"""Which step of the job sheet a rule belongs to: there it is told what does not pass by it."""

from __future__ import annotations

GROUND = frozenset({"survey"})
"""Rules that the step of the survey tells by itself."""

WATER = frozenset(
    {"low-edge", "foundation-water", "ground-water", "ground-fall-away", "run-on",
     "low-spot-paving", "low-spot-ground", "planting-lip", "downspout-reach", "drain-grate",
     "under-fall", "stone-reservoir",
     "drain-slope", "drain-outlet", "drain-capacity", "pipe-cover", "other-water",
     "dry-well-distance", "dry-well-storm", "dry-well-size", "dry-well-soil",
     "foundation-soak-share"}
)  # fmt: skip
"""Rules of where the water goes, and of what is built for it."""

BASE = frozenset(
    {"base-thickness-foot", "base-thickness-vehicle", "panel-use", "panel-fire", "fire-distance",
     "panel-feature", "panel-feature-height", "feature-overhang", "feature-wedge", "edge", "joint",
     "joint-weather", "subgrade-bearing", "base-advised", "base-join", "backfill-zone",
     "backfill-depth", "settled-fall", "heaved-fall", "hold", "hold-height", "wall-safety",
     "wall-toe", "wall-permit", "wall-permit-surcharged", "wall-terrace", "raised-fill",
     "raised-edge", "sunken-edge", "guard-height", "lower-finish", "organics", "test-holes"}
)  # fmt: skip
"""Rules of what lies under the paving, what holds its edge and what stands on it."""

STEPS = {"ground": GROUND, "water": WATER, "base": BASE}


def step_of(rule: str) -> str:
    """Return the step of the job sheet that a rule belongs to: the finish, if to no other."""
    return next((step for step, rules in STEPS.items() if rule in rules), "finish")
