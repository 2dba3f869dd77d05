"""When paving is laid: the day or the season, and whether that is in the cold of the year."""

from __future__ import annotations

from datetime import date

from grading.catalogue.tables import table
from grading.site.feature_tables import Frost, Laying
from grading.units import DAY

_YEAR = 365.0


def from_coldest(day: date) -> float:
    """Return how many days a day lies from the coldest of the year, before or after. [days]"""
    month, of_month = table("conditions", "season")["coldest-day"]["value"]
    apart = abs((day - date(day.year, month, of_month)).days)
    return min(apart, _YEAR - apart)


def is_cold(laying: Laying, frost: Frost | None) -> bool | None:
    """Say whether paving is laid in the cold season; None where it is not said when.

    Parameters
    ----------
    laying : Laying
    frost : Frost or None
        Its season is how long the freezing lasts; without it, that of the table.

    Notes
    -----
    A day is cold where it lies within half the freezing season of the coldest day of the year.
    """
    if laying.season is not None:
        return laying.season == "winter"
    if laying.date is None:
        return None
    season = None if frost is None else frost.season
    days = table("conditions", "season")["cold-days"]["value"] if season is None else season / DAY
    return from_coldest(laying.date) <= days / 2


def laid_words(laying: Laying) -> str:
    """Say when paving is laid: "in autumn", "on 20 November 2026"; empty where it is not said."""
    if laying.season is not None:
        return f"in {laying.season}"
    day = laying.date
    return "" if day is None else f"on {day.day} {day:%B} {day.year}"
