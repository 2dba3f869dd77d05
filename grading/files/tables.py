"""The tables of a toml file read against what they may hold, all that is wrong in them gathered."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from grading.errors import Problem
from grading.files.fields import Table
from grading.files.toml_text import nearest, problems_of, shown_value
from grading.signs import shortened, visible
from grading.units import Unit

T = TypeVar("T", bound=Table)


class Tables:
    """What was written in one file, and what was found wrong so far.

    Parameters
    ----------
    file : str
        Its name in messages.
    written : mapping
        The file as toml has it.
    unit, nominal : "ft" or "m"
        What a bare length means, and what sizes that nobody wrote are round in.
    **context
        What else its tables are told as they are read.
    """

    def __init__(
        self, file: str, written: Mapping[str, Any], unit: Unit, nominal: Unit, **context: Any
    ) -> None:
        self.shown, self.written, self.unit = file, written, unit
        self._context = {"unit": unit, "nominal": nominal, **context}
        self.problems: list[Problem] = []

    def wrong(self, key: str, found: str, expected: str, mend: str = "") -> None:
        """Note what is wrong with the value of a key."""
        self.problems.append(Problem(f"{self.shown}, key {key}", found, expected, mend))

    def unknown(self, name: str, expected: str, known: Collection[str], of: str = "") -> None:
        """Note a key that is none of those known."""
        shown = shortened(visible(name))
        self.wrong(f"{of}{shown}", f"the key `{shown}`", expected, nearest(name, known))

    def check_keys(self, known: Collection[str]) -> None:
        """Note each key of the file that is none of those known."""
        for key in self.written:
            if key not in known:
                one_of = "one of " + ", ".join(f"`{word}`" for word in known)
                self.unknown(key, one_of, known)

    def table(self, model: type[T], raw: Any, key: str = "") -> T | None:
        """Return one table read, or None where something in it is wrong."""
        try:
            return model.model_validate(raw, context=self._context)
        except ValidationError as error:
            self.problems += problems_of(error, model, raw, self.shown, key)
            return None

    def one(self, key: str, model: type[T]) -> T | None:
        """Return the one table of a key, or None where there is none that can be read."""
        if key not in self.written:
            return None
        return self.table(model, self.written[key], key)

    def many(self, key: str, model: type[T]) -> dict[str, T]:
        """Return the tables that could be read, each by its key, counted from 1."""
        raw = self.written.get(key, [])
        if not isinstance(raw, list):
            found = f"one table [{key}]" if isinstance(raw, dict) else shown_value(raw)
            self.wrong(key, found, f"a list of tables [[{key}]]", f"Write [[{key}]].")
            return {}
        tables = {
            f"{key}[{place}]": self.table(model, entry, f"{key}[{place}]")
            for place, entry in enumerate(raw, start=1)
        }
        return {place: table for place, table in tables.items() if table is not None}
