"""Pictures: drawn in a child process, every layer to be found in its own colour, words in room."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from concurrent.futures import CancelledError
from pathlib import Path

import numpy as np
import pytest
from drive.patience import until
from make.by_lot import by_lot
from make.plans.sampled import sampled
from measure.opengl import NO_OPENGL, needs_opengl

from grading.errors import CannotDraw
from viz import own_process
from viz.look.materials import MATERIALS, material
from viz.pictures import child, render
from viz.pictures.camera import eye_for
from viz.pictures.child import ChildFailed
from viz.pictures.explained import SIZE, STAGE, composed, fitted, fold, font, labels_in
from viz.pictures.lights import BACKGROUND
from viz.pictures.render import stills
from viz.pictures.stills import ENDINGS, file_name, pictures_begun, shot_of
from viz.scene.parts import only, parts_of
from viz.scene.slicing import FABRIC, sliced
from viz.scene.staging import stage


@pytest.fixture(
    scope="module", params=by_lot(["back-patio", "raised-patio", "front-walk", "side-walkway"])
)
def scene(request):
    plan = sampled(request.param)
    return stage(plan, plan.areas[0], plan.areas[0].chosen)


@pytest.fixture(scope="module")
def shot(scene):
    size = STAGE[2:]
    seen = only(parts_of([scene]), (0, "layers"))
    points = np.concatenate([part.points for part in seen])
    return seen, eye_for(scene.cameras[0].direction, points, size[0] / size[1]), size


@pytest.fixture(scope="module")
def still(shot):
    return stills([shot])[0]


def chroma(colour):
    rgb = np.asarray(colour, float)
    return rgb / rgb.sum(axis=-1, keepdims=True)


def rgb_of(text):
    return np.array([int(text[i : i + 2], 16) for i in (1, 3, 5)], float)


@needs_opengl
def test_each_layer_is_seen_in_its_own_colour_where_its_label_points(scene, shot, still):
    _, eye, size = shot
    own = {entry.number: chroma(rgb_of(entry.colour)) for entry in scene.legend}
    named = [label for label in labels_in(scene, "layers") if label.kind == "layer"]
    assert len(named) == len(scene.legend)
    for label in named:
        found, patch = colour_at(still, eye, scene.place(label, "layers"), size)
        gaps = {number: np.abs(found - colour).sum() for number, colour in own.items()}
        assert min(gaps, key=gaps.get) == label.number, (label.text, patch.mean(axis=0), gaps)


def colour_at(still, eye, place, size, reach=3):
    x, y = eye.pixels(place[None], size)[0].round().astype(int)
    patch = still[y - reach : y + reach + 1, x - reach : x + reach + 1].reshape(-1, 3)
    return chroma(np.median(patch, axis=0)), patch


@needs_opengl
def test_layers_apart_and_on_a_cut_are_seen_in_their_own_colours(scene):
    cut = sliced(scene)
    size, views = (1500, 1000), ("apart", "slice:7")
    parts = parts_of([cut])
    shots = [shot_of(cut, parts, 0, view, size) for view in views]
    own = {entry.number: chroma(rgb_of(entry.colour)) for entry in cut.legend}
    for view, drawn, (_, eye, _) in zip(views, stills(shots), shots, strict=True):
        kind = view.partition(":")[0]
        named = [label for label in labels_in(cut, view) if label.kind == "layer"]
        assert len(named) >= len(cut.legend) - 1
        for label in named:
            found, patch = colour_at(drawn, eye, cut.place(label, kind), size, 1)
            gaps = {number: np.abs(found - colour).sum() for number, colour in own.items()}
            if kind == "slice" and label.text.startswith(FABRIC):
                # A sheet is a line there, thinner than what is looked at.
                assert np.abs(patch - rgb_of(material(FABRIC).colour)).sum(axis=1).min() < 45
                continue
            assert min(gaps, key=gaps.get) == label.number, (view, label.text, patch.mean(axis=0))


@needs_opengl
def test_a_deeper_cut_uncovers_more(scene):
    cut = sliced(scene)
    parts = parts_of([cut])
    size = (500, 350)
    whole = shot_of(cut, parts, 0, "finished", size)
    shots = [(shot_of(cut, parts, 0, f"slice:{at}", size)[0], whole[1], size) for at in (2, 7, 12)]
    background = rgb_of(BACKGROUND)
    drawn = [(np.abs(still - background).max(axis=2) > 12).sum() for still in stills(shots)]
    assert drawn[0] < drawn[1] < drawn[2]


@needs_opengl
def test_nothing_is_cut_off_at_the_edge_of_the_still(still):
    edge = np.concatenate([still[:2].reshape(-1, 3), still[-2:].reshape(-1, 3)])
    sides = np.concatenate([still[:, :2].reshape(-1, 3), still[:, -2:].reshape(-1, 3)])
    assert np.abs(np.concatenate([edge, sides]) - rgb_of(BACKGROUND)).max() <= 3


@needs_opengl
def test_the_still_is_filled(still):
    drawn = (np.abs(still.astype(int) - rgb_of(BACKGROUND)).max(axis=2) > 12).mean()
    assert 0.2 < drawn < 0.9


@needs_opengl
def test_the_picture_carries_words_in_room_of_their_own(scene, shot, still):
    picture = np.asarray(composed(scene, still, shot[1]))
    assert picture.shape == (SIZE[1], SIZE[0], 3)
    ink = picture.min(axis=2) < 90
    # Title, the column of layers, and the caution at the foot.
    assert ink[20:120, 40:600].mean() > 0.01
    assert ink[STAGE[1] : STAGE[1] + STAGE[3], 1190:1560].mean() > 0.02
    assert ink[STAGE[1] + STAGE[3] :, 40:1500].mean() > 0.005
    # Nothing reaches the margin.
    assert not ink[:, -20:].any()
    assert not ink[-8:].any()


@needs_opengl
def test_one_png_for_each_area(tmp_path):
    plan = sampled("garden-court")
    files = pictures_begun(plan)(tmp_path)
    endings = [*ENDINGS.values(), "before-and-after"]
    assert [file.name for file in files] == [
        f"{area}-{ending}.png" for area in ("court", "studio-path") for ending in endings
    ]
    from PIL import Image

    for file in files:
        with Image.open(file) as image:
            # Before and after lie side by side: as wide as the others, and lower.
            both = file.stem.endswith("before-and-after")
            assert image.size == ((SIZE[0], 940) if both else SIZE)
        assert file.stat().st_size < 1_500_000


def test_without_opengl_it_is_said_what_to_install_and_nothing_is_written(tmp_path, monkeypatch):
    for name, value in NO_OPENGL.items():
        monkeypatch.setenv(name, value)
    plan = sampled("front-walk")
    with pytest.raises(CannotDraw, match="apt-get install libegl1") as caught:
        pictures_begun(plan)(tmp_path)
    assert "no OpenGL" in str(caught.value)
    assert not list(tmp_path.iterdir())


def test_a_fault_in_the_child_is_not_taken_for_a_missing_renderer(walkway_shot):
    seen, _, size = walkway_shot
    with pytest.raises(ChildFailed, match="Error"):
        stills([(seen, "no eye", size)])


def test_file_names_are_plain():
    assert file_name("Patio", 0) == "patio"
    assert file_name("../../etc/passwd", 0) == "etc-passwd"
    assert file_name("入口", 2) == "area-3"
    assert len(file_name("x" * 500, 0)) <= 60


def test_long_words_fit_their_room():
    for words in ("short", "a very long name of a layer that nobody would write", "x" * 400):
        text, face = fitted(words, 24, 300, bold=True)
        assert face.getlength(text) <= 300
    rows = fold("one two three four five six seven", font(20), 120)
    assert len(rows) > 1
    assert " ".join(rows) == "one two three four five six seven"


def test_shades_of_materials_are_told_apart():
    # Status and layer are also told by number and word, so near tones are no trap; equal ones are.
    colours = [look.colour for look in MATERIALS.values()]
    assert len(set(colours)) == len(colours)


@needs_opengl
def test_a_run_that_is_stopped_leaves_no_child_at_work(walkway_shot):
    waits = [render.stills_begun([walkway_shot] * 40), render.stills_begun([walkway_shot])]
    until(lambda: child.CHILDREN)
    (at_work,) = child.CHILDREN
    render.abandon()
    with pytest.raises(CannotDraw):
        waits[0]()
    assert at_work.returncode not in (0, None)
    with pytest.raises(CancelledError):
        waits[1]()
    assert np.ptp(render.stills([walkway_shot])[0]) > 0


@pytest.fixture(scope="module")
def walkway_shot():
    plan = sampled("side-walkway")
    scene = stage(plan, plan.areas[0], "panel")
    return shot_of(scene, parts_of([scene]), 0, "layers", STAGE[2:])


@needs_opengl
def test_pictures_that_came_are_kept_when_the_rest_does_not(walkway_shot, monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    waits = render.stills_begun([walkway_shot] * 60, "The film")
    until(lambda: list(tmp_path.glob("*/pieces/1.npy")))
    (at_work,) = child.CHILDREN
    at_work.kill()
    found = waits()
    assert 0 < found.missing < 59
    first = [each for each in found.pictures if each is not None]
    assert all((each == first[0]).all() for each in first)
    with pytest.raises(CannotDraw, match=r"The film was not made: \d+ of the 60 pictures in it"):
        found.whole()
    assert not list(tmp_path.iterdir())


def test_a_child_that_comes_no_further_is_ended_and_its_pictures_kept(
    walkway_shot, monkeypatch, tmp_path
):
    monkeypatch.setattr(child, "LIMIT", 0.0)
    monkeypatch.setattr(child, "_LOOK", 0.01)
    with pytest.raises(CannotDraw, match="Drawing came no further and was ended"):
        render.stills([walkway_shot])
    assert not child.CHILDREN


def test_only_the_pictures_that_are_missing_are_missing(monkeypatch, tmp_path):
    plan = sampled("front-walk")

    def two_are_missing(job):
        sizes = [size for _, _, size in job.stills]
        pieces = {
            number: np.random.default_rng(number).integers(0, 255, (high, wide, 3), np.uint8)
            for number, (wide, high) in enumerate(sizes) if number not in (1, len(sizes) - 1)
        }  # fmt: skip
        return lambda: child.Outcome(pieces, stalled=True)

    monkeypatch.setattr(render, "begun", two_are_missing)
    with pytest.raises(CannotDraw) as told:
        pictures_begun(plan)(tmp_path)
    lacking = ["front-walkway-layers-apart.png", "front-walkway-before-and-after.png"]
    assert str(told.value).startswith(f"Not drawn: {', '.join(lacking)}. Drawing came no further")
    written = {file.name for file in tmp_path.iterdir()}
    assert written == {f"front-walkway-{ending}.png" for ending in ENDINGS.values()} - set(lacking)


@needs_opengl
def test_one_child_draws_all_of_a_run_and_another_where_the_surroundings_are_others(
    walkway_shot, monkeypatch, tmp_path
):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    started = []

    class Counted(child._Child):
        def __init__(self):
            super().__init__()
            started.append(self)

    monkeypatch.setattr(child, "_Child", Counted)
    child.end_waiting()
    (first,) = render.stills([walkway_shot])
    seen, eye, _ = walkway_shot
    render.stills([(seen[:3], eye, (300, 200))])
    (again,) = render.stills([walkway_shot])
    assert len(started) == 1
    assert (first == again).all(), "what was drawn between them left nothing behind"
    monkeypatch.setenv("FALLAWAY_TEST_OF_A_CHILD", "1")
    render.stills([walkway_shot])
    assert len(started) == 2
    assert started[0]._process.returncode is not None
    child.end_waiting()
    assert started[1]._process.returncode is not None
    assert not list(tmp_path.iterdir())


@needs_opengl
def test_a_child_that_waited_long_enough_is_replaced_by_another(walkway_shot, monkeypatch):
    """It ends by itself just as it is given a job, which is then done by the next."""
    child.end_waiting()

    class Tired:
        of = os.getpid()

        def fits(self):
            return True

        def do(self, folder, many):
            return False

        def end(self):
            return 0, ""

    monkeypatch.setattr(child, "_waiting", [Tired()])
    assert np.ptp(render.stills([walkway_shot])[0]) > 0
    child.end_waiting()  # the one that drew it waits where the tired one did


class Machine:
    """A clock, and work that is told what it makes and uses."""

    def __init__(self, knows=True):
        self.time, self.used, self.made, self.knows = 0.0, 0.0, 0, knows
        self.progress = own_process.Progress(
            lambda: self.made, lambda: self.used if self.knows else None, child.LIMIT,
            lambda: self.time,
        )  # fmt: skip

    def on(self, seconds, share=0.0, made=0):
        self.time += seconds
        self.used += share * seconds
        self.made += made
        return self.progress.stalled()


def test_progress_decides_and_not_the_time_that_it_takes():
    busy = Machine()
    # A picture an hour, on a machine that gives it the hundredth part of its time.
    assert not any(busy.on(60, 0.01, made=(k % 60 == 59)) for k in range(600))
    turning = Machine()
    assert not any(turning.on(1, 1.0) for _ in range(int(child.LIMIT)))
    assert turning.on(1, 1.0), "it works and brings nothing"
    threads = Machine()
    assert not threads.on(30, 64.0), "many processors use much of their time in little of ours"
    asleep = Machine()
    assert not asleep.on(child.LIMIT)
    assert asleep.on(1), "it does nothing at all"
    dark = Machine(knows=False)
    assert not dark.on(child.LIMIT)
    assert not dark.on(1, made=1)
    assert not dark.on(child.LIMIT)
    assert dark.on(1)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="this system has no /proc")
def test_the_time_that_a_process_used_is_what_it_says_itself():
    own = os.times()
    assert own_process.used_by(os.getpid()) == pytest.approx(own.user + own.system, abs=0.1)
    assert own_process.used_by(2**22 + 1) is None


ORPHAN = """
import sys, threading
from viz.pictures import child
class Slow:
    stills = ()
    def __reduce__(self): return (eval, ("__import__('time').sleep(1e6)",))
drawing = threading.Thread(target=lambda: child.done(Slow()), daemon=True)
drawing.start()
while drawing.is_alive() and not child.CHILDREN:
    pass
print(next(iter(child.CHILDREN)).pid, flush=True)
sys.stdin.read()
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="this system has no /proc")
def test_a_child_ends_with_who_started_it():
    root = str(Path(child.__file__).resolve().parents[2])
    with subprocess.Popen(
        [sys.executable, "-c", ORPHAN], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONPATH": root},
    ) as parent:  # fmt: skip
        number = int(parent.stdout.readline())
        assert running(number)
        parent.kill()
    until(lambda: not running(number))


def running(process):
    """Whether a process is there and no mere entry that nobody has asked after."""
    try:
        told = Path(f"/proc/{process}/stat").read_text()
    except OSError:
        return False
    return told.rpartition(")")[2].split()[0] != "Z"
