"""XML as others send it: what stands before its first element, whatever it is encoded in.

A document type may declare words that swell without end, or that are read from other files. The
standard's own parser (expat) is asked, since a search in the bytes is led astray by another
encoding or by a long remark above the declaration.
"""

from __future__ import annotations

from contextlib import suppress
from xml.parsers import expat

from msgspec import Struct


class Prolog(Struct, frozen=True):
    """What an XML file declares before its first element.

    Attributes
    ----------
    has_type : bool
        Whether there is a document type.
    has_entities : bool
        Whether it declares words of its own.
    """

    has_type: bool
    has_entities: bool


class _BegunError(Exception):
    """The first element was reached."""


def prolog_of(data: bytes) -> Prolog:
    """Return what XML declares before its first element; as far as it goes where it is broken.

    Parameters
    ----------
    data : bytes
    """
    seen: set[str] = set()

    def begun(*_: object) -> None:
        raise _BegunError

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = lambda *_: seen.add("type")
    parser.EntityDeclHandler = lambda *_: seen.add("entities")
    parser.StartElementHandler = begun
    with suppress(_BegunError, expat.ExpatError, ValueError, LookupError):
        parser.Parse(data, True)
    return Prolog("type" in seen, "entities" in seen)
