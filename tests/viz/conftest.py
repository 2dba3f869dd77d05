"""What tests of all that is shown share."""

from __future__ import annotations

import pytest

from grading.errors import CannotDraw


@pytest.fixture
def no_picture(monkeypatch: pytest.MonkeyPatch) -> str:
    """Have no machine to draw the homeowner's two pictures; the fixture is what is said of it."""
    said = "no OpenGL here"

    def cannot(_: object) -> None:
        raise CannotDraw(said)

    monkeypatch.setattr("viz.sheets.homeowner.stills.before_and_after", cannot)
    return said
