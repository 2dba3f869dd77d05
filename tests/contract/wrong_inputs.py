"""Wrong inputs as a person might give them, and what the command says of each.

Writes what is said now into the file that the tests hold it to:

    PYTHONPATH=.:tests python tests/contract/wrong_inputs.py
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from make.sites.juniper import SITE, spots

FILE = Path(__file__).parent / "wrong_inputs.toml"
ROOT = Path(__file__).parents[2]

INPUTS: list[dict[str, Any]] = tomllib.loads(FILE.read_text(encoding="utf-8"))["input"]


def folder_of(wrong: Mapping[str, Any], place: Path) -> dict[str, Path]:
    """Write the site of an input, and what else its command names; return their paths by name."""
    paths = {
        "SITE": place / "juniper",
        "OUT": place / "out",
        "TAKEN": place / "taken",
        "EMPTY": place / "empty",
        "FILE": place / "notes.txt",
        "PLACE": place,
    }
    for name in ("SITE", "TAKEN", "EMPTY"):
        paths[name].mkdir()
    paths["FILE"].write_text("Call the neighbour.\n", encoding="utf-8")
    (paths["TAKEN"] / ".fallaway.json").write_text(
        '{"site": "Rowan Street", "place": "", "files": ["plan.txt"]}', encoding="utf-8"
    )
    text = SITE
    for old, new in wrong.get("change", ()):
        assert old in text, old
        text = text.replace(old, new)
    files = {"site.toml": f"{text}\n{wrong.get('add', '')}\n", "spots.csv": spots()}
    for name, content in (files | wrong.get("files", {})).items():
        if name not in wrong.get("without", ()):
            (paths["SITE"] / name).write_text(content, encoding="utf-8")
    return paths


def said_of(wrong: Mapping[str, Any], place: Path) -> tuple[int, str, str]:
    """Run the command on an input; return its exit status, standard output and standard error.

    Paths are written as the names that the input gives them.
    """
    from viz.cli import main

    paths = folder_of(wrong, place)
    words = []
    for word in wrong.get("words", ["plan", "SITE"]):
        first, _, rest = word.partition("/")
        words.append(str(paths[first] / rest) if first in paths else word)
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        try:
            status = main(words)
        except SystemExit as end:  # argparse's own way to refuse
            status = int(end.code or 0)
    told = [out.getvalue(), error.getvalue()]
    for name, path in paths.items():  # that which they all stand in last
        told = [each.replace(str(path), name) for each in told]
    return status, *told


def main() -> None:
    import tomlkit

    written = tomlkit.parse(FILE.read_text(encoding="utf-8"))
    for wrong, table in zip(INPUTS, written["input"], strict=True):  # type: ignore[arg-type]
        with tempfile.TemporaryDirectory() as place:
            status, _, error = said_of(wrong, Path(place))
        for key in ("status", "error"):
            table.pop(key, None)
        table["status"] = status
        assert "'''" not in error
        table["error"] = tomlkit.string("\n" + error, literal=True, multiline=True)
    text = tomlkit.dumps(written).replace("error = '''\n\n", "error = '''\n")
    FILE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    main()
