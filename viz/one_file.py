"""Modules in one file that is opened with no connection, and lets none be made."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from typing import Any

_IMPORT = re.compile(r"^import\b[^;]*;\n", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?(?:function|class|const|let)\b)", re.MULTILINE)


def one_script(names: Sequence[str]) -> str:
    """Return modules as one, each after those that it imports.

    Parameters
    ----------
    names : sequence of str
        Files below `viz` whose names at the top differ. What is vendored gives its names as one,
        that of its file, by which all others import it.
    """
    return "\n".join(map(_joined, names))


def _joined(name: str) -> str:
    text = files("viz").joinpath(*name.split("/")).read_text(encoding="utf-8")
    body, vendored, names = text.rpartition("export{")
    if not vendored:
        return _EXPORT.sub("", _IMPORT.sub("", text))
    told = re.sub(r"([\w$]+) as (\w+)", r"\2:\1", names.strip().rstrip(";").rstrip("}"))
    called = name.rpartition("/")[2].removesuffix(".js")
    return f"const {called}=(()=>{{{body}return{{{told}}}}})();"


def one_file(
    title: str, body: str, style: str, script: str = "", data: Mapping[str, Any] | None = None
) -> str:
    """Return one HTML file whose browser may run what is in it and may ask nothing of anybody.

    Parameters
    ----------
    title : str
    body : str
        HTML.
    style, script : str
        The only ones that may be used, by their hashes.
    data : mapping, optional
        For the script, in the element `data`.
    """
    allowed = f"'{_hash(script)}'" if script else "'none'"
    policy = (
        f"default-src 'none'; script-src {allowed}; style-src '{_hash(style)}'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    told = ""
    if data is not None:
        # No "<" is left, so nothing that a person wrote ends the element.
        text = json.dumps(data, allow_nan=False, separators=(",", ":")).replace("<", "\\u003c")
        told = f'<script type="application/json" id="data">{text}</script>\n'
    run = f'<script type="module">{script}</script>\n' if script else ""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n{body}\n{told}{run}</body>\n</html>\n"
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"
