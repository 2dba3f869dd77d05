"""What is said in the trench: what a rod is read for, what a shot means, what every key does."""

from __future__ import annotations

from collections.abc import Mapping

from grading.asbuilt.layers import LayerName
from grading.asbuilt.words import OFF
from grading.setout.model import ABOVE_SIGHT, BEYOND_ROD
from grading.setout.words import LOWER
from grading.units.rods import RodUnit

UNTIL: Mapping[str, str] = {
    "hole": "dig until the rod reads",
    "subgrade": "dig until the rod reads",
    "base": "compact until the rod reads",
    "bedding": "screed until the rod reads",
    "finish": "lay until the rod reads",
}
"""Above the reading, by the role of the surface."""

LIES = "the rod on it reads"
"""Above the reading of a surface that is neither dug nor levelled by itself."""

BEYOND: Mapping[LayerName, Mapping[str, str]] = {
    "subgrade": {
        "high": "still to dig",
        "low": "too deep: bring it up with compacted stone, never with bedding",
    },
    "base": {
        "high": "take it down and compact again before it is bedded",
        "low": "bring it up with base and compact again, never with bedding",
    },
    "bedding": {"high": "screed it again", "low": "add bedding and screed it again"},
    "surface": {
        "high": "lift, take bedding out, lay again",
        "low": "lift, add bedding, lay again",
    },
}  # common practice, no source
"""What is done about a shot beyond its tolerance."""

VERDICT: Mapping[str, str] = {
    **OFF,
    "leave": "within {limit}: leave it",
    "again": "Read it again",
    "foot": "{size} off, near a whole foot: was the foot misread?",
    "other": "{size} off: a misread rod, or another stake?",
}
"""What a shot says at once; in braces what the rod tells."""

MARKS: Mapping[RodUnit, str] = {
    "ft-in": "feet and inches", "ft": "decimal feet", "m": "metres", "cm": "centimetres",
    "mm": "millimetres",
}  # fmt: skip
"""What a rod is marked in, on its key."""

LABELS: Mapping[str, str] = {
    "above_sight": f"The {{layer}} lies {ABOVE_SIGHT}.",
    "beyond_rod": f"The {{layer}} lies {BEYOND_ROD}.",
    "too_long": "Longer than the rod ({rod}): read it again.",
    "no_reading": "Not a reading: write it as {form}.",
    "lower": LOWER,
    "bigger": "bigger reading =",
    "deeper": "deeper",
    "lawn": "from the lawn",
    "known": "known to",
    "not_surveyed": "not surveyed here",
    "level": "Level, no instrument is set up:",
    "sight": "Line of sight, set on {benchmark} {time}",
    "checked": "checked {time}",
    "no_sight": "No instrument is set up",
    "no_sight_long": "Hold the rod on a benchmark and read it: every rod follows from that.",
    "no_benchmark": (
        "This site has no benchmark and no door, so no rod can be told: write a [[benchmark]] with "
        "a name and its z into its file, and take the page away again."
    ),
    "no_rods": "No rod is told before this is settled: take the page away again then.",
    "moved": "Moved it",
    "set_up": "Set it up",
    "stands": "Set it up here",
    "stands_since": "Where the instrument stood",
    "setup_line": "{time}: {benchmark} ({level}) read {reading}, line of sight {height}",
    "setup_shots": "shots: {count}",
    "now": "now",
    "check": "It has not moved: check it",
    "check_same": "As it was: it reads {reading} and should read {wanted}.",
    "check_off": (
        "{size} off: it should read {wanted}. It was knocked, or the rod was misread. Read it "
        "again; if it stays, set it up anew and take the last shots again."
    ),
    "held_on": "1. Hold the rod on",
    "reads": "2. The rod reads",
    "rod_marked": "The rod is marked in",
    "new_sight": "Line of sight then: {level}",
    "feet": "feet", "inches": "inches", "sixteenths": "sixteenths",
    "and_sixteenths": "and sixteenths", "reading": "Reading",
    "the_reading": "the reading",
    "more_feet": "more feet", "erase": "erase", "clear": "Clear",
    "type_here": "or type it: {form}",
    "complete": "Still to tap: {missing}.",
    "shot": "Shot", "shots": "Shots", "keep": "Keep, next stake", "keep_far": "Keep it as read",
    "back": "Back", "next": "Next stake", "previous": "Previous stake", "layer": "Layer",
    "all_layers": "Every layer here",
    "should_read": "should read", "as_built": "as built",
    "no_shots_of": "No tolerance is held for the {layer}: it is read, not booked.",
    "kept": "Kept: {stake}, {layer}, {verdict}.",
    "undo": "Undo {stake}, {layer}",
    "undone": "Taken back: {stake}, {layer}, {reading}.",
    "left": "{count} left: {names}", "none_left": "every stake is shot",
    "of_layer": "{done} of {all} stakes shot", "read_before": "read before: {readings}",
    "to_read_again": "to be read again", "not_shot": "not shot yet", "go_to": "Go to stake {stake}",
    "give": "Give shots back", "give_long": (
        "This text is the list of shots. Copy it into a message, or save it as a file: the desk "
        "takes it back, and fallaway verify reads it."
    ),
    "copy": "Copy", "copied": "Copied.", "save": "Save as a file", "saved": "Saved: {file}",
    "not_copied": "This browser does not copy: the text is marked, copy it by hand.",
    "take": "Take shots into this page", "take_long": "Paste a text that such a page gave.",
    "taken": "Shots taken in: {count}.", "taken_none": "No shot is in that text.",
    "taken_other": "{count} rows are of another plan ({number}) and were left out.",
    "not_kept": (
        "This browser keeps nothing of a page opened from a file. Give the shots back as text "
        "before it is closed."
    ),
    "kept_here": "Shots are kept in this browser, for plan {number}.",
    "kept_desk": "Shots are kept by the desk, beside the site.",
    "lost_desk": "The desk does not answer: shots are kept on this page until it does.",
    "no_shots": "No shots yet.",
    "wide": "Fill the screen",
    "narrow": "Back to the page",
    "away": "Take it away",
    "paper": "Table", "screen": "Back to the rods", "plan": "Plan {number}",
    "where": "where", "tapes": "tapes", "stake": "stake",
}  # fmt: skip
"""On keys, above fields and beside figures; in braces what is told there."""
