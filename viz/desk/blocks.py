"""What a step of the job sheet is made of: the few kinds of block that the page can draw.

Each says itself as a record, which `web/blocks.js` draws; no sentence is made there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

Tone = Literal["plain", "strong", "quiet", "look", "fails"]
"""How a sentence is set; it says in words, too, what it is."""

State = Literal["settled", "to do", "look", "fails", "working"]
"""How far a step is."""

Value: TypeAlias = Any
"""What TOML can hold, as a person would write it in the site file; None takes the key away."""


@dataclass(frozen=True)
class Change:
    """One change of the written document.

    Attributes
    ----------
    at : str
        Keys and places from 0, joined by "/": "door/0/sill".
    to : object
    do : "set", "add" or "remove"
        What is done there: a value set, a table added to those of a key, a table taken away.
    """

    at: str
    to: Value = None
    do: Literal["set", "add", "remove"] = "set"

    def record(self) -> dict[str, Any]:
        """Return it as the page tells it."""
        return {"do": self.do, "at": self.at, "to": self.to}


@dataclass(frozen=True)
class Say:
    """A sentence."""

    text: str
    tone: Tone = "plain"

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "say", "text": self.text, "tone": self.tone}


@dataclass(frozen=True)
class Head:
    """A heading within a step."""

    text: str

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "head", "text": self.text}


@dataclass(frozen=True)
class Nudge:
    """Two arrows beside a field: what each writes, and what it is called."""

    down: Value
    up: Value
    down_words: str = "lower"
    up_words: str = "higher"

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {
            "down": self.down, "up": self.up,
            "down_words": self.down_words, "up_words": self.up_words,
        }  # fmt: skip


@dataclass(frozen=True)
class Field:
    """A text box that writes one key.

    Attributes
    ----------
    at : str
        The way to the key.
    label : str
    value : object
        As it is written; None where it is not.
    hint : str
        What may be typed, or what holds where nothing is.
    optional : bool
        Whether emptying it takes the key away.
    nudge : Nudge or None
    takes : "text", "number" or "list"
        How what is typed is written: as it stands; as a number where it is one; as a list, its
        values parted by commas.
    """

    at: str
    label: str
    value: Value
    hint: str = ""
    optional: bool = False
    nudge: Nudge | None = None
    takes: Literal["text", "number", "list"] = "number"

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {
            "kind": "field", "at": self.at, "label": self.label, "value": self.value,
            "hint": self.hint, "optional": self.optional, "takes": self.takes,
            "nudge": None if self.nudge is None else self.nudge.record(),
        }  # fmt: skip


@dataclass(frozen=True)
class Option:
    """One way of a choice: what it writes, or the changes that it makes."""

    to: Value
    label: str
    note: str = ""
    changes: Sequence[Change] | None = None

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        changes = None if self.changes is None else [each.record() for each in self.changes]
        return {"to": self.to, "label": self.label, "note": self.note, "changes": changes}


@dataclass(frozen=True)
class Choice:
    """One of a few ways, each a button; `value` is what is chosen, as it is written."""

    at: str
    label: str
    value: Value
    options: Sequence[Option]

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        options = [each.record() for each in self.options]
        return {
            "kind": "choice", "at": self.at, "label": self.label, "value": self.value,
            "options": options,
        }  # fmt: skip


SURE, LEAVE = "Yes, make the change", "No, leave it as it is"
"""What is pressed where a caution is asked once more."""


@dataclass(frozen=True)
class Offer:
    """A button that makes changes, all of them one step of undo.

    Attributes
    ----------
    label : str
    changes : sequence of Change
    note : str
        What it takes and leaves.
    said : str
        What undo calls it; the label where it is empty.
    about : str
        The step of the job sheet that it belongs to; empty where it stands by itself.
    caution : str
        What is said before it, and asked once more before it acts; empty where nothing is.
    """

    label: str
    changes: Sequence[Change]
    note: str = ""
    said: str = ""
    about: str = ""
    caution: str = ""

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        asked = {"caution": self.caution, "sure": SURE, "leave": LEAVE} if self.caution else {}
        return {
            "kind": "offer", "label": self.label, "note": self.note, "about": self.about, **asked,
            "said": self.said or self.label, "changes": [each.record() for each in self.changes],
        }  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One of a list: its row, and what opens below it."""

    at: str
    title: str
    summary: str
    blocks: Sequence[Block] = ()
    removable: bool = True

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {
            "at": self.at, "title": self.title, "summary": self.summary,
            "removable": self.removable, "blocks": records(self.blocks),
        }  # fmt: skip


@dataclass(frozen=True)
class Add:
    """What adds a table to those of a key: its button, and the table as it begins."""

    label: str
    to: Mapping[str, Value]

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"label": self.label, "to": dict(self.to)}


@dataclass(frozen=True)
class Items:
    """A list whose rows open."""

    at: str
    label: str
    items: Sequence[Item]
    add: Add | None = None

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {
            "kind": "items", "at": self.at, "label": self.label,
            "items": [each.record() for each in self.items],
            "add": None if self.add is None else self.add.record(),
        }  # fmt: skip


@dataclass(frozen=True)
class Table:
    """Rows to read and to copy into a spreadsheet; each cell is a string."""

    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    label: str = ""

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        rows = [list(row) for row in self.rows]
        return {"kind": "table", "columns": list(self.columns), "rows": rows, "label": self.label}


@dataclass(frozen=True)
class Tool:
    """A button that begins a way of drawing on the plan, by its name."""

    name: str
    label: str
    told: Mapping[str, Value] = field(default_factory=dict)

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "tool", "name": self.name, "label": self.label, "with": dict(self.told)}


@dataclass(frozen=True)
class Call:
    """A button that asks something by its name; what is answered is said below it."""

    label: str
    name: str
    told: Mapping[str, Value] = field(default_factory=dict)
    note: str = ""

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {
            "kind": "call", "label": self.label, "name": self.name, "with": dict(self.told),
            "note": self.note,
        }  # fmt: skip


@dataclass(frozen=True)
class Make:
    """A button that makes a paper, a model or a film, shows how far it is, and gives it."""

    label: str
    what: str
    note: str = ""

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "make", "label": self.label, "what": self.what, "note": self.note}


@dataclass(frozen=True)
class Fold:
    """Blocks behind a line that opens."""

    label: str
    blocks: Sequence[Block]

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "fold", "label": self.label, "blocks": records(self.blocks)}


@dataclass(frozen=True)
class Own:
    """A block that a module of the page draws: `web/<module>.js`, from data."""

    module: str
    data: Mapping[str, Any]

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return {"kind": "own", "module": self.module, "data": dict(self.data)}


Block: TypeAlias = (
    Say | Head | Field | Choice | Offer | Items | Table | Tool | Call | Make | Fold | Own
)


def records(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    """Return blocks as the page draws them."""
    return [each.record() for each in blocks]


@dataclass(frozen=True)
class Step:
    """A step of the job sheet.

    Attributes
    ----------
    key, title : str
    answer : str
        What it comes to, in a few words.
    state : State
    blocks : sequence of Block
        What it opens to.
    """

    key: str
    title: str
    answer: str
    state: State
    blocks: Sequence[Block]

    def line(self) -> dict[str, Any]:
        """Return its line of the sheet."""
        return {"key": self.key, "title": self.title, "answer": self.answer, "state": self.state}

    def opened(self) -> dict[str, Any]:
        """Return it as it is opened."""
        return {"key": self.key, "blocks": records(self.blocks)}
