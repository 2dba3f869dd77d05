"""What units are in SI, exact by definition unless said."""

from __future__ import annotations

from typing import Literal

Unit = Literal["ft", "m"]

# The international inch, foot, yard and pound of 1959 are exact by definition.
INCH = 0.0254
FOOT = 0.3048
US_SURVEY_FOOT = 1200 / 3937  # of state plane coordinates, exact by definition
YARD = 0.9144
SQUARE_INCH = INCH**2
SQUARE_FOOT = FOOT**2
SQUARE_YARD = YARD**2
CUBIC_FOOT = FOOT**3
CUBIC_YARD = YARD**3
GALLON = 231 * INCH**3  # the US liquid gallon, exact by definition
LITRE = 0.001
HOUR = 3600.0
MINUTE = 60.0
POUND = 0.45359237
SHORT_TON = 2000 * POUND
TONNE = 1000.0
GRAVITY = 9.80665  # m/s2, the standard one
POUND_FORCE = POUND * GRAVITY
POUND_PER_SQUARE_FOOT = POUND_FORCE / SQUARE_FOOT  # Pa
POUND_PER_SQUARE_INCH = POUND_FORCE / SQUARE_INCH  # Pa
FAHRENHEIT = 5 / 9  # K, one degree of difference
BTU = 1055.05585262  # J, the International Table one
DAY = 86400.0  # s

METRES = {"ft": FOOT, "m": 1.0}
"""What one of the file's unit is worth. [m]"""
