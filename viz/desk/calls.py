"""What a page may ask by name, beside changes and looks: each a function of what is seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from viz.desk.seen import Seen

Call = Callable[[Seen, Mapping[str, Any]], dict[str, Any]]

CALLS: Mapping[str, Call] = {}
"""Each by its name: it takes what is seen and what it is asked with, and returns its answer."""
