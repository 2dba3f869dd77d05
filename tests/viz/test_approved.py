"""Pictures look as they did when a person approved them, but for what an eye does not see."""

from __future__ import annotations

import pytest
from measure import approved
from measure.opengl import needs_opengl
from PIL import Image


def held(name):
    return Image.open(approved.HERE / f"{name}.png").convert("RGB")


@pytest.mark.parametrize("name", [n for n in approved.PICTURES if n not in approved.NEED_OPENGL])
def test_a_drawing_looks_as_approved(name):
    check(name)


@needs_opengl
@pytest.mark.parametrize("name", approved.NEED_OPENGL)
def test_a_picture_looks_as_approved(name):
    check(name)


def check(name):
    made = approved.shrunk(approved.PICTURES[name]())
    wanted = held(name)
    assert made.size == wanted.size
    whole, worst = approved.similarity(made, wanted)
    assert whole > approved.LEAST, (
        f"{name}: look at it; approved as python tests/measure/approved.py {name}"
    )
    assert worst > approved.WINDOW, f"{name}: a part of it differs"


def test_every_approved_picture_is_compared():
    assert {file.stem for file in approved.HERE.glob("*.png")} == set(approved.PICTURES)


def test_a_change_that_an_eye_sees_is_noticed():
    """The measure would miss nothing that matters: a lost layer, a lost label, another site."""
    picture = held("back-patio-layers")
    painted = picture.copy()
    painted.paste((76, 95, 115), (230, 200, 290, 240))  # a layer of the wrong colour
    blank = picture.copy()
    blank.paste((244, 241, 234), (410, 105, 540, 150))  # a name without its layer
    other = held("raised-patio-layers")
    for changed in (painted, blank, other):
        whole, worst = approved.similarity(picture, changed)
        assert whole < approved.LEAST or worst < approved.WINDOW
    assert approved.similarity(picture, picture) == (1.0, 1.0)
