"""How a yard is measured into the page: in the sentences, and with the numbers, of the readers."""

import csv
import datetime
import io
import tomllib
from fractions import Fraction

import pytest
import tomlkit
from drive.served import copied
from make.plans.measured_in import NEW, asked, new_site, seen_of, told

import sample_sites
from grading.errors import SiteError
from grading.reading.site_edit import Edit, put
from grading.reading.site_file import read_site
from grading.reading.survey_edit import Settling, settle
from viz.desk.steps.ground import step
from viz.desk.survey.grid import checked, pasted
from viz.desk.survey.sheets import BOOK, HOLES, KINDS, MOST_ROWS, SPOTS, sheet_of
from viz.desk.written.document import Document, read_document, way_of

COLUMNS = ["x", "y", "z", "id", "code", "note"]


def texts_of_samples():
    return [
        (f"{name}/{file.name}", file)
        for name in sample_sites.names()
        for file in sorted(sample_sites.path(name).glob("*.csv"))
    ]


# ---- a file as a grid holds it


@pytest.mark.parametrize(("name", "file"), texts_of_samples(), ids=lambda each: str(each)[:40])
def test_a_file_is_put_back_as_it_was(name, file):
    text = file.read_text()
    first = next(line for line in text.splitlines() if line and not line.startswith("#"))
    kind = BOOK if first.startswith("point,") else HOLES if "depth" in first else SPOTS
    sheet = sheet_of(text, file.name, kind)
    assert "\n".join(line.raw for line in sheet.lines) + "\n" == text
    bare = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    assert [list(line.cells) for line in sheet.lines if line.cells] == [
        [cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(bare)))
    ]  # the csv module of the standard library is the other route
    numbered = text.splitlines()
    for line in sheet.lines:
        assert numbered[line.number - 1] == line.raw


def test_a_cell_that_goes_on_below_is_one_row_and_counts_its_lines():
    text = '# from the office\nx,y,z,note\n1,2,3,"by the\nfence"\n4,5,6,\n'
    sheet = sheet_of(text, "spots.csv", SPOTS)
    assert [line.number for line in sheet.lines] == [1, 2, 3, 5]
    assert sheet.rows == 2
    assert "\n".join(line.raw for line in sheet.lines) + "\n" == text


def test_an_empty_file_gets_the_header_of_its_kind_below_its_remarks():
    for kind in KINDS.values():
        sheet = sheet_of("# measured on Monday\n", "new.csv", kind)
        assert [line.raw for line in sheet.lines] == ["# measured on Monday", kind.header]
        assert sheet.rows == 0


def test_numbers_without_a_header_are_asked_for_one():
    with pytest.raises(SiteError, match=r"spots.csv, line 1: found numbers, expected a header"):
        sheet_of("1,2,3\n4,5,6\n", "spots.csv", SPOTS)


def test_more_rows_than_a_table_takes_are_counted_and_not_sent():
    rows = "".join(f"{k},{k},1\n" for k in range(MOST_ROWS + 1))
    record = sheet_of(f"x,y,z\n{rows}", "scan.csv", SPOTS).record()
    assert (record["rows"], record["short"], record["lines"]) == (MOST_ROWS + 1, False, [])


# ---- what the reader says of cells


@pytest.mark.parametrize(
    ("row", "column"),
    [("1,2,9q,", "z"), ("1,,99.2,", "y"), ("5' 13\",2,99,", "x"), ("1,2,1_000,", "z")],
)
def test_a_wrong_cell_is_told_in_the_sentence_of_the_command(tmp_path, row, column):
    site = copied("back-patio", tmp_path / "site")
    text = (site / "spots.csv").read_text() + row + "\n"
    found = checked(text, "spots.csv", SPOTS, "ft")["problems"]
    (site / "spots.csv").write_text(text)
    with pytest.raises(SiteError) as refused:
        read_site(site)
    assert [each["words"] for each in found] == [str(each) for each in refused.value.problems]
    assert [(each["line"], each["column"]) for each in found] == [
        (len(text.splitlines()), COLUMNS.index(column))
    ]


