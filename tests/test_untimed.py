"""Tests wait for a state, never for a time: on a busy machine every time is too short."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import settings

TESTS = Path(__file__).parent

TIMED = r"time\.sleep\(|virtual-time|[( ]deadline=|\btimeout=\d|wait\(\d{2,}\)|Timer\("
"""A pause, a budget of time, or a limit in figures."""


def sources():
    return [file for file in TESTS.rglob("*.py") if "benchmarks" not in file.parts]


def test_no_property_is_held_to_the_clock():
    assert settings().deadline is None
    assert settings(max_examples=7).deadline is None


@pytest.mark.parametrize("file", sources(), ids=lambda file: str(file.relative_to(TESTS)))
def test_no_test_waits_for_a_time(file):
    if file.name in ("conftest.py", "patience.py", Path(__file__).name):
        return
    found = [
        f"{number}: {line.strip()}"
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1)
        if re.search(TIMED, line)
    ]
    assert not found
