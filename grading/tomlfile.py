"""The site file as text: decoding, toml, and what is wrong with a table in words."""

from __future__ import annotations

import difflib
import re
import tomllib
import typing
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from grading.errors import Problem, SiteError
from grading.fields import Table, UnfitError
from grading.units import UnitError


def read_toml(path: Path, shown: str) -> dict[str, Any]:
    """Read a toml file.

    Parameters
    ----------
    path : Path
        The file, UTF-8 with or without a byte-order mark.
    shown : str
        Its name in messages.

    Raises
    ------
    SiteError
        The file is not UTF-8, or not toml; with the line.
    """
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"the byte 0x{data[error.start]:02x}, which is not UTF-8"
        mend = "Save the file again as UTF-8."
        raise SiteError([Problem(f"{shown}, line {line}", found, "UTF-8 text", mend)]) from None
    return toml_of(text, shown)


def toml_of(text: str, shown: str) -> dict[str, Any]:
    """Return the tables of a text; raise SiteError where it is not toml, with the line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SiteError([_syntax(str(error), text, shown)]) from None
    except RecursionError:
        raise SiteError(
            [Problem(shown, "brackets nested too deep", "the tables of a site")]
        ) from None


def _syntax(message: str, text: str, shown: str) -> Problem:
    match = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", message)
    reason = match[1] if match else message
    lines = text.splitlines() or [""]
    if match and match[2]:
        line, column = int(match[2]), int(match[3])
    else:
        line, column = len(lines), len(lines[-1]) + 1
    written = lines[line - 1].strip() if line <= len(lines) else ""
    found = f"`{shortened(written)}`" if written else "the end of the text"
    return Problem(
        f"{shown}, line {line}, column {column}",
        found,
        'toml, such as name = "patio"',
        f"{reason.rstrip('.')}.",
    )


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the sentence that names the nearest of the words, or none where none is near."""
    known = list(words)
    lower = {other.lower(): other for other in known}
    near = difflib.get_close_matches(word.lower(), lower, 1, cutoff=0.65) or [
        other for other in lower if other.startswith(word.lower()) or word.lower() in other
    ]
    return f"Did you mean `{lower[near[0]]}`?" if near and word else ""


def shown_value(value: Any) -> str:
    """Return a value of the file as the file writes it, cut short where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{shortened(value)}"'
    if isinstance(value, Mapping):
        inner = ", ".join(f"{key} = {shown_value(part)}" for key, part in value.items())
        return shortened(f"{{{inner}}}")
    if isinstance(value, list):
        return shortened(f"[{', '.join(shown_value(part) for part in value)}]")
    return shortened(str(value))


def shortened(text: str) -> str:
    """Return the text on one line, cut short where it is long."""
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "..."


def problems_of(
    error: ValidationError, model: type[Table], raw: Any, shown: str, key: str
) -> list[Problem]:
    """Return what is wrong with a table, one problem for each value.

    Parameters
    ----------
    error : ValidationError
        What reading `raw` as `model` gave.
    model : type of Table
    raw : mapping
        The table as written.
    shown, key : str
        The file and the key of the table in messages, "site.toml" and "area[1]". Entries of a
        list are counted from 1.
    """
    found = (
        _problem(dict(item), model, raw, shown, key) for item in error.errors(include_url=False)
    )
    return list(dict.fromkeys(found))


def _problem(item: dict[str, Any], model: type[Table], raw: Any, shown: str, key: str) -> Problem:
    steps, value = _path(raw, item["loc"])
    where = f"{shown}, key {(key + steps).lstrip('.')}"
    kind = item["type"]
    expected, known = _described(model, item["loc"])
    if kind == "extra_forbidden":
        name = str(item["loc"][-1])
        one_of = "one of " + ", ".join(f"`{word}`" for word in known)
        return Problem(where, f"the key `{name}`", one_of, nearest(name, known))
    if kind == "missing" and isinstance(item["loc"][-1], str):
        name = str(item["loc"][-1])
        place = f"{key}{steps}.{name}".lstrip(".")
        return Problem(f"{shown}, key {place}", "nothing", expected, f"Add `{name}`.")
    if kind == "literal_error":
        words = re.findall(r"'([^']*)'", item["ctx"]["expected"])
        one_of = f"one of {', '.join(shown_value(word) for word in words)}"
        mend = nearest(value, words) if isinstance(value, str) else ""
        return Problem(where, shown_value(value), one_of, mend)
    cause = item.get("ctx", {}).get("error")
    if isinstance(cause, UnfitError):
        inner = cause.key if cause.key.startswith("[") or not cause.key else f".{cause.key}"
        if not cause.found and cause.key:
            inner_value = _inside(value, cause.key)
            return Problem(where + inner, shown_value(inner_value), cause.expected, cause.mend)
        return Problem(where + inner, cause.found or shown_value(value), cause.expected, cause.mend)
    if isinstance(cause, UnitError):
        return Problem(where, cause.found, cause.expected, cause.mend)
    if kind == "model_type":
        expected = expected or "a table of keys"
    return Problem(where, shown_value(value), expected)


def _path(raw: Any, loc: Sequence[int | str]) -> tuple[str, Any]:
    """Return the steps of a location that the file itself has, and the value there."""
    text, value = "", raw
    for place, step in enumerate(loc):
        if isinstance(value, Mapping) and step in value:
            text += f".{step}"
            value = value[str(step)]
        elif isinstance(value, list) and isinstance(step, int) and step < len(value):
            inner = any(isinstance(later, int) for later in loc[place + 1 :])
            if inner and not isinstance(value[step], list | Mapping):
                continue  # one point was written where a line of several may stand
            text += f"[{step + 1}]"
            value = value[step]
    return text, value


def _inside(value: Any, key: str) -> Any:
    for step in re.findall(r"\w+", key):
        if isinstance(value, Mapping):
            value = value.get(step, value)
        elif isinstance(value, list) and step.isdigit() and int(step) <= len(value):
            value = value[int(step) - 1]
    return value


def _described(model: type[Table], loc: Sequence[int | str]) -> tuple[str, list[str]]:
    """Return what the key at a location holds, and the keys of the table that it is in."""
    expected, table = "", model
    for step in loc:
        named = {each.alias or name: each for name, each in table.model_fields.items()}
        field = named.get(str(step))
        if field is None:
            continue
        expected = field.description or expected
        inner = [part for part in _parts(field.annotation) if issubclass(part, Table)]
        # The last step stays in its own table: its neighbours are what may stand beside it.
        if inner and step != loc[-1]:
            table = inner[0]
    return expected, [each.alias or name for name, each in table.model_fields.items()]


def _parts(annotation: Any) -> Iterable[type]:
    if isinstance(annotation, type):
        yield annotation
    for part in typing.get_args(annotation):
        yield from _parts(part)