def test_spots_that_can_be_read_are_told_by_count_and_extent():
    text = "x,y,z\n0,0,100\n12.5,8' 6\",99\n-3,2,99.25\n"
    found = checked(text, "spots.csv", SPOTS, "ft")
    assert found["problems"] == []
    assert found["words"] == "3 spots: x -3 to 12.5, y 0 to 8.5, levels 99 to 100 ft"


def test_a_depth_below_nothing_is_refused():
    found = checked("x,y,depth\n1,2,-3 in\n", "holes.csv", HOLES, "ft")["problems"]
    assert [(each["line"], each["column"]) for each in found] == [(2, 2)]
    assert "a depth of zero or more" in found[0]["words"]


@pytest.mark.parametrize(
    ("text", "first", "rows"),
    [
        ("Easting\tNorthing\tElev\tDesc\n1.5\t2\t99.1\tlawn\n", 0,
         [["1.5", "2", "99.1", None, "lawn", None]]),
        ("1.5, 2, 99' 3 1/2\", 7\n3,4,5\n", 0,
         [["1.5", "2", "99' 3 1/2\"", "7", None, None], ["3", "4", "5", None, None, None]]),
        ("99.1\n99.2\n", 2, [[None, None, "99.1", None, None, None],
                             [None, None, "99.2", None, None, None]]),
        ("1,5;2,25;99,1\n", 0, [["1.5", "2.25", "99.1", None, None, None]]),
        ("\"27' 1 1/2\"\"\"\t3\t9\n", 0, [["27' 1 1/2\"", "3", "9", None, None, None]]),
        ("z,y,x\n9,2,1\n", 3, [["1", "2", "9", None, None, None]]),
    ],
)  # fmt: skip
def test_a_block_is_pasted_as_people_copy_it(text, first, rows):
    assert pasted(text, SPOTS, COLUMNS, first)["rows"] == rows


def test_a_pasted_column_of_no_use_is_told():
    found = pasted("x\ty\tz\tcrew\n1\t2\t3\tNed\n", SPOTS, COLUMNS, 0)
    assert found["words"] == "1 row: columns taken by their names; passed over: crew"


# ---- the level book

ROD = "point,bs,is,fs,x,y\nsill,4 3 1/4,,,,\n1,,4 6 1/8,,0,10\n2,,4 9,,12,10\nsill,,,4 3 3/8,,\n"


def test_a_book_is_reduced_before_the_site_names_it(tmp_path):
    seen = seen_of(new_site(tmp_path / "new"))
    mark = {"name": "sill", "z": 100}
    found = asked(seen, "levels", name="levels.csv", text=ROD, rod="ft-in", benchmark=mark)
    assert found["problems"] == []
    height = 100 + Fraction(4) + Fraction(13, 48)  # 4' 3 1/4": height of instrument, by hand
    rows = found["rows"]
    assert rows[2]["instrument"] == f"{float(height):.3f}"
    assert rows[3]["elevation"] == f"{float(height - Fraction(4) - Fraction(49, 96)):.3f}"
    assert rows[4]["elevation"] == f"{float(height - Fraction(4) - Fraction(3, 4)):.3f}"
    off, read = Fraction(1, 96), 2  # 1/8 in low: the height is the mean of two readings of it
    assert found["closes"][0]["line"] == 5
    assert "misclosure -1/8 in over 1 set-up" in found["closes"][0]["words"]
    adjusted = float(height - Fraction(4) - Fraction(49, 96) + off / read)
    assert rows[3]["adjusted"] == f"{adjusted:.3f}"
    assert found["points"] == 2


def test_a_book_says_what_the_command_says_of_it(tmp_path):
    site = copied("booked-yard", tmp_path / "site")
    text = (site / "levels.csv").read_text().replace("2,,3 8 7/8", "2,,3 13 7/8")
    found = asked(seen_of(site), "check", name="levels.csv", kind="book", text=text)
    (site / "levels.csv").write_text(text)
    with pytest.raises(SiteError) as refused:
        read_site(site)
    assert [each["words"] for each in found["problems"]] == [
        str(each) for each in refused.value.problems
    ]
    assert (found["problems"][0]["line"], found["problems"][0]["column"]) == (7, 2)
    assert found["rows"] == {}


