"""What a crew reckons with, edited from the page where it acts: prices, rates, how a price is made.

They stand in crew.toml, which the page writes as a file of the site: remarks and order are kept,
and what its reader refuses is refused here in its words.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from grading.crew.model import FILE, OWN, Entry, default_crew
from grading.crew.price_table import PriceTable
from grading.crew.reading import crew_of
from grading.errors import Problem, SiteError
from grading.files.toml_text import toml_of
from grading.order.quantities import kind_of
from grading.pipeline import Plan
from grading.reading.site_edit import Edit, edited
from viz.desk.seen import Seen
from viz.desk.written.document import table_at
from viz.words.plain import opened

BOOKS = ("prices", "rates", "materials")

MUST = ("margin", "tax", "deposit_most")
"""Keys without which there is no price."""

_WITH = ("overhead", "contingency", "tax_on", "deposit", "valid", "cancel", "address", "licence",
         "insurance", "care")  # fmt: skip
_TITLES = {
    "deposit_most": "The highest deposit", "tax_on": "What is taxed", "valid": "Days that it holds",
    "cancel": "Days to cancel it", "care": "Care of the paving",
}  # fmt: skip
"""What a key is called on the page, where its own word would not tell."""
_LISTS = ("deposit_most",)
_SHARED = "a crew.toml in the folder above, which its other sites share"


def shared(seen: Seen) -> bool:
    """Return whether the crew's figures stand in a file that is not this site's own."""
    return seen.plan is not None and bool(seen.plan.crew.file) and FILE not in seen.files


def figures(seen: Seen, plan: Plan) -> dict[str, Any]:
    """Return the figures that a plan is reckoned with, for the page to show and to change.

    Parameters
    ----------
    seen : Seen
    plan : Plan
    """
    written = _written(seen)
    groups = [
        {"title": title, "rows": [_row(entry, written) for entry in entries]}
        for title, entries in (
            ("Prices that this job is made of", list(_prices(plan))),
            ("How long one person takes", list(_rates(plan))),
            ("The crew", [plan.crew.materials[name] for name in ("crew-size", "crew-day")]),
        )
    ]
    return {
        "groups": groups,
        "file": f"They are written into {FILE} of this site, beside what stands there.",
        "shared": f"They stand in {_SHARED}: change them there." if shared(seen) else "",
    }


def _row(entry: Entry, written: Mapping[str, Any]) -> dict[str, Any]:
    value = table_at(written, entry.book).get(entry.name)
    return {
        "book": entry.book, "name": entry.name, "title": opened(entry.title),
        "value": _told(value),
        "usual": entry.written,
        "note": OWN if entry.source == OWN else f"built in: {entry.source}",
    }  # fmt: skip


def _prices(plan: Plan) -> Iterator[Entry]:
    """Yield the prices that make up a job, each once."""
    job, crew = plan.order.total, plan.crew
    known = default_crew().prices
    names = ["labour", *(kind_of(supply.item) for supply in job.supplies if supply.count)]
    haul = job.haul
    names += [name for name, found in (("bin", haul.bins), ("delivery", haul.deliveries))
              if found.count]  # fmt: skip
    if any(task.machine for task in job.tasks):
        names.append(haul.way.carrier.replace(" ", "-"))
    yield from (crew.prices[name] for name in dict.fromkeys(names) if name in known)


def _rates(plan: Plan) -> Iterator[Entry]:
    names = dict.fromkeys(task.rate for task in plan.order.total.tasks)
    yield from (plan.crew.rates[name] for name in names)


def pricing(seen: Seen) -> dict[str, Any]:
    """Return how the crew makes a price: what must be said before there is one, and the rest.

    Parameters
    ----------
    seen : Seen
    """
    own = table_at(_written(seen), "price")
    keys = (*MUST, *_WITH) if own else MUST
    rows = [
        {"book": "price", "name": key, "title": _TITLES.get(key, opened(key.replace("_", " "))),
         "value": _told(own.get(key)), "usual": "", "note": _said(key)}
        for key in keys
    ]  # fmt: skip
    together = "" if own else "Make a price with these"
    return {
        "key": "price", "groups": [{"title": "", "rows": rows}], "together": together, "file": "",
        "shared": f"It stands in {_SHARED}: change it there." if shared(seen) else "",
    }  # fmt: skip


def _said(key: str) -> str:
    return str(PriceTable.model_fields[key].description or "")


def _told(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "" if value is None else str(value)


def _written(seen: Seen) -> Mapping[str, Any]:
    try:
        return tomllib.loads(seen.files.get(FILE, ""))
    except tomllib.TOMLDecodeError:
        return {}


def crew_figure(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Write figures into crew.toml: its new text as a change of the page, or what is wrong.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `values`, a list of {book, name, to}; an empty `to` takes the figure away. With `only`,
        one of several that are written together is looked at as it is typed: nothing is written,
        and nothing is said of the others, which are still to come.
    """
    try:
        if shared(seen):
            raise SiteError([Problem(FILE, _SHARED, "one of this site's own", "Change it there.")])
        values = _values(told.get("values"))
        text, said = _changed(seen, values)
    except SiteError as error:
        if told.get("only"):
            mine = [f"key {book}.{name}" for book, name, to in values if to is not None]
            own = [each for each in error.problems if each.where.endswith(tuple(mine))]
            return {"problems": [{"words": each.page} for each in own], "words": ""}
        words = "\n".join(each.page for each in error.problems)
        return {"problems": [{"words": each.page} for each in error.problems], "words": words}
    if told.get("only"):
        return {"problems": [], "words": ""}
    return {
        "problems": [], "words": "",
        "apply": {"do": "file", "name": FILE, "text": text, "said": said},
    }  # fmt: skip


Value = tuple[str, str, Any]


def _values(told: object) -> Sequence[Value]:
    found = []
    for each in told if isinstance(told, list) else ():
        if not isinstance(each, Mapping):
            continue
        book, name = str(each.get("book", ""))[:40], str(each.get("name", ""))[:80]
        if book in (*BOOKS, "price") and name:
            found.append((book, name, _typed(each.get("to"), name)))
    return found


def _typed(to: object, name: str) -> Any:
    """Return what is typed as TOML is to hold it: a number where it is one, a list of several."""
    text = str(to if to is not None else "").strip()[:200]
    parts = [_one(part.strip()) for part in text.split(",")] if "," in text else []
    if parts and (name in _LISTS or len(parts) == 3):  # low, likely and high
        return parts
    return _one(text)


def _one(text: str) -> Any:
    if not text:
        return None
    try:
        return int(text)
    except ValueError:
        pass
    try:
        number = float(text)
    except ValueError:
        return text
    return number if abs(number) < 1e12 else text


def _changed(seen: Seen, values: Sequence[Value]) -> tuple[str, str]:
    text = seen.files.get(FILE, "")
    written = toml_of(text, FILE)
    edits, names = [], []
    for book, name, to in values:
        if to is None and name not in table_at(written, book):
            continue
        edits.append(Edit((book, name), to))
        names.append(name.replace("-", " ").replace("_", " "))
    made = edited(text, edits)
    # Its texts lie beside it, in the folder that the site is read from.
    folder = seen.site.folder if seen.site is not None and seen.site.folder else seen.folder
    crew_of(toml_of(made, FILE), seen.partly.unit, str(folder / FILE))
    return made, f"the crew's {' and '.join(names)}" if names else "the crew's figures"
