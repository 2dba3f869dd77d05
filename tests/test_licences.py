"""Every library that is installed with fallaway may be used, and given on, beside an MIT licence.

By what each says of itself in its metadata (PEP 639, or the classifiers before it): permissive, or
MPL-2.0, which asks for changes of its own files alone and none is changed here. What the Free
Software Foundation and the Open Source Initiative say of each is from memory.
"""

from __future__ import annotations

import importlib.metadata as metadata
import re
import tomllib
from pathlib import Path

import pytest

requirements = pytest.importorskip("packaging.requirements")

ROOT = Path(__file__).resolve().parents[1]

PERMISSIVE = {
    "MIT", "MIT-CMU", "BSD-2-Clause", "BSD-3-Clause", "0BSD", "Apache-2.0", "ISC", "Zlib",
    "PSF-2.0", "CC0-1.0", "Apache-2.0 WITH LLVM-exception", "HPND",
}  # fmt: skip
PER_FILE = {"MPL-2.0"}
"""Changes of files under it are given on under it; all else is not touched."""

SAID = {
    "MIT License": "MIT", "MIT": "MIT", "BSD License": "BSD-3-Clause", "BSD": "BSD-3-Clause",
    "BSD 3-Clause License": "BSD-3-Clause", "Apache Software License": "Apache-2.0",
    "Apache 2.0": "Apache-2.0", "ISC License (ISCL)": "ISC",
    "Python Software Foundation License": "PSF-2.0",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
}  # fmt: skip
"""How older metadata says it."""


def installed_with(asked: str, found: dict[str, metadata.Distribution]) -> None:
    """Add a library, and all that it asks for, to those that were found."""
    told = requirements.Requirement(asked)
    try:
        one = metadata.distribution(told.name)
    except metadata.PackageNotFoundError:
        return  # not for this system
    name = re.sub("[-_.]+", "-", told.name).lower()
    if name in found and not told.extras:
        return
    found[name] = one
    for each in one.requires or ():
        more = requirements.Requirement(each)
        extras = ("", *told.extras)
        if more.marker is None or any(more.marker.evaluate({"extra": each}) for each in extras):
            installed_with(str(more), found)


def licence_of(one: metadata.Distribution) -> set[str]:
    """Return every licence that a library says it has, by its SPDX name where it is known."""
    expression = one.metadata.get("License-Expression")
    if expression:
        return set(re.split(r" AND | OR ", expression.replace("(", "").replace(")", "")))
    named = [
        each.rpartition(" :: ")[2]
        for each in one.metadata.get_all("Classifier") or ()
        if each.startswith("License ::")
    ]
    named = named or [(one.metadata.get("License") or "nothing").splitlines()[0].strip()]
    return {SAID.get(each, each) for each in named}


def test_every_library_may_be_used_and_given_on():
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    found: dict[str, metadata.Distribution] = {}
    for each in told["dependencies"]:
        installed_with(each, found)
    assert len(found) > len(told["dependencies"])
    licences = {name: licence_of(one) for name, one in found.items()}
    odd = {name: each for name, each in licences.items() if not each <= PERMISSIVE | PER_FILE}
    assert odd == {}
    # A new one under such terms is a decision: DEVELOPERS.md says why these.
    assert {name for name, each in licences.items() if each & PER_FILE} <= {"pythoncdt", "certifi"}
