"""The site file as text: decoding, toml, and what is wrong with a table in words."""

from __future__ import annotations

import difflib
import re
import tomllib
import typing
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from grading.errors import Problem, SiteError
from grading.files.fields import Table, UnfitError
from grading.signs import shortened, visible
from grading.units import UnitError, read_length, read_slope
from grading.worded import Worded

LARGEST_FILE = 2_000_000
"""What a file of tables weighs at the most. [bytes]"""

MOST_ENTRIES = 2000
"""Entries of a list: no outline has more corners, no site more doors."""

MOST_NESTED = 16
"""How deep tables and lists stand in each other at the most."""

LONGEST_TEXT = 2000
"""Letters of a text; a reason in words is the longest that a site has."""

_LONGEST_KEY = 60  # letters; no key that is known has more


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
        The file is not UTF-8, or not toml, with the line; or it, a list, a text or a key in it is
        larger than any site needs.
    """
    data = read_limited(path, shown, LARGEST_FILE, "Write lists of points into a csv file.")
    return toml_of(decoded(data, "utf-8-sig", shown, "Save the file again as UTF-8."), shown)


def decoded(data: bytes, encoding: str, shown: str, mend: str) -> str:
    """Return the text of a file; raise SiteError where it is not in its encoding, with the line."""
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"the byte 0x{data[error.start]:02x}, which is not UTF-8"
        raise SiteError([Problem(f"{shown}, line {line}", found, "UTF-8 text", mend)]) from None


def toml_of(text: str, shown: str) -> dict[str, Any]:
    """Return the tables of a text; raise SiteError where it is not toml, with the line."""
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SiteError([_syntax(str(error), text, shown)]) from None
    except RecursionError:
        raise SiteError([_too_deep(shown)]) from None
    except ValueError:
        # Python reads no whole number of so many digits, and the reader of toml lets that out.
        raise SiteError([_endless_number(text, shown)]) from None
    problems = list(_oversized(written, shown))
    if problems:
        raise SiteError(problems)
    return written


def read_limited(path: Path, shown: str, most: int, mend: str) -> bytes:
    """Return what a file holds, unless it is larger than any that is meant.

    Parameters
    ----------
    path : Path
    shown : str
        Its name in messages.
    most : int
        [bytes]
    mend : str
        What to do about one that is larger.

    Raises
    ------
    SiteError
        It is larger.
    """
    with path.open("rb") as file:
        data = file.read(most + 1)
    if len(data) > most:
        size = max(path.stat().st_size, len(data)) / 1e6
        found = f"a file of {size:.1f} MB" if size < 1000 else f"a file of {size / 1000:.1f} GB"
        raise SiteError([Problem(shown, found, f"at most {most / 1e6:g} MB", mend)])
    return data


def _too_deep(where: str, what: str = "brackets") -> Problem:
    return Problem(where, f"{what} nested too deep", "the tables of a site")


def _endless_number(text: str, shown: str) -> Problem:
    digits = max(re.finditer(r"[0-9_]+", text), key=lambda found: len(found[0]))
    line = text[: digits.start()].count("\n") + 1
    found = f"a number of {len(digits[0])} digits"
    return Problem(f"{shown}, line {line}", found, "a number that a tape or a level gives")


def _oversized(written: Mapping[str, Any], shown: str) -> Iterable[Problem]:
    """Yield each list, text and key that is larger than any that is meant."""
    left: list[tuple[str, Any, int]] = [("", written, 0)]
    while left:
        key, value, depth = left.pop()
        where = f"{shown}, key {shortened(visible(key.lstrip('.')), 200)}"
        if depth > MOST_NESTED:
            yield _too_deep(where, "keys")
        elif isinstance(value, str) and len(value) > LONGEST_TEXT:
            yield Problem(where, f"a text of {len(value)} letters", f"at most {LONGEST_TEXT}")
        elif isinstance(value, list | Mapping) and len(value) > MOST_ENTRIES:
            yield Problem(where, f"{len(value)} entries", f"at most {MOST_ENTRIES}")
        elif isinstance(value, Mapping):
            left += [(f"{key}.{name}", part, depth + 1) for name, part in value.items()]
        elif isinstance(value, list):
            left += [(f"{key}[{n}]", part, depth + 1) for n, part in enumerate(value, start=1)]


# How to mend what the reader of toml finds, by its own words.
_SYNTAX = {
    "Unclosed array": "Between two things in brackets stands a comma, and each [ has its ].",
    "Unclosed inline table": "Between two things in braces stands a comma, and each { has its }.",
    "Illegal character '\\n'": "End a text with the sign that it began with.",
    "Invalid value": "Write a number, true or false, or a text in quotes.",
}


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
    quoted = _quoted(written[:200])
    if quoted:
        return Problem(
            f"{shown}, line {line}",
            found,
            "quotes round a value that has a unit",
            f"Write {quoted}",
        )
    return Problem(
        f"{shown}, line {line}, column {column}",
        found,
        'toml, such as name = "patio"',
        _SYNTAX.get(reason.rstrip("."), "") or _declared(reason),
    )


def _declared(reason: str) -> str:
    """Say how to mend what the reader of toml says of tables; its own words of what is rare."""
    if re.match(r"Cannot (declare|mutate|overwrite)", reason):
        return "It stands there twice: leave one of the two out."
    return f"{reason.rstrip('.')}."


_SIZED = re.compile(
    r"""(?P<before>(?:^|[\[,=])\s*)(?P<value>[-+]?[0-9][^,\]}#=\["]*['"%a-z][^,\]}#=]*)""",
    re.IGNORECASE,
)
_UNIT_APART = re.compile(r"[-+]?[0-9][0-9./-]*(?: [0-9/]+)? [°%a-z][a-z0-9%/·°. -]*", re.IGNORECASE)