def test_a_tie_that_is_off_is_told_while_it_is_booked(tmp_path):
    site = copied("booked-yard", tmp_path / "site")
    text = (site / "levels.csv").read_text().replace("7' 3\",lawn", "9' 3\",lawn")
    found = asked(seen_of(site), "levels", name="levels.csv", text=text)
    fails = [each["text"] for each in found["says"] if each["tone"] == "fails"]
    assert len(fails) == 1
    assert fails[0].startswith("24: one of these three ties (H1, H2, A) is off")


# ---- shots that stand out


def wrong_by_a_foot(folder):
    site = copied("back-patio", folder)
    file = site / "spots.csv"
    text = file.read_text()
    assert text.count("13.3,4.2,99.56,16") == 1
    file.write_text(text.replace("13.3,4.2,99.56,16", "13.3,4.2,98.56,16"))
    return site


@pytest.mark.parametrize(
    ("option", "words"), [("--keep", "16"), ("--without", "16"), ("--shot", "16=99.55")]
)
def test_a_shot_is_settled_as_the_command_settles_it(tmp_path, option, words):
    site = wrong_by_a_foot(tmp_path / "page")
    seen = seen_of(site)
    answer = asked(seen, "settle", option=option, words=words, called="spot 16")
    assert answer["problems"] == []
    apply = answer["apply"]
    document = tomllib.loads((site / "site.toml").read_text())
    put(document, Edit(way_of(apply["at"]), apply["to"]))
    (site / "site.toml").write_text(tomlkit.dumps(document))
    by_hand = wrong_by_a_foot(tmp_path / "command")
    settle(by_hand, [Settling(option, words)], datetime.date.today())
    page, command = read_site(site), read_site(by_hand)
    assert page.settled == command.settled
    assert page.spots.xyz.tolist() == command.spots.xyz.tolist()
    assert page.spots.read_again == command.spots.read_again


def test_settling_again_replaces_the_older_word(tmp_path):
    site = wrong_by_a_foot(tmp_path / "page")
    settle(site, [Settling("--keep", "9"), Settling("--keep", "16")], datetime.date(2026, 5, 1))
    apply = asked(seen_of(site), "settle", option="--without", words="16")["apply"]
    assert apply["at"] == "survey/settled/1"


def test_no_level_is_refused_in_words(tmp_path):
    seen = seen_of(wrong_by_a_foot(tmp_path / "page"))
    answer = asked(seen, "settle", option="--shot", words="16=knee high", called="spot 16")
    assert "apply" not in answer
    assert answer["problems"][0].startswith('spot 16: found "knee high", expected a length')


def test_a_shot_that_stands_out_is_asked_about(tmp_path):
    found = step(seen_of(wrong_by_a_foot(tmp_path / "page")))
    assert (found.answer, found.state) == ("55 spots, 1 stands out", "fails")
    blocks = found.opened()["blocks"]
    assert blocks[0]["text"].startswith("spots.csv, line 19: spot 16 is 1.00 ft below")
    levels = [each["changes"][0]["to"].get("z") for each in told(blocks, "offer")]
    assert levels == [99.56, None, None]
    ways = [each["changes"][0]["to"]["as"] for each in told(blocks, "offer")]
    assert ways == ["read again", "read again", "left out"]


def test_a_row_is_marked_with_what_the_whole_says_of_it(tmp_path):
    blocks = step(seen_of(wrong_by_a_foot(tmp_path / "page"))).opened()["blocks"]
    grid = next(each["data"] for each in told(blocks, "own") if each["module"] == "ground/spots")
    assert [(each["line"], each["column"], each["tone"]) for each in grid["marked"]] == [
        (19, 2, "look")
    ]
    assert "spot 16 is 1.00 ft below" in grid["marked"][0]["words"]


