"""What a check says, to who stands in a yard: what is done there, never how a file is written.

The terminal and the page say by which key of the site's file a thing is mended, for that is where
it is mended. A crew with a paper in its hand writes no file: where all that can be done is to plan
otherwise, it is told to have that settled before it digs.
"""

from __future__ import annotations

import re

from grading.site.model import Site
from viz.words.plain import names_in

SETTLED = "have that settled in the plan before you dig"
"""What is done about what only a changed plan mends."""

_TABLE = r"\[\[?[a-z_-]+\]\]?"
_FILE_WORDS = re.compile(rf"`|{_TABLE}|\b[a-z_-]+ = [\"\d]|\b[a-z]+\.(?:toml|csv)\b|(?<!\w)--[a-z]")
"""Signs of a site's file and of the command: keys, tables, values, files, options."""

_IN_WORDS = tuple(
    (re.compile(found), words)
    for found, words in (
        (r'add \[\[step\]\] with area = "[^"]*" and to = "lawn" and width = "([^"]*)"',
         r"have steps \1 wide put into the plan before you dig"),
        (r'add \[\[step\]\] with area = "[^"]*" and to = "lawn"',
         "have steps put into the plan before you dig"),
        (r"give the storm's intensity, in \[storm\]",
         "ask how hard it rains there, and have it counted before you dig"),
        (rf"what comes to it is not known without {_TABLE}", "what comes to it is not known"),
        (r"have the soil tested and write its `friction`", "have the soil tested"),
        (r"write what lies `behind` it", "look what lies behind it"),
        (r"(their friction on the pad), `pad_friction`", r"\1"),
        (r"name one with \[\[floor\]\] or \[\[outfall\]\]", "find one that lies low enough"),
        (r"shoot spots there, or give its z in its \[\[outfall\]\]", "shoot spots there"),
        (r"give its z in its \[\[outfall\]\]", "shoot its level"),
        (r"the site names (?:no place for it|none)[:,] add an \[\[outfall\]\]"
         r"(?: where it is (?:meant )?to (?:end|come out))?",
         "no place for it is named: settle one before you dig"),
        (r"add an \[\[outfall\]\] where it is (?:meant )?to (end|come out)",
         r"settle where it is to \1"),
        (r"name that place as an \[\[outfall\]\]", "have that place named in the plan"),
        (r"make a soak test at its depth and write it as `soak_test`",
         "make a soak test at its depth"),
        (rf" as {_TABLE} gives it", " as it is asked for"),
        (rf"by the infiltration in {_TABLE}", "by how fast the soil is said to take water in"),
        (r"once \[\[feature\]\] course says how high one is",
         "once it is told how high one is"),
        (rf" \({_TABLE}(?: [a-z_]+)?\)", ""),
        (rf"(not (?:given|said)): {_TABLE}(?: [a-z_]+(?: or [a-z_]+)?)?", r"\1"),
        (r", then plan with --keep .*? \(it is right\), --shot .*? or --without (?:\"[^\"]*\"|\S+)",
         ""),
        (r"three jobs of your own stand in hours\.csv", "three jobs of your own are written down"),
        (r"jobs of your own in hours\.csv", "jobs of your own"),
    )
)  # fmt: skip
"""What of a sentence is said otherwise to who writes no file."""

_BREAK = re.compile(r"(; (?:or )?|, or |: |\. To mend it: )")


def on_paper(said: str, site: Site | None = None) -> str:
    """Return a sentence of the plan as it stands on a paper that people work by.

    Parameters
    ----------
    said : str
        As the terminal and the page have it.
    site : Site, optional
        Whose names stay as they are written, whatever signs they have.
    """
    held = {} if site is None else _held(site)
    for name, sign in held.items():
        said = said.replace(name, sign)
    said = _in_the_yard(said)
    for name, sign in held.items():
        said = said.replace(sign, name)
    return said


def _held(site: Site) -> dict[str, str]:
    """Return the names that look like keys, each with a sign that stands for it meanwhile."""
    names = sorted({name for name in names_in(site) if _FILE_WORDS.search(name)}, key=len)
    return {name: chr(0xE000 + k) for k, name in enumerate(reversed(names))}


def _in_the_yard(said: str) -> str:
    for found, words in _IN_WORDS:
        said = found.sub(words, said)
    if not _FILE_WORDS.search(said):
        return said
    first, *rest = _BREAK.split(said)
    if _FILE_WORDS.search(first):
        first = _plainly(first)
    kept, dropped = [first], False
    for mark, clause in zip(rest[::2], rest[1::2], strict=True):
        # What else may be written in its place goes with it.
        dropped = bool(_FILE_WORDS.search(clause)) or (dropped and "or" in mark)
        if not dropped:
            kept += [mark, clause]
    told = "".join(kept).rstrip(" .:;,")
    return f"{told}: {SETTLED}"


def _plainly(clause: str) -> str:
    """Return a clause that says what was found without the signs of a file."""
    clause = re.sub(rf'(?:its )?{_TABLE} of kind "([^"]*)"', r"its \1", clause)
    clause = re.sub(r'\b([a-z]+)_?([a-z]*) = "([^"]*)"', r"\1 \2 \3", clause)
    clause = re.sub(_TABLE, lambda m: m[0].strip("[]").replace("_", " "), clause)
    return re.sub(r" {2,}", " ", clause.replace("`", ""))
