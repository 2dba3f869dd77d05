import codecs
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grading.errors import SiteError
from grading.files import csv_points as csvfile
from grading.files.csv_points import not_read, read_points
from grading.files.csv_rows import MOST_PROBLEMS
from grading.units import FOOT, INCH

NUMBERS, TEXTS = ("x", "y", "z"), ("id", "code", "note")


def read(tmp_path, content, unit="ft"):
    path = tmp_path / "spots.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_points(path, "spots.csv", unit, NUMBERS, TEXTS)


def sentences(tmp_path, content):
    with pytest.raises(SiteError) as refused:
        read(tmp_path, content)
    return [str(problem) for problem in refused.value.problems]


@pytest.mark.parametrize(
    "content",
    [
        "x,y,z\n1,2.5,100\n3,4,101.25\n",
        "x,y,z\r\n1,2.5,100\r\n3,4,101.25\r\n",
        "x,y,z\r1,2.5,100\r3,4,101.25",
        "Z,X,Y\n100,1,2.5\n101.25,3,4\n",
        " x , y , z \n 1 , 2.5 , 100 \n 3, 4, 101.25\n",
        "x;y;z\n1;2,5;100\n3;4;101,25\n",
        "x\ty\tz\n1\t2,5\t100\n3\t4\t101.25\n",
        '"x","y","z"\n"1","2.5","100"\n"3","4","101.25"\n',
        '# level notes\n\nx,y,z\n# first set-up, "A"\n1,2.5,100\n\n  # moved\n3,4,101.25\n\n',
        "x,y,z,,\n1,2.5,100,,\n3,4,101.25,,\n,,,,\n",
        "x,y,hand,z\n1,2.5,left,100\n3,4,right,101.25\n",
        'x,y,z\n12 in,2\' 6",100\'\n3 ft,"4\' 0""","101\' 3"""\n',
        "x;y;z\n1;2' 6\";100\n3;4;101' 3\"\n",
    ],
)
def test_files_are_read_as_people_and_spreadsheets_write_them(tmp_path, content):
    points = read(tmp_path, content)
    np.testing.assert_allclose(
        points.values, np.array([[1, 2.5, 100], [3, 4, 101.25]]) * FOOT, rtol=1e-15
    )


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_marked_encodings_are_read(tmp_path, encoding):
    points = read(tmp_path, "x\ty\tz\tnote\n1\t2\t3½\tcafé\n".encode(encoding), "m")
    assert points.values.tolist() == [[1, 2, 3.5]]
    assert points.texts["note"] == ("café",)


def test_lines_are_those_of_the_file(tmp_path):
    content = 'x,y,z,note\n1,2,3,\n# remark\n\n4,5,6,"two\nlines"\n7,8,9,\n'
    points = read(tmp_path, content)
    assert points.lines == (2, 5, 7)
    assert points.texts == {"note": ("", "two\nlines", "")}


def test_plain_numbers_and_lengths_are_read_alike(tmp_path):
    rng = random.Random(3)
    sizes = [[f"{rng.uniform(-99, 999):.3f}" for _ in range(3)] for _ in range(50)]
    plain = "x,y,z\n" + "".join(",".join(row) + "\n" for row in sizes)
    # One cell with a unit sends its column the slow way.
    mixed = plain + "1 ft,2 ft,3 ft\n"
    first, second = read(tmp_path, plain).values, read(tmp_path, mixed).values
    np.testing.assert_array_equal(first, second[:-1])
    np.testing.assert_array_equal(second[-1], np.array([1, 2, 3]) * FOOT)


def test_inches_inside_a_cell_keep_their_mark(tmp_path):
    points = read(tmp_path, 'x,y,z\n0,0,99\' 6 1/2"\n0,0,"100\' 1/2"""\n')
    assert points.values[:, 2] == pytest.approx([1194.5 * INCH, 1200.5 * INCH])


LENGTH = 'expected a length such as 2.5, "2 3/8 in"'


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("", "spots.csv: found an empty file, expected the columns x,y,z. Write the header"),
        ("# nothing\n\n", "spots.csv: found an empty file"),
        ("x,y,z\n", "spots.csv: found a header and no points, expected at least one point."),
        ("x,y,z\n,,\n\n", "spots.csv: found a header and no points"),
        ("1,2,3\n4,5,6\n", 'spots.csv, line 1: found "1,2,3", expected a header'),
        ("# a\nx,y\n1,2\n", 'spots.csv, line 2: found the columns x,y, expected a column "z". Add'),
        ("x,y,zz\n1,2,3\n", 'expected a column "z". Rename the column "zz" to "z".'),
        ("x,y,z (ft)\n1,2,3\n", 'Rename the column "z (ft)" to "z".'),
        ("x,y,z,z\n1,2,3,4\n", 'spots.csv, line 1: found 2 columns "z", expected one.'),
        ("x,y,z\n1,2,five\n", f'spots.csv, line 2, column z: found "five", {LENGTH}'),
        ("x,y,z\n1,nan,3\n", f'spots.csv, line 2, column y: found "nan", {LENGTH}'),
        ("x,y,z\n1,-inf,3\n", f'spots.csv, line 2, column y: found "-inf", {LENGTH}'),
        ("x,y,z\n1_0,2,3\n", f'spots.csv, line 2, column x: found "1_0", {LENGTH}'),
        ("x,y,z\n1,2\n", f"spots.csv, line 2, column z: found nothing, {LENGTH}"),
        ("x,y,z\n1, ,3\n", f"spots.csv, line 2, column y: found nothing, {LENGTH}"),
        ("x,y,z\n1,5,2,5,100\n", "spots.csv, line 2: found 5 cells, expected 3, one for each"),
        (b"x,y,z,note\n1,2,3,caf\xe9\n", "spots.csv, line 2: found the byte 0xe9, which is not"),
        (codecs.BOM_UTF16_LE + b"x\x00,", "expected UTF-8 text"),
        ("x,y,z\n1,2,3\n4,5,6 furlongs\n", 'line 3, column z: found "6 furlongs"'),
        ('x,y,z\n1,2,"' + "9" * 200_000 + '"\n', "spots.csv, line 2: found field larger than"),
    ],
)
def test_what_is_wrong_gives_its_sentence(tmp_path, content, sentence):
    (only,) = sentences(tmp_path, content)
    assert sentence in only


