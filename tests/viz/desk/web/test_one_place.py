"""What every view of the page asks of the browser stands in one place, in the file to take away
too: elements made by hand, a style sheet brought in, a file given, a text copied."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from viz.desk.field.one_file import one_script
from viz.desk.field.take_away import MODULES
from viz.desk.web_files import web_text

WEB = files("viz.desk").joinpath("web")
VENDORED = {"three.js"}


def scripts(folder=WEB, way=""):
    for each in folder.iterdir():
        if each.is_dir():
            yield from scripts(each, f"{way}{each.name}/")
        elif each.name.endswith(".js") and each.name not in VENDORED:
            yield f"{way}{each.name}", each.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "asked",
    [
        r'createElement\((?!"canvas")',
        r"createElementNS\(",
        r"stylesheet",
        r"createObjectURL",
        r"navigator\.clipboard|execCommand",
    ],
)
def test_one_module_asks_it(asked):
    found = [name for name, text in scripts() if re.search(asked, text)]
    assert found == ["dom.js"]


def test_the_file_to_take_away_is_one_script_whose_names_differ():
    script = one_script(MODULES)
    assert not re.search(r"^(import|export)\b", script, re.MULTILINE)
    names = re.findall(
        r"^(?:async )?(?:function|class|const|let) (?:\{ )?(\w+)", script, re.MULTILINE
    )
    assert len(names) == len(set(names))
    assert {"make", "drawn", "copyText", "give"} <= set(names)
    imported = {
        each.removeprefix("../").removeprefix("./")
        for name in MODULES
        for each in re.findall(r'from "([^"]+)"', web_text(name))
    }
    assert {each.rpartition("/")[2] for each in imported} <= {
        each.rpartition("/")[2] for each in MODULES
    }
