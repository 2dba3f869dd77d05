"""Cautions, as long as there is room for: each place shows one of them."""

REPORT = (
    "An estimate, for the crew to check on site. Have utilities located before digging. Gas, "
    "electrical and drainage\nconnections belong to licensed trades; structure, frost depth, "
    "guards, steps and walls to the local code and, where\nit asks, a licensed professional. "
    "Cutting concrete makes silica dust: water or extraction, and a respirator."
)
"""Below what is printed and in every table."""

PICTURE = (
    "An estimate from the survey: check on site. Have utilities located before digging. Gas, "
    "electrical and drainage connections belong to licensed trades. Structure, frost depth, "
    "steps, guards and walls are for the local code. Cutting makes silica dust: water or "
    "extraction, and a respirator."
)
"""Beside every picture, and on the page."""

FILM = (
    "An estimate from the survey: check on site. Have utilities located before digging. Codes and "
    "licensed trades decide on structure, frost depth, gas, electrical and drainage. Cutting makes "
    "silica dust: water or extraction, and a respirator."
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
    "Have utilities located before digging; hand-dig beside every mark. Private lines are not "
    "marked by the public locator.",
    "Gas, electrical and drainage connections belong to licensed trades; structure, frost depth, "
    "guards, steps and walls to the local code.",
    "Cutting makes silica dust: water or extraction, and a respirator. Eyes, ears, feet, back.",
    "A bigger reading on the rod is a lower point. Close the levelling back on the benchmark.",
    "Soft, wet or black soil below the subgrade: stop, photograph, measure, call before filling.",
    "Photograph and measure every layer before it is covered.",
)  # common practice, no source
"""On the crew's sheet, a box before each."""
