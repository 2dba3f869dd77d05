"""What is ordered: the items of the order list, by the name that they have in code and in files."""

from __future__ import annotations

from collections.abc import Mapping

from grading.catalogue.tables import table

TITLES: Mapping[str, str] = table("catalogue", "items")
"""Everything that is ordered, in the order of the list."""
