"""How much room words take on paper."""

import numpy as np
import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from viz.paper import lettering
from viz.paper.lettering import FONT, Room, depth, extent, fold

WORDS = "rain on the patio goes to a low spot 2' 3 1/2\" deep – نهر 庭 = + 1,000 m²"
LINE = " AV Tofte's flight, 2' 3 1/2\"  ×  4 m² – Ångström ½°: To Vy. "


@pytest.mark.filterwarnings("ignore:Glyph .* missing from font")
@pytest.mark.parametrize("size", [1.7, 2.5, 2.95, 9.0])
@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("words", [WORDS, LINE, LINE.strip(), "", " ", "A V"])
def test_the_room_of_words_is_that_of_the_font(size, bold, words):
    face = FontProperties(family=[FONT], weight="bold" if bold else "normal", size=size)
    wide, high, deep = TextToPath().get_text_width_height_descent(words or " ", face, False)
    assert extent(words, size, bold) == (wide, high - deep, deep)


def test_words_that_are_tried_in_many_lines_and_sizes_are_shaped_once(monkeypatch):
    seen = []
    real = lettering._face(False)

    class Counted:
        def set_text(self, words, *rest, **named):
            seen.append(words)
            return real.set_text(words, *rest, **named)

        def __getattr__(self, name):
            return getattr(real, name)

    monkeypatch.setattr(lettering, "_face", lambda _: Counted())
    words = "of words that nobody measured before this test did there is but one line"
    for step in range(20):
        fold(words, 2.8 - 0.05 * step, 1000.0)
    # Each word at the end of a line and before another, and the blank between.
    assert len(seen) == len(set(seen)) <= 2 * len(words.split()) + 1


def test_what_is_near_is_found_as_by_trying_all_that_is_taken():
    lot = np.random.default_rng(3)
    room, taken, met = Room(200.0, 200.0), [], 0
    for _ in range(300):
        x, y, turn = *lot.uniform(10, 150, 2), lot.choice([0.0, 0.4, np.pi / 2])
        cos, sin = np.cos(turn), np.sin(turn)
        ring = [(0, 0), (20, 0), (20, 3), (0, 3)]
        shape = tuple((x + a * cos - b * sin, y + a * sin + b * cos) for a, b in ring)
        found = room.overlap([shape])
        assert found == sum(depth(shape, other) for other in taken)
        met += found > 0
        room.take([shape])
        taken.append(shape)
    assert 50 < met < 300
