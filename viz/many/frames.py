"""What goes between the command and the processes that plan: a site's files, and what became of it.

Nothing of ours is imported here: a worker of a cluster hands these on, and plans nothing itself.
"""

from __future__ import annotations

import hashlib
import pickle
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, Literal

from msgspec import Struct, field

_LENGTH = struct.Struct(">Q")

Content = bytes | int
"""What a file holds, or of one that is too large to be read how large it is. [bytes]"""


class Given(Struct, frozen=True):
    """The files of a site.

    Attributes
    ----------
    home : Path
        Its folder, in full.
    files : dict
        What is read, by the way from its folder.
    above : dict
        What the crew keeps for all its sites, by name.
    others : tuple of str
        Names of files beside these: what is said of a wrong name may name the right one.
    """

    home: Path
    files: dict[str, Content]
    above: dict[str, Content]
    others: tuple[str, ...] = ()

    @property
    def fingerprint(self) -> str:
        """The SHA-256 of all that is read, in hexadecimal."""
        found = hashlib.sha256()
        for kind, files in (("in", self.files), ("above", self.above)):
            for name in sorted(files):
                content = files[name]
                data = content if isinstance(content, bytes) else b""
                size = len(data) if isinstance(content, bytes) else content
                found.update(f"{kind}\0{name}\0{size}\0".encode("utf-8", "surrogatepass"))
                found.update(hashlib.sha256(data).digest())
        return found.hexdigest()


class Job(Struct, frozen=True):
    """A yard to plan.

    site : the name of its folder.
    papers : whether what is handed over is made too.
    """

    site: str
    given: Given
    papers: bool = False


class Lost(Struct, frozen=True):
    """Why a yard has no answer of its own.

    Attributes
    ----------
    how : "crashed", "hung", "stopped" or "other version"
        Its process ended, or came no further; the run was stopped; fallaway is another there.
    code : int
        The exit status of the process, less than 0 where a signal ended it.
    name : str
        Of that signal; or of the other version.
    waited : float
        How long the process was waited for. [s]
    heard : str
        What it said last.
    """

    how: Literal["crashed", "hung", "stopped", "other version"]
    code: int = 0
    name: str = ""
    waited: float = 0.0
    heard: str = ""


class Answer(Struct, frozen=True):
    """What became of a yard.

    Attributes
    ----------
    site : str
        The name of its folder.
    row : dict
        A `viz.tables.yards.Yard`, as plain data; empty where it is lost.
    job : str
        The name of the site; empty where it has no plan.
    files : dict
        The papers, by the way from the folder of the yard.
    notes : tuple of str
        What this machine could not draw.
    report : tuple of str
        Of a fault of our own: its name, and the report for who mends it.
    lost : Lost or None
    """

    site: str
    row: dict[str, Any]
    job: str = ""
    files: dict[str, bytes] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    report: tuple[str, str] | None = None
    lost: Lost | None = None


def sent(pipe: BinaryIO, what: object) -> None:
    """Write one frame: its length, then the pickle of anything."""
    data = pickle.dumps(what)
    pipe.write(_LENGTH.pack(len(data)))
    pipe.write(data)
    pipe.flush()


def received(pipe: BinaryIO) -> Iterator[Any]:
    """Yield what the frames hold, until the other end is closed."""
    while True:
        head = pipe.read(_LENGTH.size)
        if len(head) < _LENGTH.size:
            return
        (length,) = _LENGTH.unpack(head)
        data = pipe.read(length)
        if len(data) < length:
            return
        yield pickle.loads(data)
