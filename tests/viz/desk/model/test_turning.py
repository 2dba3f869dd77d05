"""A changed site shown at once, and then whole: what is not told at once, and what is not again."""

from __future__ import annotations

import contextlib
import json
from types import SimpleNamespace

import pytest
from make.plans.looked_at import copied

import grading
import sample_sites
from grading.files.toml_text import toml_of
from grading.kept import Kept
from grading.order import takeoff
from grading.pipeline import first_wave
from grading.reading.site_file import read_written
from viz.desk.model import bodies
from viz.desk.model.frame import Held
from viz.desk.model.turning import Turning
from viz.desk.seen import Asked
from viz.desk.server import work
from viz.desk.server.look import Looking

LATER = {"built", "beside", "thing"}


def site_with(name, edit):
    folder = sample_sites.path(name)
    written = toml_of((folder / "site.toml").read_text(encoding="utf-8"), "site.toml")
    edit(written)
    return read_written(folder, written)


def seen_of(plan, revision=1, **asked):
    return SimpleNamespace(plan=plan, asked=Asked(**asked), stale=False, revision=revision)


def higher(written):
    written["door"][0]["sill"] = 100.02


def deeper(written):
    outline = written["area"][0]["outline"]
    corners = [each for each in outline if isinstance(each, list)]
    far = max(corner[1] for corner in corners)
    for corner in corners:
        corner[1] += 0.5 if corner[1] == far else 0


def raised(written):
    written["door"][0]["sill"] += 0.1


def hashes(model, later=None):
    return {
        part["name"]: part["hash"]
        for part in model.parts
        if later is None or (part["role"] in LATER or "/built/" in part["name"]) == later
    }


def new_parts(frame):
    long = int.from_bytes(frame[:4], "little")
    return [part["name"] for part in json.loads(frame[4 : 4 + long])["parts"] if "v" in part]


def never(*_, **__):
    raise AssertionError("it is told later")


@pytest.fixture(scope="module")
def shown():
    """Return the model of a raised patio as a window was shown it, and what is kept of the site."""
    kept, turning = Kept(), Turning()
    plan = grading.plan(grading.read_site(sample_sites.path("raised-patio")), kept)
    return turning, turning.whole(seen_of(plan)), plan, kept


def test_layers_are_told_at_once_and_walls_and_water_after_them(shown, monkeypatch):
    turning, before, _, kept = shown
    plan = first_wave(site_with("raised-patio", raised), kept).plan
    with monkeypatch.context() as later:
        later.setattr(takeoff, "structures_of", never)
        for name in ("add_filled", "add_restraint", "add_features", "mesh_of"):
            later.setattr(bodies, name, never)
        at_once = turning.at_once(seen_of(plan))
    whole = turning.whole(seen_of(plan))
    # What stands by the layers is as it stood; all else is what it will be.
    assert hashes(at_once, True) == hashes(before, True)
    told, final = hashes(at_once, False), hashes(whole, False)
    off = [name for name in final if told.get(name) != final[name]]
    # Bedding and base end where a wall stands, and the shoulder lies where none does.
    assert all("/layer/" in name for name in off), off
    assert not any(name.endswith("pavers") for name in off), off
    assert sum(hashes(before)[name] != told[name] for name in told) > 5
    assert hashes(whole, True) != hashes(before, True)
    held = Held()
    held.frame(before)
    sent = new_parts(held.frame(at_once))
    moved = {name for name, told in hashes(at_once).items() if told not in hashes(before).values()}
    assert set(sent) == moved
    assert not any("/built/" in name for name in sent)
    after = new_parts(held.frame(whole))
    assert after
    assert not {name for name in after if hashes(at_once).get(name) == hashes(whole)[name]}


def test_the_same_plan_again_is_told_whole(shown):
    turning, *_ = shown
    plan = grading.plan(grading.read_site(sample_sites.path("raised-patio")))
    whole = turning.whole(seen_of(plan))
    assert turning.at_once(seen_of(plan)) is None
    other = next(name for name in plan.areas[0].digs if name != plan.areas[0].chosen)
    assert turning.at_once(seen_of(plan, base_system=other)) is None
    assert whole.tells_as(turning.whole(seen_of(plan)))
    assert not whole.tells_as(turning.whole(seen_of(plan, base_system=other)))


def test_paving_that_lies_elsewhere_is_told_whole():
    kept, turning = Kept(), Turning()
    plan = grading.plan(grading.read_site(sample_sites.path("back-patio")), kept)
    assert turning.at_once(seen_of(plan)) is None  # nothing was shown yet
    turning.whole(seen_of(plan))
    other = first_wave(site_with("back-patio", deeper), kept).plan
    assert turning.at_once(seen_of(other)) is None
    same = first_wave(site_with("back-patio", higher), kept).plan
    assert turning.at_once(seen_of(same)) is not None


class Sent:
    """The end of a pipe that keeps what is sent."""

    def __init__(self, *jobs):
        self.jobs, self.answers = list(jobs), []

    def send(self, answer):
        self.answers.append(answer)

    def recv(self):
        raise EOFError

    def models(self):
        return [answer for _, answer, _ in self.answers if not isinstance(answer, dict)]


@pytest.fixture
def worker(tmp_path, monkeypatch):
    """Return a worker of a site that answers what it is handed, and its pipe."""

    class Post:
        def __init__(self, pipe):
            self.pipe = pipe

        def next(self):
            return self.pipe.jobs.pop(0)

        @contextlib.contextmanager
        def unbroken(self):
            yield

        def while_none(self, make):
            if self.pipe.jobs and self.pipe.jobs[0].kind in ("look", "glance"):
                return False
            make()
            return True

    monkeypatch.setattr(work, "Post", Post)
    folder = copied("back-patio", tmp_path)
    pipe = Sent()
    shadow = SimpleNamespace(hold=lambda texts: None, home=folder)
    return work._Worker(pipe, shadow, Looking(folder, folder)), pipe


def job(kind, number, texts, sill=None):
    written = toml_of(texts["site.toml"], "site.toml")
    if sill is not None:
        written["door"][0]["sill"] = sill
    return work.Job(kind, number, number, texts, written, {"view": "model"})


def test_a_window_is_sent_no_model_twice(worker):
    answering, pipe = worker
    folder = answering._looking.folder
    texts = {each.name: each.read_text(encoding="utf-8") for each in folder.glob("*.*")
             if each.suffix in (".toml", ".csv")}  # fmt: skip
    pipe.jobs = [job("look", 1, texts)]
    answering.answer_next()
    assert len(pipe.models()) == 1
    # The finish lies by the lawn: a sill a little higher moves nothing but itself.
    pipe.answers.clear()
    pipe.jobs = [job("look", 2, texts, 100.01)]
    answering.answer_next()
    assert len(pipe.models()) == 1
    kinds = [answer["is"] if isinstance(answer, dict) else "model" for _, answer, _ in pipe.answers]
    assert kinds.index("model") == 1  # after the numbers, and before all else
    # While a finger drags, what is built is left as it stood.
    pipe.answers.clear()
    pipe.jobs = [job("glance", 3, texts, 100.4)]
    answering.answer_next()
    assert len(pipe.models()) == 1
