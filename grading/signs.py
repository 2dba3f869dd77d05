"""What people write, made fit to be shown: on one line, of a length to be read, nothing hidden."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

JOINERS = "\N{ZERO WIDTH NON-JOINER}\N{ZERO WIDTH JOINER}"
"""Signs without a shape of their own that Persian and many an emoji are written with."""

LONGEST = 60
"""Letters of a value that are shown in a sentence about it."""

# Words run from right to left by themselves: what turns them by force hides what is written.
_HIDING = ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")


def hidden(sign: str) -> bool:
    """Say whether a sign controls what is shown instead of being shown."""
    return sign not in JOINERS and unicodedata.category(sign) in _HIDING


def is_visible(text: str) -> bool:
    """Say whether a text has nothing in it but what is shown, and the joiners of letters."""
    return text.isprintable() or not any(hidden(sign) for sign in text)


def listed(names: Sequence[str]) -> str:
    """Return names as they are read out: one, two and three."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def visible(text: str, kept: str = "") -> str:
    """Return a text with the signs that control a terminal told by their number, as \\x1b.

    Parameters
    ----------
    text : str
    kept : str
        Signs that stay as they are, such as the end of a line.
    """
    if is_visible(text):
        return text
    return "".join(sign if sign in kept or not hidden(sign) else _number(sign) for sign in text)


def _number(sign: str) -> str:
    code = ord(sign)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def shortened(text: str, longest: int = LONGEST) -> str:
    """Return the text on one line, cut short where it is long."""
    # What is far beyond the end is not looked at: a text may be a whole file.
    text = " ".join(text[: 4 * longest].split()) + (
        "." * longest if len(text) > 4 * longest else ""
    )
    return text if len(text) <= longest else text[: longest - 3] + "..."
