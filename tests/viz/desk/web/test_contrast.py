"""Words stand out from what they lie on: by WCAG 2.2 (1.4.3, 1.4.6), and more so outdoors.

Relative luminance and contrast: https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio
"""

import re
from importlib.resources import files

import pytest

PAIRS = [
    ("ink", "paper"), ("ink", "card"), ("quiet", "paper"), ("quiet", "card"), ("teal", "card"),
    ("on-teal", "teal"), ("clay", "card"), ("fails", "card"), ("on-foot", "foot"),
]  # fmt: skip


def tones(look):
    text = (files("viz.desk") / "web" / "desk.css").read_text(encoding="utf-8")
    said = dict(
        re.findall(r"--([\w-]+): (#\w{6});", text.partition(":root {")[2].partition("}")[0])
    )
    if look == "outdoor":
        own = text.partition(':root[data-look="outdoor"] {')[2].partition("}")[0]
        said |= dict(re.findall(r"--([\w-]+): (#\w{6});", own))
    return said


def luminance(colour):
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return sum(w * v for w, v in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    low, high = sorted(map(luminance, (one, other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(("words", "under"), PAIRS)
def test_words_are_told_from_what_they_lie_on_and_better_outdoors(words, under):
    indoors, outdoors = (contrast(said[words], said[under]) for said in map(tones, ("", "outdoor")))
    assert indoors >= 4.5
    assert outdoors >= 7
    assert outdoors >= indoors


def test_the_measure_itself_is_that_of_the_standard():
    """Its own ends, and a grey that is known to be the lightest that passes on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")
