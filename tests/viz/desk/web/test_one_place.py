"""What every view of the page asks of the browser stands in one place, in the files that are one
script too: elements made by hand, a style sheet brought in, a file given, a text copied."""

from __future__ import annotations

import re
from importlib.resources import files
from posixpath import dirname, normpath

import pytest

from viz.desk.field.take_away import MODULES as TAKE_AWAY
from viz.one_file import one_script
from viz.page.html import MODULES as YARD

WEB = files("viz.desk").joinpath("web")
PAGE = files("viz.page")
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
    found = [name for name, text in (*scripts(), *scripts(PAGE)) if re.search(asked, text)]
    assert found == ["dom.js"]


# An import and an export have one form each, so that leaving them out is all that joining takes.
IMPORT = re.compile(r'^import (?:\{[\w,\s]+\}|\* as three) from "([./\w]+\.js)";\n', re.MULTILINE)
EXPORT = re.compile(r"^export (?:async )?(?:function|class|const|let) (\w+)", re.MULTILINE)
AT_TOP = re.compile(
    r"^(?:export )?(?:async )?(?:function|class|const|let) (\w+|[\[{][\w, ]+)", re.MULTILINE
)


@pytest.mark.parametrize("modules", [TAKE_AWAY, YARD], ids=["take-away", "yard"])
def test_modules_that_are_joined_follow_what_they_import_and_their_names_differ(modules):
    names, given = [], {}
    for name in modules:
        text = files("viz").joinpath(*name.split("/")).read_text(encoding="utf-8")
        if name.rpartition("/")[2] in VENDORED:
            names.append("three")
            given[name] = None
            continue
        assert "await import(" not in text, name
        assert len(IMPORT.findall(text)) == len(re.findall(r"^\s*import\b", text, re.MULTILINE))
        assert len(EXPORT.findall(text)) == len(re.findall(r"^\s*export\b", text, re.MULTILINE))
        for line in IMPORT.finditer(text):
            # It stands before, and under it what is asked of it: nothing is called otherwise.
            there = normpath(f"{dirname(name)}/{line[1]}")
            assert there in given, (name, there)
            asked = re.search(r"\{(.*?)\}", line[0], re.DOTALL)
            if asked:
                assert set(re.findall(r"\w+", asked[1])) <= given[there], (name, there)
        given[name] = set(EXPORT.findall(text))
        for found in AT_TOP.findall(text):
            names += re.findall(r"\w+", found)
    assert len(names) == len(set(names)), [each for each in names if names.count(each) > 1]
    script = one_script(modules)
    assert not re.search(r"^(import|export)\b", script, re.MULTILINE)
    assert {"make", "drawn", "copyText", "give"} <= set(names)
