"""The model on its way to a window: one block of bytes, in it only the shapes it does not hold.

    4 bytes    length of the header, little endian
    header     JSON in UTF-8, filled up with spaces to four bytes
    arrays     one after the other, each filled up to four bytes

A part of the header has a name, a hash, a look; one that is new has `v` and `i` too: where its
vertices begin in the arrays and how many numbers they are, the same of its triangles, and how many
bytes a corner takes. A window holds the shapes of its last frame and no others, and so it is kept
here; the frame carries its revision and that of the frame before. A window that finds that it holds
another asks for all of it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

_ALIGNED = 4


class Shape(Struct, frozen=True, eq=False):
    """A closed mesh as it is sent: vertices (n, 3) of 4 bytes [m], triangles (m, 3) of 2 or 4."""

    vertices: NDArray[np.float32]
    triangles: NDArray[np.unsignedinteger[Any]]


class Model(Struct, frozen=True, eq=False):
    """The whole model as it is told: a header, its parts with their hashes, shapes by hash.

    The header has `rev`, the revision of the document that it is of.
    """

    header: Mapping[str, Any]
    parts: tuple[Mapping[str, Any], ...]
    shapes: Mapping[str, Shape]

    def tells_as(self, other: Model) -> bool:
        """Say whether a window that shows another shows this too."""
        named = [{part["name"]: part for part in model.parts} for model in (self, other)]
        return self.header == other.header and named[0] == named[1]


class Held(Struct):
    """What one window holds: the shapes of the last frame that it was sent."""

    revision: int = -1
    shapes: frozenset[str] = field(default_factory=frozenset)

    def frame(self, model: Model) -> bytes:
        """Return the next frame for the window, and count on its arrival."""
        arrays: list[bytes] = []
        parts, at, told = [], 0, set(self.shapes)
        for part in model.parts:
            if (name := part["hash"]) in told:
                parts.append(dict(part))
                continue
            told.add(name)
            shape = model.shapes[name]
            places = []
            for values in (shape.vertices, shape.triangles):
                data = values.tobytes()
                data += bytes(-len(data) % _ALIGNED)
                places.append([at, values.size, values.itemsize])
                arrays.append(data)
                at += len(data)
            parts.append({**part, "v": places[0], "i": places[1]})
        header = {
            **model.header, "is": "model", "base": self.revision, "whole": not self.shapes,
            "parts": parts,
        }  # fmt: skip
        written = json.dumps(
            header, ensure_ascii=False, allow_nan=False, separators=(",", ":")
        ).encode()
        written += b" " * (-len(written) % _ALIGNED)
        self.revision, self.shapes = int(model.header["rev"]), frozenset(model.shapes)
        return b"".join([len(written).to_bytes(4, "little"), written, *arrays])

    def nothing(self) -> None:
        """Forget what the window holds: it asked for all of it."""
        self.revision, self.shapes = -1, frozenset()
