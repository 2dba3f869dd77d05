"""How far a long piece of work has come, on a terminal and elsewhere."""

from __future__ import annotations

import io

import pytest

from viz.terminal import progress as module
from viz.terminal.progress import Progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def clock(monkeypatch):
    """Return a clock that goes on by a tenth of a second each time it is asked."""
    now = [0.0]

    def tick():
        now[0] += 0.1
        return now[0]

    monkeypatch.setattr(module.time, "monotonic", tick)
    return now


def worked(monkeypatch, stream, shares=100, what="reading scan.laz"):
    monkeypatch.setattr(module.sys, "stderr", stream)
    with Progress() as progress:
        for step in range(shares + 1):
            progress.tell(what, step / shares)
    return stream.getvalue()


def test_a_terminal_has_one_line_that_is_wiped_at_the_end(monkeypatch, clock):
    said = worked(monkeypatch, Terminal())
    assert "\n" not in said
    assert said.count("\rreading scan.laz: ") > 10
    shown = ""
    for part in said.split("\r"):
        shown = part + shown[len(part) :]
    assert shown.strip() == ""


def test_elsewhere_a_few_lines_stay(monkeypatch, clock):
    lines = worked(monkeypatch, io.StringIO()).splitlines()
    assert 3 <= len(lines) <= 6
    assert lines[-1] == "reading scan.laz: 100 %"


def test_what_is_soon_done_is_not_spoken_of(monkeypatch, clock):
    assert worked(monkeypatch, io.StringIO(), shares=5) == ""
    assert worked(monkeypatch, Terminal(), shares=5) == ""


def test_a_name_that_controls_the_terminal_does_not(monkeypatch, clock):
    for stream in (Terminal(), io.StringIO()):
        assert "\x1b" not in worked(monkeypatch, stream, what="reading \x1b[2Jscan.laz")


def test_without_standard_error_nobody_is_told(monkeypatch, clock):
    monkeypatch.setattr(module.sys, "stderr", None)
    with Progress() as progress:
        for step in range(50):
            progress.tell("reading", step / 50)
