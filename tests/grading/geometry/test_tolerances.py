"""Every tolerance is one of those named in `grading/geometry/tolerances.py`, or says why not."""

import re
import tokenize
from pathlib import Path

import grading
import viz
from grading.geometry import tolerances
from grading.geometry.tolerances import pieces_of, whole_down, whole_up

FOLDERS = [Path(package.__file__).parent for package in (grading, viz)]
FEET_AND_INCHES = (
    "grading/units"  # stands under geometry, and holds factors: 0.001 m is a millimetre there
)
SMALL = 1e-3  # a plain size, a millimetre or a thousandth, is no tolerance


def small_numbers(path):
    """Return (line, text, comment) for each number so small that it is a tolerance."""
    with path.open(encoding="utf-8") as file:
        tokens = list(tokenize.generate_tokens(file.readline))
    comments = {each.start[0]: each.string for each in tokens if each.type == tokenize.COMMENT}
    for each in tokens:
        if each.type != tokenize.NUMBER or not re.fullmatch(r"[\d_.]+(e-?\d+)?", each.string):
            continue  # hexadecimal, imaginary
        if 0 < float(each.string) < SMALL:
            yield each.start[0], each.line.strip(), comments.get(each.start[0], "")


def files():
    for folder in FOLDERS:
        for path in sorted(folder.rglob("*.py")):
            place = path.relative_to(folder.parent)
            if not place.is_relative_to(FEET_AND_INCHES) and path != Path(tolerances.__file__):
                yield path, place


def test_no_tolerance_is_written_out_where_it_is_used():
    found = [(place, *each) for path, place in files() for each in small_numbers(path)]
    assert len(found) > 10, "the search finds what there is to find"
    for place, line, text, comment in found:
        assert re.match(r"_?[A-Z][A-Z_]* = ", text), f"{place}:{line} gives it no name: {text}"
        assert "own: " in comment, f"{place}:{line} does not say why it is another: {text}"


def test_each_tolerance_says_what_it_is_for():
    text = Path(tolerances.__file__).read_text(encoding="utf-8")
    names = re.findall(r"^([A-Z_]+) = .*$", text, re.MULTILINE)
    assert len(names) == len(set(names)) > 8
    for name in names:
        assert re.search(rf'^{name} = .*\n"""[^"]+\[[^\]]+\]"""', text, re.MULTILINE), name


def test_a_whole_number_is_that_many_whatever_was_added_up():
    third = 0.1 + 0.2  # more than 0.3 by its last bit
    assert whole_up(third / 0.1) == whole_down(third / 0.1) == 3
    assert whole_up(3 - 1e-12) == whole_down(3 - 1e-12) == 3
    assert whole_up(3.001) == 4
    assert whole_down(2.999) == 2


def test_nobody_cuts_one_more_piece_for_what_no_tape_tells():
    assert pieces_of(2.4 + 0.005, 1.2) == 2, "5 mm are under a quarter of an inch"
    assert pieces_of(2.4 + 0.007, 1.2) == 3
    assert pieces_of(0.0, 1.2) == 0
