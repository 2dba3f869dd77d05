"""Cautions, as long as there is room for: each place shows one of them.

What two of them say is said once, here at the head.
"""

from __future__ import annotations

import textwrap

_LOCATE = "Have utilities located before digging"
_TRADES = "Gas, electrical and drainage connections belong to licensed trades"
_SURVEYED = "An estimate from the survey: check on site."
_DUST = "makes silica dust: water or extraction, and a respirator."

REPORT = textwrap.fill(
    f"An estimate, for the crew to check on site. {_LOCATE}. {_TRADES}; structure, frost depth, "
    "guards, steps and walls to the local code and, where it asks, a licensed professional. "
    f"Cutting concrete {_DUST}",
    116,
)
"""Below what is printed and in every table."""

PICTURE = (
    f"{_SURVEYED} {_LOCATE}. {_TRADES}. Structure, frost depth, steps, guards and walls are for "
    f"the local code. Cutting {_DUST}"
)
"""Beside every picture, and on the page."""

FILM = (
    f"{_SURVEYED} {_LOCATE}. Codes and licensed trades decide on structure, frost depth, gas, "
    f"electrical and drainage. Cutting {_DUST}"
)
"""Below the film and its strip."""

DRAWING = (
    "Estimate only; have utilities located before digging; local code and licensed trades decide "
    "on gas, electrical, drainage and structure; check on site."
)
"""In the title block of every drawing."""

ANSWER = "Estimate; check on site. Local code and licensed trades decide."
"""Below each answer."""

FROST = "Frost depths are estimates for comparing build-ups, no promise and no design of a footing."
"""Beside what is said of frost."""

CREW = (
    f"{_LOCATE}; hand-dig beside every mark. Private lines are not marked by the public locator.",
    f"Cutting {_DUST} Eyes, ears, feet, back.",
    "Photograph and measure every layer before it is covered.",
)  # common practice, no source
"""On the crew's sheet, a box before each, beside what stands at the foot of each of its pages and
with its rods and stop rules: trades and the local code, the benchmark read again, soil that is
soft."""
