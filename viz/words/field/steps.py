"""What the steps of the page say of setting out and of what was built."""

from __future__ import annotations

from collections.abc import Mapping

from viz.words.plain import table

SET_OUT: Mapping[str, str] = table("set-out", "field")
"""Of the step that sets out."""

BUILT: Mapping[str, str] = table("built", "field")
"""Of the step that holds what was built against the plan."""
