"""What a step of the job sheet is made of: the few kinds of block that the page can draw.

Each says itself as a record, which `web/blocks.js` draws; no sentence is made there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, TypeAlias

import numpy as np
from msgspec import Struct, field, to_builtins

Tone = Literal["plain", "strong", "quiet", "look", "fails"]
"""How a sentence is set; it says in words, too, what it is."""

State = Literal["settled", "to do", "look", "fails", "working"]
"""How far a step is."""

Value: TypeAlias = Any
"""What TOML can hold, as a person would write it in the site file; None takes the key away."""


class Part(Struct, frozen=True, rename={"told": "with"}):  # a word that Python has for itself
    """Part of a block; each says itself by its fields."""

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        # What a mend writes may hold numbers of NumPy's.
        told: dict[str, Any] = to_builtins(self, enc_hook=np.generic.item)
        return told


class Block(Part, frozen=True, tag=str.lower, tag_field="kind"):
    """What the page can draw, by its kind."""


class Change(Part, frozen=True):
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


class Say(Block, frozen=True):
    """A sentence."""

    text: str
    tone: Tone = "plain"


class Head(Block, frozen=True):
    """A heading within a step."""

    text: str


class Nudge(Part, frozen=True):
    """Two arrows beside a field: what each writes, and what it is called."""

    down: Value
    up: Value
    down_words: str = "lower"
    up_words: str = "higher"
    down_shape: str = "▼"
    up_shape: str = "▲"


class Field(Block, frozen=True):
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


class Option(Part, frozen=True):
    """One way of a choice: what it writes, or the changes that it makes."""

    to: Value
    label: str
    note: str = ""
    changes: Sequence[Change] | None = None


class Choice(Block, frozen=True):
    """One of a few ways, each a button; `value` is what is chosen, as it is written."""

    at: str
    label: str
    value: Value
    options: Sequence[Option]


SURE, LEAVE = "Yes, make the change", "No, leave it as it is"
"""What is pressed where a caution is asked once more."""


class Offer(Block, frozen=True):
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
        asked = {"sure": SURE, "leave": LEAVE} if self.caution else {}
        return super().record() | {"said": self.said or self.label} | asked


class Item(Part, frozen=True):
    """One of a list: its row, and what opens below it; `called` within a sentence as its title."""

    at: str
    title: str
    summary: str
    blocks: Sequence[Block] = ()
    removable: bool = True
    called: str = ""


class Add(Part, frozen=True):
    """What adds a table to those of a key: its button, and the table as it begins."""

    label: str
    to: Mapping[str, Value]


class Items(Block, frozen=True):
    """A list whose rows open."""

    at: str
    label: str
    items: Sequence[Item]
    add: Add | None = None


class Table(Block, frozen=True):
    """Rows to read and to copy into a spreadsheet; each cell is a string."""

    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    label: str = ""


class Tool(Block, frozen=True):
    """A button that begins a way of drawing on the plan, by its name."""

    name: str
    label: str
    told: Mapping[str, Value] = field(default_factory=dict)


class Call(Block, frozen=True):
    """A button that asks something by its name; what is answered is said below it."""

    label: str
    name: str
    told: Mapping[str, Value] = field(default_factory=dict)
    note: str = ""


class Make(Block, frozen=True):
    """A button that makes a paper, a model or a film, shows how far it is, and gives it."""

    label: str
    what: str
    note: str = ""


class Fold(Block, frozen=True):
    """Blocks behind a line that opens."""

    label: str
    blocks: Sequence[Block]


class Own(Block, frozen=True):
    """A block that a module of the page draws: `web/<module>.js`, from data."""

    module: str
    data: Mapping[str, Any]


def records(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    """Return blocks as the page draws them."""
    return [each.record() for each in blocks]


class Step(Struct, frozen=True):
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
