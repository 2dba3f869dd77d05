"""What a page may ask by name, beside changes and looks: each a function of what is seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from viz.desk.plan.calls import PLAN_CALLS
from viz.desk.seen import Seen
from viz.desk.survey_calls import SURVEY_CALLS
from viz.desk.water_calls import drop

Call = Callable[[Seen, Mapping[str, Any]], dict[str, Any]]

CALLS: Mapping[str, Call] = {**PLAN_CALLS, **SURVEY_CALLS, "drop": drop}
"""Each by its name: it takes what is seen and what it is asked with, and returns its answer."""
