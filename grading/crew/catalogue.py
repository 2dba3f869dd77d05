"""A crew's catalogue: base systems of its own, written once for all its sites.

It stands in `crew.toml`, in the site folder or the one above. Every entry says who vouches for it:
what is compared on every site is not compared on hearsay.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError

from grading.errors import Problem
from grading.files.toml_text import problems_of, shown_value
from grading.site.base_tables import BaseSystemSpec
from grading.units import Unit


def bases_of(
    raw: Any, unit: Unit, file: str
) -> tuple[tuple[BaseSystemSpec, ...], tuple[Problem, ...]]:
    """Return the base systems of a catalogue, and everything that is wrong with it.

    Parameters
    ----------
    raw : object
        What stands under [[base]] in the file.
    unit : "ft" or "m"
        What a bare length means.
    file : str
        Its name in messages.
    """
    if not isinstance(raw, list):
        found = "one table [base]" if isinstance(raw, dict) else shown_value(raw)
        wrong = Problem(f"{file}, key base", found, "a list of tables [[base]]", "Write [[base]].")
        return (), (wrong,)
    systems: dict[str, BaseSystemSpec] = {}
    problems: list[Problem] = []
    for place, table in enumerate(raw, start=1):
        key = f"base[{place}]"
        try:
            system = BaseSystemSpec.model_validate(table, context={"unit": unit, "catalogue": True})
        except ValidationError as error:
            problems += problems_of(error, BaseSystemSpec, table, file, key)
            continue
        if system.name in systems:
            first = list(systems).index(system.name) + 1
            found = f'"{system.name}", which base[{first}] is too'
            problems.append(
                Problem(f"{file}, key {key}.name", found, "a name of its own", "Rename one.")
            )
        systems.setdefault(system.name, system)
    return tuple(systems.values()), tuple(problems)


def over_catalogue(
    catalogue: Sequence[BaseSystemSpec], own: Sequence[BaseSystemSpec]
) -> tuple[BaseSystemSpec, ...]:
    """Return the base systems of a site: the catalogue's, and its own in their place by name.

    Parameters
    ----------
    catalogue, own : sequence of BaseSystemSpec
    """
    return tuple({system.name: system for system in (*catalogue, *own)}.values())
