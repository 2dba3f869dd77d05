"""Words and bytes of a DXF document: nothing taken for a code, nothing that changes by itself."""

from __future__ import annotations

import hashlib
import io
import uuid
from typing import Any

_NOBODY = f"{{{uuid.UUID(int=0)}}}"  # what the library writes for an identifier that is fixed
_OURS = uuid.uuid5(uuid.NAMESPACE_DNS, "fallaway.invalid")


def as_written(words: str) -> str:
    """Return words of which a drawing program takes none for a code, as it takes %%c for a Ø.

    By the DXF reference a caret and a letter are a control character (^J a new line), and a caret
    and a space the caret itself.
    """
    # %%% is the code for one percent sign: it keeps two of them from standing side by side.
    return words.replace("^", "^ ").replace("%%", "%%%%%%")


def layer_name(name: str) -> str:
    """Return a name that the format allows for a layer."""
    return "".join("-" if each in '<>/\\":;?*|=`,^' else each for each in name).strip() or "0"


def same_bytes(document: Any) -> bytes:
    """Return a document of ezdxf as a file: the same drawing is the same bytes, made at any time.

    Left to itself the library puts the time, and identifiers at random, into the header. The time
    is left at a fixed one, and the identifiers are drawn from what the drawing says.
    """
    import ezdxf
    from ezdxf.document import CREATED_BY_EZDXF, ezdxf_marker_string

    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        # It lists what kinds of things there are in the order of a set, another in each process.
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        document.ezdxf_metadata()[CREATED_BY_EZDXF] = ezdxf_marker_string()
        stream = io.StringIO()
        document.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept
    text = stream.getvalue()
    own = uuid.uuid5(_OURS, hashlib.sha256(text.encode("utf-8", "replace")).hexdigest())
    return bytes(document.encode(text.replace(_NOBODY, f"{{{own}}}".upper())))
