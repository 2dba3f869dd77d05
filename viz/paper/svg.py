"""Ink on paper as SVG: paths and words as they are, nothing is worked out here.

Written by hand, for it is a dozen lines: matplotlib, which plays PNG and PDF, takes a quarter of a
second to load and ten times as long for a page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import cache
from xml.sax.saxutils import escape

import numpy as np

from viz.paper.compose import Words
from viz.paper.drawing import Pen
from viz.paper.ink import Ink
from viz.paper.lettering import FONT
from viz.paper.page import POINT, Page

_ANCHORS = {"left": "start", "center": "middle", "right": "end"}
_STYLE = (
    f"path{{stroke-linejoin:round;stroke-linecap:butt}}text{{font-family: '{FONT}', sans-serif;}}"
)


def svg(inks: Iterable[Ink | Words], page: Page, title: str) -> str:
    """Return an SVG of a page, in points, its words as text in a named font.

    Parameters
    ----------
    inks : iterable of Ink or Words
        In the order in which they lie on one another.
    page : Page
    title : str
    """
    wide, high = page.width * POINT, page.height * POINT
    return "\n".join([
        '<?xml version="1.0" encoding="utf-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.6g}pt" height="{high:.6g}pt" '
        f'viewBox="0 0 {wide:.6g} {high:.6g}">',
        f"<title>{escape(title)}</title>",
        f'<style type="text/css">{_STYLE}</style>',
        f'<path d="M0 0H{wide:.6g}V{high:.6g}H0z" fill="#ffffff"/>',
        *_drawn(inks, page.height),
        "</svg>\n",
    ])  # fmt: skip


def _drawn(inks: Iterable[Ink | Words], high: float) -> Iterator[str]:
    seen: Counter[str] = Counter()
    for ink in inks:
        if isinstance(ink, Words):
            yield _words(ink, high)
        elif path := _path(ink, high):
            drawn = f'<path d="{path}" fill="{ink.fill or "none"}"{_stroke(ink.pen)}/>'
            if ink.name:
                seen[ink.name] += 1
                name = f"{ink.name.replace(' ', '-')}-{seen[ink.name]}"
                drawn = f"<g id={_quoted(name)}>{drawn}</g>"
            yield drawn


def _path(ink: Ink, high: float) -> str:
    """Return the rings of ink as one path: empty where there is nothing but single points."""
    rings = [ring for ring in ink.rings if len(ring) > 1]
    if not rings:
        return ""
    points = np.concatenate(rings) * (POINT, -POINT) + (0.0, high * POINT)
    form = "".join(_form(len(ring), ink.closed) for ring in rings)
    return form % tuple(points.ravel().tolist())


@cache
def _form(count: int, closed: bool) -> str:
    return "M %.4f %.4f " + "L %.4f %.4f " * (count - 1) + ("z" if closed else "")


def _stroke(pen: Pen | None) -> str:
    if pen is None:
        return ""
    dash = ",".join(f"{length * POINT:.6g}" for length in pen.dash)
    return f' stroke="{pen.colour}" stroke-width="{pen.width * POINT:.6g}"' + (
        f' stroke-dasharray="{dash}"' if dash else ""
    )


def _words(words: Words, high: float) -> str:
    x, y = words.at[0] * POINT, (high - words.at[1]) * POINT
    turned = f' transform="rotate({-words.rotation:.6g} {x:.3f} {y:.3f})"' if words.rotation else ""
    weight = ' font-weight="700"' if words.bold else ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{words.size * POINT:.6g}"{weight} '
        f'text-anchor="{_ANCHORS[words.across]}" fill="{words.colour}"{turned}>'
        f"{escape(words.words)}</text>"
    )


def _quoted(name: str) -> str:
    return f'"{escape(name, {chr(34): "&quot;"})}"'