def test_every_wrong_cell_is_told(tmp_path):
    said = sentences(tmp_path, "x,y,z\na,2,3\n1,b,3\n1,2,c\n1,2,3,4\n")
    assert [one.split(":")[0] for one in said] == [
        "spots.csv, line 5",
        "spots.csv, line 2, column x",
        "spots.csv, line 3, column y",
        "spots.csv, line 4, column z",
    ]


def test_a_file_of_nothing_but_errors_is_told_in_short(tmp_path):
    said = sentences(tmp_path, "x,y,z\n" + "1,2,wrong\n" * 1000)
    assert len(said) == MOST_PROBLEMS + 1
    assert said[-1] == "spots.csv: found 980 more cells or lines like these, expected none."


def test_a_scan_of_many_spots_is_read(tmp_path):
    rows = np.random.default_rng(7).uniform(0, 40, (100_000, 3)).round(3)
    lines = "\n".join(f"{x},{y},{z}" for x, y, z in rows.tolist())
    points = read(tmp_path, "x,y,z\n" + lines, "m")
    np.testing.assert_array_equal(points.values, rows)
    assert points.lines[-1] == 100_001


CELLS = st.sampled_from(
    ["1", " 2.5 ", "-3e1", "100.25", "1_000", "", "  ", "nan", "1e9", "2' 6", "x", '"7"', "7;8",
     "GND", " P_1", 'say "so"', "९",
     '"oak, near"', '"a ""b"""', '"open', '6" deep', "n" * 201, '"\u200b"', 'a\u200b']
)  # fmt: skip
PLAIN = st.sampled_from(["1", " 2.5 ", "-3e1", "100.25", "GND", "", " P_1"])


@settings(max_examples=300)
@given(
    header=st.permutations(["x", "y", "z", "id", "note", "hand"]),
    width=st.integers(3, 6),
    rows=st.lists(st.lists(CELLS | PLAIN, min_size=2, max_size=7), max_size=5),
    delimiter=st.sampled_from(",;\t"),
    blank=st.booleans(),
)
def test_the_quick_way_reads_what_the_slower_one_reads(
    tmp_path_factory, header, width, rows, delimiter, blank
):
    lines = [delimiter.join(row) for row in [header[:width], *rows]]
    content = ("\n\n" if blank else "\n").join(lines)
    folder = tmp_path_factory.mktemp("csv")

    def outcome():
        try:
            points = read(folder, content)
        except SiteError as refused:
            return str(refused)
        return points.values.tolist(), points.texts, points.lines, points.unread

    quick = outcome()
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(csvfile, "_scan", lambda *_: None)
        assert quick == outcome()


@pytest.mark.parametrize(
    "content",
    ["id,x,y,z\nP_1,1,2,3\nP_2,4,5,6\n", "x,y,z,code,note\n1,2,3,GND,\n\n# moved\n4,5,6,EP,wall\n",
     "no;z;y;x\n1;3;2;1\n2;6;5;4",
     'id,x,y,z,note\n"1",1,2,3,"by the oak, and ""low"""\n# moved\n2,4,5,"6", 2" deep'],
)  # fmt: skip
def test_plain_cells_with_codes_among_them_are_read_the_quick_way(tmp_path, monkeypatch, content):
    monkeypatch.setattr(csvfile, "_table", None)
    assert read(tmp_path, content, "m").values.tolist() == [[1, 2, 3], [4, 5, 6]]


@pytest.mark.parametrize(
    ("content", "unread", "sentence"),
    [("x,y,z\n1,2,3\n", (), None), ("x,y,z,,\n1,2,3,,\n", (), None),
     ("x,y,z,id,hrms\n1,2,3,a,0.02\n", ("hrms",), 'the column "hrms" of a.csv is not read.'),
     ("Hrms,x,y,z,codes\n1,1,2,3,GND\n", ("hrms", "codes"),
      'the columns "hrms" and "codes" of a.csv are not read; call "codes" code if it is that.'),
     ("x,y,z,id,ID\n1,2,3,a,b\n", ("id",), 'the column "id" of a.csv is not read.'),
     ("x,y,z,\n1,2,3,oak\n", ("",), "the column without a head of a.csv is not read.")],
)  # fmt: skip
@pytest.mark.parametrize("quick", [True, False])
def test_a_column_that_is_not_read_is_told(tmp_path, monkeypatch, content, unread, sentence, quick):
    if not quick:
        monkeypatch.setattr(csvfile, "_scan", lambda *_: None)
    points = read(tmp_path, content)
    assert points.unread == unread
    if sentence:
        assert not_read(points, "a.csv", TEXTS) == sentence


@pytest.mark.parametrize(
    ("content", "line"),
    [('x,y,z,note\n1,2,3,a\n4,5,6,"oak\n', 3), ('x,y,z,note\n1,2,3,"oak\n4,5,6,b\n', 2),
     ('x,y,z,"note\n1,2,3,a\n', 1)],
)  # fmt: skip
def test_a_quote_that_is_left_open_is_told_where_it_begins(tmp_path, content, line):
    with pytest.raises(SiteError, match=f"spots.csv, line {line}: found .*expected a quote that"):
        read(tmp_path, content)
