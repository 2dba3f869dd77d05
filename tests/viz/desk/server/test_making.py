"""What is made from the page says how far it is, is ended when asked, and leaves nothing half made;
the page itself begins a yard by its name and ends with all that it started."""

from __future__ import annotations

import os
import re
import select
import signal
from pathlib import Path

import pytest
from drive.served import PATIENCE, Served, conversed, copied
from measure.opengl import needs_opengl

from grading.errors import SiteError
from viz.opening import begin


def children_of(number):
    """Return the processes that one has started, by what the system tells of it."""
    found = []
    for task in Path(f"/proc/{number}/task").glob("*/children"):
        found += [int(each) for each in task.read_text().split()]
    return found + [below for each in found for below in children_of(each)]


def command_of(number):
    """Return what a process was started as; empty where it has ended."""
    try:
        return Path(f"/proc/{number}/cmdline").read_bytes()
    except OSError:
        return b""


def gone(numbers):
    """Wait until none of some processes is there any more."""
    for number in numbers:
        try:
            watched = os.pidfd_open(number)
        except ProcessLookupError:
            continue
        try:
            ended, _, _ = select.select([watched], [], [], PATIENCE)
        finally:
            os.close(watched)
        if not ended:
            return False
    return True


@needs_opengl
@pytest.mark.long
def test_a_film_says_how_far_it_is_and_is_ended_when_asked(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))  # no still of another run
    folder = copied("back-patio", tmp_path / "site")
    with Served(folder) as served:

        async def talk(line, other):
            before = children_of(served.process.pid)
            number = await line.send(do="make", what="film")
            told = {}
            while not re.search(r"filming: \d+ of \d+ pictures drawn", told.get("words", "")):
                told = await line.hear()
                assert told["is"] in ("busy", "state"), told
            at_work = set(children_of(served.process.pid)) - set(before)
            assert at_work
            # What another window calls by the same number is its own.
            await other.send(do="cancel", id=number)
            told = await line.hear()
            assert told["is"] in ("busy", "state"), told
            await line.send(do="cancel", id=number)
            while told["is"] in ("busy", "state"):
                told = await line.hear()
            assert told == {"id": number, "is": "stopped"}
            assert not (folder / ".fallaway" / "made" / "film").exists()
            # What made the film, and what drew for it, is gone.
            assert gone([each for each in at_work if b"resource_tracker" not in command_of(each)])
            assert set(before) <= set(children_of(served.process.pid))

        conversed(served, talk, windows=2)


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="the system tells no children")
def test_the_key_that_stops_a_command_ends_the_page_and_its_workers(tmp_path):
    with Served(copied("front-walk", tmp_path / "site")) as served:

        async def talk(line):
            await line.ask(do="see", step="yard", view="plan")

        conversed(served, talk)
        started = children_of(served.process.pid)
        assert started
        served.process.send_signal(signal.SIGINT)
        _, errors = served.process.communicate(timeout=PATIENCE)
        assert "Traceback" not in errors
        assert gone(started)


def test_a_yard_is_begun_by_its_name_and_never_over_a_full_folder(tmp_path):
    folder = begin(tmp_path, 'Tern "Street" 9/../x')
    assert folder.parent == tmp_path
    assert sorted(os.listdir(folder)) == ["site.toml", "spots.csv"]
    before = (folder / "site.toml").read_bytes()
    with pytest.raises(SiteError, match="a folder with files"):
        begin(tmp_path, 'Tern "Street" 9/../x')
    assert (folder / "site.toml").read_bytes() == before
    for name in ("", "...", "/"):
        with pytest.raises(SiteError, match="a name with a letter"):
            begin(tmp_path, name)
