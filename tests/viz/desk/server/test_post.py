"""What is being told is ended by what is newer, and never in the midst of an import."""

from __future__ import annotations

import ctypes
import importlib
import sys
import threading
from queue import SimpleQueue

import pytest
from drive.patience import until

from viz.desk.server.post import Job, Post, Superseded, queued

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
        self.post = Post(self)

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


def test_a_message_that_is_being_sent_is_sent_to_its_end(newer):
    """Half of one would leave who reads it waiting for the rest of it for ever."""
    went = []

    def make():
        with newer.post.unbroken():
            newer.send()
            newer.wait()
            went.append("sent")
        went.append("on")

    assert not newer.post.while_none(make)
    assert went == ["sent"]
    assert newer.post.next().kind == "see"


def test_what_is_on_its_way_to_end_comes_before_a_message_and_not_in_it(newer):
    """It is set off between two steps, and would come at the next one, wherever that is."""
    went = []

    def make():
        with newer.post._come:  # as who listens does when something newer is there
            newer.post._open, newer.post._ended = False, True
        threading.Thread(target=end_soon, args=(threading.get_ident(),)).start()
        with newer.post.unbroken():
            went.append("sent")

    def end_soon(thread):
        for _ in range(200):
            threading.Event().wait(0)
        ended = ctypes.c_ulong(thread), ctypes.py_object(Superseded)
        ctypes.pythonapi.PyThreadState_SetAsyncExc(*ended)

    assert not newer.post.while_none(make)
    assert not went


def test_when_nothing_newer_comes_all_is_told_and_nothing_can_be_ended_after(newer):
    def make():
        with newer.post.unbroken():
            pass
        assert newer.post._open

    assert newer.post.while_none(make)
    assert not newer.post._open


def kinds(jobs):
    return [(each.kind, each.number) for each in jobs]


def test_what_is_dropped_for_a_newer_look_is_answered_and_what_asks_comes_after_it():
    """Whoever asked for them: another window, or the page itself when a file changed outside."""
    waiting = [Job("look", 1), Job("see", 2), Job("change", 3), Job("call", 4), Job("glance", 5)]
    assert kinds(queued(waiting, Job("look", 6))) == [
        ("drop", 1), ("change", 3), ("drop", 5), ("look", 6), ("see", 2), ("call", 4),
    ]  # fmt: skip


def test_a_finger_that_drags_drops_only_where_it_was_before():
    waiting = [Job("look", 1), Job("see", 2), Job("glance", 3)]
    assert kinds(queued(waiting, Job("glance", 4))) == [
        ("look", 1), ("see", 2), ("drop", 3), ("glance", 4),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["see", "call", "change", "stop"])
def test_nothing_is_dropped_for_what_does_not_take_its_place(kind):
    waiting = [Job("look", 1), Job("see", 2), Job("glance", 3)]
    assert kinds(queued(waiting, Job(kind, 4))) == [*kinds(waiting), (kind, 4)]
