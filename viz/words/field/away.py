"""What is said on what is taken away, and of shots that are given back."""

from __future__ import annotations

from collections.abc import Mapping

from grading.units import FOOT, Unit

PAPER: Mapping[str, str] = {
    "revision": "revision {revision}",
    "area": "{area}, on {base}",
    "benchmarks": "Benchmarks",
    "rods_today": "Rods today: {sight}",
    "rods_by_hand": "Rods by hand: add these to what the rod reads on {benchmark}",
    "by_hand": "Read the rod on {benchmark} and add what stands here. {lower}",
    "example": (
        "So with {reading} read on {benchmark}, the rod on the {layer} at {stake} reads {reading} "
        "+ {added} = {rod}."
    ),
    "levels": "Levels",
    "places": "Where the stakes go",
    "place": "{where}. Tapes: {tapes}",
    "strings": "Strings {over} above the finish, everywhere",
    "diagonals": "Diagonals: {diagonals}.",
    "tolerances": "As built, above or below the design at the most",
    "before": "Before and while it is dug",
    "cut": "From the door to the lawn, cut through",
    "from_above": "{area} from above",
    "first": "To be solved first",
    "water": "Will water go to my basement?",
    "steps": "Steps",
    "edge": "The edge",
    "settled": "To be settled",
    "heights": "Levels of the finish",
    "point": "point",
    "finish": "finish",
    "agreed": "What is agreed",
    "not_included": "Not in it, unless it is written down",
    "said": "{what}: {words}",
    "size": "size",
    "base": "base",
    "edge_head": "edge",
    "door": "door",
    "step": "step",
}
"""On what is taken away: heads, and sentences with braces to be filled."""

EXAMPLE: Mapping[Unit, float] = {"ft": 4 * FOOT, "m": 1.2}
"""A reading that the sum is worked for. [m]"""

BACK: Mapping[str, str] = {
    "count": "{count} {shots} given back.",
    "same": "They are of plan {number}, which is the plan as it stands.",
    "stayed": (
        "They are of plan {number}, the plan is now {now}; the stakes that were shot are where "
        "they were."
    ),
    "moved": (
        "They are of plan {number}, the plan is now {now}. Since then {stakes}. Shots are held "
        "against the plan as it is now, where they were taken."
    ),
    "none": "They do not say of which plan they are: they are held against plan {now}.",
    "moved_one": "stake {stake} {how}",
    "aside": "moved by {size}",
    "higher": "is to be {size} higher at the {layer}",
    "lower": "is to be {size} lower at the {layer}",
    "gone": "is gone",
}
"""What is said of shots given back; a stake's own phrases are put together by commas."""
