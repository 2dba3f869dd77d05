"""What a page may ask by name, beside changes and looks: each a function of what is seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from viz.desk.base_calls import swings, turns
from viz.desk.crew_figures import crew_figure
from viz.desk.designs import compare
from viz.desk.field_calls import FIELD_CALLS
from viz.desk.plan.calls import PLAN_CALLS
from viz.desk.seen import Seen
from viz.desk.survey_calls import SURVEY_CALLS
from viz.desk.water_calls import drop

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