def _quoted(line: str) -> str:
    """Return a line with quotes round what has a unit and stands without; empty where none does.

    The sign for inches is written as toml asks for it inside quotes.
    """
    key, sign, rest = line.partition("=")
    quoted = _SIZED.sub(_with_quotes, rest)
    return f"{key.rstrip()} ={quoted}" if sign and quoted != rest else ""


def _with_quotes(found: re.Match[str]) -> str:
    value = found["value"].rstrip()
    sized = any(_reads(read, value) for read in (lambda text: read_length(text, "ft"), read_slope))
    if not sized and not _UNIT_APART.fullmatch(value):
        return found[0]
    inner = value.replace('"', '\\"')
    return f'{found["before"]}"{inner}"'


def _reads(read: Callable[[str], float], text: str) -> bool:
    try:
        read(text)
    except UnitError:
        return False
    return True


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the sentence that names the nearest of the words, or none where none is near."""
    near = nearest_of(word, words)
    return f"Did you mean `{near}`?" if near else ""


def nearest_of(word: str, words: Iterable[str]) -> str:
    """Return the nearest of the words, or an empty one where none is near."""
    if not word or len(word) > _LONGEST_KEY:
        return ""
    known = list(words)
    lower = {other.lower(): other for other in known}
    near = difflib.get_close_matches(word.lower(), lower, 1, cutoff=0.65) or [
        other for other in lower if other.startswith(word.lower()) or word.lower() in other
    ]
    return lower[near[0]] if near else ""


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
        name = shortened(visible(str(item["loc"][-1])))
        one_of = "one of " + ", ".join(f"`{word}`" for word in known)
        return Problem(where, f"the key `{name}`", one_of, nearest(name, known))
    if kind == "missing" and isinstance(item["loc"][-1], str):
        name = str(item["loc"][-1])
        place = f"{key}{steps}.{name}".lstrip(".")
        return Problem(f"{shown}, key {place}", "nothing", expected,
                       Worded(f"Add `{name}`.", "Give it first."))  # fmt: skip
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
        if isinstance(value, list) and value and isinstance(value[0], Mapping) and not steps:
            return Problem(where, f"a list of tables [[{key}]]", f"one table [{key}]",
                           f"Write [{key}].")  # fmt: skip
    return Problem(where, shown_value(value), expected)


def _path(raw: Any, loc: Sequence[int | str]) -> tuple[str, Any]:
    """Return the steps of a location that the file itself has, and the value there."""
    text, value = "", raw
    for place, step in enumerate(loc):
        if isinstance(value, Mapping) and step in value:
            text += f".{shortened(visible(str(step)))}"
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
