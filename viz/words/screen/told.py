"""What a check that does not pass says on the first screen: what it is, what is done about it."""

from __future__ import annotations

from grading.answers.led import Led, Told
from grading.catalogue.tables import table
from grading.pipeline import Plan
from viz.words.check_figures import COMMAND, Reader, figures, own_words, pattern_of


def said_of(told: Told, plan: Plan, reader: Reader = COMMAND) -> str:
    """Return the sentence of checks that do not pass: what it is, and what is done about it.

    Parameters
    ----------
    told : Told
    plan : Plan
        That they are of.
    reader : Reader

    Returns
    -------
    str
        Empty where `led.toml` has none.
    """
    words = table("answers", "led")["said"].get(told.rule, {})
    pattern = pattern_of(words, told)
    return pattern.format(**figures(words, told, plan, reader)) if pattern else ""


def told_words(told: Told, led: Led, reader: Reader = COMMAND) -> str:
    """Return the sentence of checks, or where there is none what the worst of them found."""
    return said_of(told, led.plan, reader) or own_words(told.worst)


def of_area(told: Told, words: str, led: Led) -> str:
    """Return words of checks behind the name of the area that they are of."""
    name = told.area or ("site" if len(led.plan.areas) > 1 else led.plan.areas[0].name)
    return f"{name}  {words}"
