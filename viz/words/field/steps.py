"""What the steps of the page say of setting out and of what was built."""

from __future__ import annotations

from collections.abc import Mapping

SET_OUT: Mapping[str, str] = {
    "no_plan": "nothing to stake out yet",
    "no_rods": "no rods of this state",
    "working": "not all of it is known yet",
    "no_rods_yet": "No rod is told before this is settled.",
    "ready": "rods and stakes are ready",
    "none_yet": "Stakes are set out once there is a plan.",
    "stale": (
        "The document has no plan as it stands, so no rod is told: nobody is to dig to one that "
        "was. Settle what is wrong first."
    ),
    "rods_head": "Rods of every stake, as the instrument stands",
    "not_set_up": (
        "No instrument is set up. Set it up on the screen of the trench, here or under As built: "
        "the rods of every stake follow from that."
    ),
    "stakes_head": "Stakes and strings by level",
    "along_head": "To take along",
    "stakes": "Stakes",
    "away": "The file to take away",
    "away_note": (
        "take-away.html: rods, a moved instrument and shots on a phone with no connection; its "
        "table of rods can be printed"
    ),
    "away_home": "The homeowner's file",
    "away_home_note": "take-away-home.html: levels, steps and what is agreed; no prices",
    "cards": "Pocket cards",
    "cards_note": "PDF, with the stakes as CSV and DXF",
    "tell": "Tell the rods",
}
"""Of the step that sets out."""

BUILT: Mapping[str, str] = {
    "no_plan": "nothing to hold against yet",
    "no_shots": "nothing shot yet",
    "shots": "{count} {shots}, {layers}",
    "all_within": "all within tolerance",
    "beyond": "{count} beyond tolerance",
    "none_yet": "What is built is held against a plan once there is one.",
    "stale": "The document has no plan as it stands: what was built is held against none.",
    "how": (
        "Shots are booked in the trench, on this page or on the file that was taken away, which "
        "gives them back as a text."
    ),
    "back_head": "Shots given back",
    "back_label": "Paste the text that the page gave, or choose its file",
    "back_take": "Take them in",
    "back_file": "Choose a file",
    "back_kept": "They are kept beside the site.",
    "held_head": "{layer} of {area}",
    "map": "{layer} of {area}: where each shot lies to the design",
    "shot": "shot",
    "as_built": "as built",
    "design": "design",
    "off": "off",
    "state": "state",
    "tolerance": "Tolerance: {words}",
    "more": "What the shots tell beside that",
    "record_head": "Record it",
    "record_how": (
        "A record is sealed to the one before and never changed: who measured what, and what came "
        "of it. A correction is a new record."
    ),
    "layer": "Layer",
    "who": "Who measured",
    "note": "Note",
    "record": "Record",
    "recorded": "Recorded in {file}.",
    "saving": "The site file is being saved at this moment: record it again.",
    "not_shot": "No shot of that layer is kept.",
    "read_only": "This site is open in another place already: record it there.",
    "records": "Records",
    "signoff_head": "Papers",
    "signoff": "The sign-off",
    "signoff_note": "PDF: what was agreed, what was built, what was found, who signs",
    "paper": "{layer} as built",
    "paper_note": "PDF with the map, and CSV",
}
"""Of the step that holds what was built against the plan."""
