"""What a page may ask by name, beside changes and looks: each a function of what is seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from viz.desk.asked.base import swings, turns
from viz.desk.asked.field import FIELD_CALLS
from viz.desk.asked.survey import SURVEY_CALLS
from viz.desk.asked.water import drop
from viz.desk.plan.calls import PLAN_CALLS
from viz.desk.seen import Seen
from viz.desk.sheet.crew_figures import crew_figure
from viz.desk.sheet.designs import compare

Call = Callable[[Seen, Mapping[str, Any]], dict[str, Any]]

CALLS: Mapping[str, Call] = {
    **FIELD_CALLS,
    **PLAN_CALLS,
    **SURVEY_CALLS,
    "compare": compare,
    "crew_figure": crew_figure,
    "drop": drop,
    "swings": swings,
    "turns": turns,
}
"""Each by its name: it takes what is seen and what it is asked with, and returns its answer."""
