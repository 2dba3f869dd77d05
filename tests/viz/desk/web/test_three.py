"""The vendored part of three: the file that was looked at, under its licence, and what it gives."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path

import pytest

import viz.desk

WEB = Path(viz.desk.__file__).parent / "web"


@pytest.fixture(scope="module")
def three():
    return (WEB / "space" / "three.js").read_bytes()


@pytest.fixture(scope="module")
def note():
    return (WEB / "space" / "three.md").read_text(encoding="utf-8")


def given(note):
    """The names that the note's entry file asks for."""
    (inside,) = re.findall(r"export \{(.*?)\} from \"three\"", note, re.DOTALL)
    return {name.strip() for name in inside.split(",") if name.strip()}


def test_it_is_the_file_that_the_note_names(three, note):
    assert sha256(three).hexdigest() in note
    assert f"| {len(three)} bytes |" in note


def test_it_goes_out_under_its_licence(three):
    licence = (WEB / "space" / "three.LICENSE").read_text(encoding="utf-8")
    assert licence.startswith("The MIT License")
    assert b"SPDX-License-Identifier: MIT" in three[:200]


def test_it_names_no_other_machine_and_makes_no_code(three):
    text = three.decode()
    assert set(re.findall(r"https?://([\w.-]+)", text)) <= {"www.w3.org"}
    assert "eval(" not in text
    assert "new Function" not in text


def test_it_gives_what_the_note_says_and_our_modules_ask_for_no_more(three, note):
    (exported,) = re.findall(r"export\{([^}]*)\};?\s*$", three.decode())
    names = {each.split(" as ")[-1].strip() for each in exported.split(",")}
    assert names == given(note)
    wanted = set()
    for module in (*WEB.rglob("*.js"), *(WEB.parents[1] / "page").glob("*.js")):
        if module.name == "three.js":
            continue
        text = module.read_text(encoding="utf-8")
        if "import * as three" in text:
            wanted |= set(re.findall(r"\bthree\.([A-Z]\w+)", text))
        for inside in re.findall(r"import \{([^}]*)\} from \"[./\w]*three\.js\"", text):
            wanted |= {name.strip() for name in inside.split(",") if name.strip()}
    assert len(wanted) > 10
    assert wanted <= names
