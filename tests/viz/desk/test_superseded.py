"""What is being told is ended by what is newer, and never in the midst of an import."""

from __future__ import annotations

import importlib
import sys
import threading
from queue import SimpleQueue

import pytest
from patience import until

from viz.desk.server.work import Job, _Post

HALF_READ = """
import sys
sys.half_read.send()          # something newer comes while this module is read
sys.half_read.wait()
whole = True
"""


class Newer:
    """Sends something newer, and waits until it has come."""

    def __init__(self):
        self._come = SimpleQueue()
        self.post = _Post(self)

    def recv(self):
        return self._come.get()

    def send(self):
        self._come.put(Job("see", 1))

    def wait(self):
        # Taking turns gives what would end it every chance to.
        until(lambda: self.post._jobs)
        for _ in range(200):
            threading.Event().wait(0)


@pytest.fixture
def newer():
    return Newer()


def test_what_is_told_is_ended_by_what_is_newer(newer):
    went = []

    def make():
        newer.send()
        newer.wait()
        went.append("on")

    assert not newer.post.while_none(make)
    assert not went
    assert newer.post.next().kind == "see"


def test_a_module_that_is_being_read_is_read_to_its_end(newer, tmp_path, monkeypatch):
    (tmp_path / "half_read_of_tests.py").write_text(HALF_READ)
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(sys, "half_read", newer, raising=False)
    monkeypatch.delitem(sys.modules, "half_read_of_tests", raising=False)
    read = []

    def make():
        import half_read_of_tests

        read.append(half_read_of_tests.whole)

    newer.post.while_none(make)
    assert read == [True]
    assert importlib.import_module("half_read_of_tests").whole
    assert newer.post.next().kind == "see"