def test_a_shot_that_was_settled_is_marked_in_its_row(tmp_path):
    """Read again, kept or left out: the table that it stands in says what became of it."""
    site = wrong_by_a_foot(tmp_path / "page")
    day = datetime.date(2026, 5, 1)
    settle(site, [Settling("--shot", "16=99.56"), Settling("--without", "9")], day)
    for seen in (seen_of(site), seen_of(site, whole=True)):
        blocks = step(seen).opened()["blocks"]
        own = [each["data"] for each in told(blocks, "own") if each["module"] == "ground/spots"]
        marks = own[0]["marked"]
        done = {each["line"]: each["words"] for each in marks if each["tone"] == "settled"}
        assert done[19].startswith("Spot 16 ")
        assert done[19].endswith("again on 2026-05-01: 99.56, not 98.56")
        assert done[12].endswith("was left out on 2026-05-01")
        assert len(done) == len(marks) == 2
        (items,) = [each for each in told(blocks, "items") if each["label"] == "Settled shots"]
        assert {each["summary"] for each in items["items"]} == {
            words[:1].lower() + words[1:] for words in done.values()
        }


def test_a_hole_of_no_area_is_marked_in_its_row(tmp_path):
    site = copied("back-patio", tmp_path / "site")
    file = site / "site.toml"
    file.write_text(file.read_text().replace('"2 in"       # topsoil', '"holes.csv" # topsoil'))
    (site / "holes.csv").write_text("# dug in May\nx,y,depth\n5,5,2 in\n300,8,4 in\n")
    blocks = step(seen_of(site)).opened()["blocks"]
    grids = [each["data"] for each in told(blocks, "own") if each["module"] == "ground/spots"]
    marked = next(each["marked"] for each in grids if each["name"] == "holes.csv")
    assert [(each["line"], each["tone"]) for each in marked] == [(4, "fails")]
    assert "names no area" in marked[0]["words"]


def test_a_shot_stands_out_before_anything_is_drawn(tmp_path):
    text = (wrong_by_a_foot(tmp_path / "page") / "spots.csv").read_text()
    site = new_site(tmp_path / "new", site=f'{NEW}spots = "spots.csv"\n', spots=text)
    seen = seen_of(site)
    assert seen.site is None
    assert step(seen).answer == "55 spots, 1 stands out"
    apply = asked(seen, "settle", option="--without", words="16")["apply"]
    assert apply["at"] == "survey/settled/0"


# ---- the step


def test_an_empty_yard_can_begin(tmp_path):
    found = step(seen_of(new_site(tmp_path / "new")))
    assert (found.answer, found.state) == ("nothing measured yet", "to do")
    modules = [each["module"] for each in told(found.opened()["blocks"], "own")]
    assert {"ground/spots", "ground/book", "ground/bring"} <= set(modules)
    assert not [each for each in told(found.opened()["blocks"], "say") if each["tone"] == "fails"]


def test_a_book_that_is_only_begun_has_nothing_wrong_with_it(tmp_path):
    book = 'levels = [{file = "levels.csv", rod = "ft-in"}]\nbenchmark = [{name = "sill", z = 100}]'
    site = new_site(tmp_path / "new", site=f"{NEW}{book}\n", levels="point,bs\nsill,4 3 1/4\n")
    found = step(seen_of(site))
    assert (found.answer, found.state) == ("only begun", "to do")


def test_too_few_spots_to_check_one_another_are_not_called_fit(tmp_path):
    spots = "x,y,z\n0,0,100\n20,0,100\n20,15,99\n0,15,99\n"
    site = new_site(tmp_path / "new", site=f'{NEW}spots = "spots.csv"\n', spots=spots)
    found = step(seen_of(site))
    assert (found.answer, found.state) == ("4 spots, too few to check one another", "look")


