"""How far a long piece of work has come, on a terminal and elsewhere."""

from __future__ import annotations

import io

import pytest

from viz.terminal import progress as module
from viz.terminal.progress import Progress, Steps


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


@pytest.fixture(autouse=True)
def plain_terminal(monkeypatch):
    """Have the terminal of a test be one that can be written over, whatever runs the tests."""
    monkeypatch.setenv("TERM", "xterm")


def test_a_terminal_has_a_bar_that_is_wiped_at_the_end(monkeypatch, clock):
    said = worked(monkeypatch, Terminal())
    assert "reading scan.laz" in said
    assert "100%" in said
    assert said.rstrip().endswith("\x1b[2K"), "its line is erased"


def test_elsewhere_a_few_lines_stay(monkeypatch, clock):
    lines = worked(monkeypatch, io.StringIO()).splitlines()
    assert 3 <= len(lines) <= 6
    assert lines[-1] == "reading scan.laz: 100 %"


def test_what_is_soon_done_is_not_spoken_of(monkeypatch, clock):
    assert worked(monkeypatch, io.StringIO(), shares=5) == ""
    assert worked(monkeypatch, Terminal(), shares=5) == ""


def test_a_name_that_controls_the_terminal_does_not(monkeypatch, clock):
    for stream in (Terminal(), io.StringIO()):
        assert "\x1b[2J" not in worked(monkeypatch, stream, what="reading \x1b[2Jscan.laz")


def test_without_standard_error_nobody_is_told(monkeypatch, clock):
    monkeypatch.setattr(module.sys, "stderr", None)
    with Progress() as progress:
        for step in range(50):
            progress.tell("reading", step / 50)


def stepped(monkeypatch, stream):
    """Return what a stream is sent while three steps are taken, and what is heard of them."""
    monkeypatch.setattr(module.sys, "stderr", stream)
    heard = []
    with Steps([1.0, 2.0, 1.0], heard.append) as steps:
        for words in ("making the page", "setting the paper", "setting the other"):
            steps.begin(words)
            steps.say("drawing before and after ...")
        steps.say("No picture can be drawn here: no OpenGL")
    return stream.getvalue(), heard


def test_steps_are_lines_where_there_is_no_terminal(monkeypatch):
    said, heard = stepped(monkeypatch, io.StringIO())
    assert said == ""
    assert heard[:2] == ["making the page ...", "drawing before and after ..."]
    assert heard[-1] == "No picture can be drawn here: no OpenGL"
    assert len(heard) == 7


def test_steps_are_a_bar_on_a_terminal_and_what_cannot_be_done_is_said_beside_it(monkeypatch):
    said, heard = stepped(monkeypatch, Terminal())
    assert heard == ["No picture can be drawn here: no OpenGL"]
    for words in ("making the page", " 0%", "25%", "75%"):
        assert words in said