@pytest.mark.parametrize(("name", "spots"), [("back-patio", 55), ("booked-yard", 30)])
def test_a_sound_survey_is_settled_and_says_how_well_the_ground_is_known(name, spots):
    seen = seen_of(sample_sites.path(name), whole=True)
    found = step(seen)
    assert (found.answer, found.state) == (f"{spots} spots, all fit", "settled")
    says = [each["text"] for each in told(found.opened()["blocks"], "say")]
    check = next(each for each in seen.plan.area_checks if each.rule == "survey")
    # Of the check one reads a sentence here, with its full stop.
    assert any(each.lower() == f"{check.text.lower()}." for each in says)
    assert any(each.startswith(f"Known from {spots} spots") for each in says)


def test_a_long_file_is_told_with_its_count(tmp_path):
    site = copied("back-patio", tmp_path / "site")
    document = read_document(site)
    kept = Document({k: v for k, v in document.texts.items() if k != "spots.csv"})
    blocks = step(seen_of(site, kept)).opened()["blocks"]
    grid = next(each for each in told(blocks, "own") if each["module"] == "ground/spots")
    assert grid["data"]["told"].startswith("spots.csv holds 55 spots: too many for a table")


def test_a_file_of_too_many_rows_for_a_table_is_told_with_its_count(tmp_path):
    rows = "".join(f"{k % 100},{k // 100},{99 + (k * 7 % 11) / 100}\n" for k in range(6000))
    head = f'{NEW}spots = "spots.csv"\n'
    site = new_site(tmp_path / "new", site=head, spots=f"x,y,z\n{rows}")
    found = step(seen_of(site))
    assert found.answer == "6,000 spots, all fit"
    grid = next(each for each in told(found.opened()["blocks"], "own") if "told" in each["data"])
    assert grid["data"]["told"].startswith("spots.csv holds 6,000 spots: too many for a table")


def test_holes_are_a_grid_of_their_own_with_their_caution(tmp_path):
    site = copied("back-patio", tmp_path / "site")
    file = site / "site.toml"
    file.write_text(file.read_text().replace('"2 in"       # topsoil', '"holes.csv" # topsoil'))
    (site / "holes.csv").write_text("x,y,depth\n5,5,2 in\n15,8,4 in\n")
    blocks = step(seen_of(site)).opened()["blocks"]
    grids = [each["data"] for each in told(blocks, "own") if each["module"] == "ground/spots"]
    assert ("holes.csv", "holes") in [(each["name"], each["kind"]) for each in grids]
    assert any("utilities located" in each["text"] for each in told(blocks, "say"))


def test_the_two_peg_test_of_the_level_is_typed_whole_and_told(tmp_path):
    """A question of a course: .05 m in 100 m, as in tests/published/levels/test_levelling.py."""
    site = copied("booked-yard", tmp_path / "site")
    file = site / "site.toml"
    test = {"readings": [["1.260", "1.500"], ["1.11", "1.39"]], "distances": [[40, 40], [10, 90]]}
    for seen, held, words in (
        (seen_of(site), [["", ""], ["", ""]], None),
        (
            with_test(site, file, test),
            test["readings"],
            "The level reads 19/32 in too high in 100 ft",
        ),
    ):
        blocks = step(seen).opened()["blocks"]
        forms = [each["data"] for each in told(blocks, "own") if each["module"] == "ground/forms"]
        (form,) = [each for each in forms if each["form"] == "pegs"]
        assert form["at"] == "levels/0/two_peg"
        assert form["readings"] == held
        assert bool(form["gone"]) == (words is not None)
        says = [each["text"] for each in told(blocks, "say")]
        assert any("as the two pegs told" in each for each in says) == (words is not None)
        assert words is None or any(each.startswith(words) for each in says)


def with_test(site, file, test):
    """Return what is seen once the form has written its test, as the page writes it."""
    document = tomlkit.parse(file.read_text())
    put(document, Edit(way_of("levels/0/rod"), "ft"))
    put(document, Edit(way_of("levels/0/two_peg"), test))
    file.write_text(tomlkit.dumps(document))
    return seen_of(site)
