"""What is larger, longer, deeper or stranger than any site is: each has its sentence, none a crash.

Nobody publishes how large a site may be: every bound is common practice, no source.
"""

import os
import resource

import pytest
from make.sites.site_folder import AREA, HEAD, SPOTS, write_site

from grading.crew.reading import crew_of
from grading.errors import MOST_TOLD, Problem, SiteError
from grading.files import csv_rows as csvrows
from grading.files import toml_text as tomlfile
from grading.reading.site_file import read_site
from grading.signs import is_visible, visible

BIDI, BELL, ESCAPE, NUL, C1 = "\u202e", "\a", "\x1b", "\0", "\x9b"


def said(folder):
    """Return the message that reading a folder gives, which must fit a screen or two."""
    with pytest.raises(SiteError) as refused:
        read_site(folder)
    message = str(refused.value)
    assert len(message.encode()) < 4096
    assert is_visible(message.replace("\n", ""))
    return message


def test_a_site_file_of_many_megabytes_is_not_read_whole(tmp_path):
    folder = write_site(tmp_path)
    with (folder / "site.toml").open("r+b") as file:
        file.truncate(3_000_000_000)  # a hole: it takes no room on the disk
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    message = said(folder)
    assert message == (
        "site.toml: found a file of 3.0 GB, expected at most 2 MB."
        " Write lists of points into a csv file."
    )
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000  # kB


def test_spots_of_gigabytes_are_not_read_whole(tmp_path):
    folder = write_site(tmp_path)
    os.truncate(folder / "spots.csv", 3_000_000_000)
    assert said(folder) == (
        "spots.csv: found a file of 3.0 GB, expected at most 64 MB."
        " Thin the scan to one point every few inches."
    )


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("x = " + "1" * 5000, "site.toml, line 4: found a number of 5000 digits, expected a numb"),
        ("[ground]\norganics = " + "7" * 4999, "site.toml, line 5: found a number of 4999 digits"),
        (".".join("a" * 3000) + " = 1", "keys nested too deep, expected the tables of a site."),
        ("x = " + "[" * 100 + "]" * 100, "nested too deep"),
        ("x = [" + "1," * 9000 + "]", "site.toml, key x: found 9000 entries, expected at most 200"),
        ("k" * 1_000_000 + " = 1", "found the key `kkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkk"),
        ("[limits]\n" + "k" * 100_000 + " = 1", "found the key `kkkkkkkkk"),
        ("[ground]\n" + "k" * 100_000 + " = 1", "found the key `kkkkkkkkk"),
        ('"a\\u001b[31m\\u202eb" = 1', "found the key `a\\x1b[31m\\u202eb`"),
        ('[ground]\nsoil = "a\\u001b[31m\\u0000\\u0007\\u009b\\u202eb"', '"a\\x1b[31m\\x00\\x07'),
    ],
    ids=[f"case {number}" for number in range(10)],
)
def test_what_no_site_holds_has_a_short_sentence(tmp_path, text, sentence):
    assert sentence in said(write_site(tmp_path, HEAD + text + "\n"))


def test_a_name_of_megabytes_is_refused(tmp_path):
    text = HEAD + AREA.replace('"patio"', f'"{"p" * 1_500_000}"')
    assert said(write_site(tmp_path, text)) == (
        "site.toml, key area[1].name: found a text of 1500000 letters, expected at most 2000."
    )
    text = HEAD + AREA.replace('"patio"', f'"{"p" * 121}"')
    assert said(write_site(tmp_path, text)) == (
        "site.toml, key area[1].name: found 121 letters, expected a name of at most 120 letters."
    )


def test_a_base_of_a_thousand_layers_is_refused(tmp_path):
    layer = '{name = "stone", thickness = "1 in"},'
    text = f'{HEAD}{AREA}[[base]]\nname = "b"\nlayers = [{layer * 1000}]\n'
    assert said(write_site(tmp_path, text)) == (
        "site.toml, key base[1].layers: found 1000 layers, expected at most 12 layers."
    )


def test_no_more_problems_are_told_than_a_person_mends_at_a_time(tmp_path):
    text = HEAD + AREA + "[[door]]\nat = [1, 0]\n" * 300
    with pytest.raises(SiteError) as refused:
        read_site(write_site(tmp_path, text))
    lines = str(refused.value).splitlines()
    assert len(refused.value.problems) == 300
    assert len(lines) == MOST_TOLD + 1
    assert lines[-1] == "and 280 more like these: mend these first, and read the site again"


def test_long_problems_are_told_until_the_message_is_full():
    error = SiteError([Problem("here", "x" * 10**6, "y" * 10**6, "z" * 10**6)] * 30)
    assert len(str(error)) < 4096
    assert str(error).endswith("more like these: mend these first, and read the site again")


# How the signs are called is the Unicode standard's: from memory.
@pytest.mark.parametrize("sign", [ESCAPE, NUL, BELL, C1, BIDI, "\u2066", "\u200b"])
def test_what_controls_a_terminal_is_in_no_name_and_no_message(tmp_path, sign):
    written = f"a\\u{ord(sign):04x}b"
    text = HEAD.replace("Alder Row", written) + AREA
    assert "key name: found" in said(write_site(tmp_path, text))
    with pytest.raises(SiteError, match="a sign such as"):
        crew_of({"currency": f"{sign}$"}, "ft")
    spots = SPOTS.replace("GND", f"G{sign}D", 1)
    if sign != NUL:
        assert 'spots.csv, line 2, column code: found "G' in said(
            write_site(tmp_path, HEAD + AREA, spots=spots)
        )


@pytest.mark.parametrize("name", ["حیاط می\u200cشود", "\U0001f468\u200d\U0001f469\u200d\U0001f467"])
def test_joiners_of_letters_and_of_pictures_are_part_of_a_name(tmp_path, name):
    text = HEAD.replace("Alder Row", name) + AREA
    assert read_site(write_site(tmp_path, text)).name == name


def test_a_sign_that_controls_is_told_by_its_number():
    assert visible(f"a{ESCAPE}[2J{C1}{BIDI}\U000e0001é", "\n") == "a\\x1b[2J\\x9b\\u202e\\ue0001é"
    assert visible("a\nb\tc", "\n\t") == "a\nb\tc"


@pytest.mark.parametrize(
    ("line", "mended"),
    [
        ("sill = 100' 0\"", 'sill = "100\' 0\\""'),
        ("sill = 100' 7 13/16\"", 'sill = "100\' 7 13/16\\""'),
        ("sill = 100 ft", 'sill = "100 ft"'),
        ("step = [1 in, 7 3/4 in]", 'step = ["1 in", "7 3/4 in"]'),
        ('step = ["1 in", 7 3/4 in]', 'step = ["1 in", "7 3/4 in"]'),
    ],
)
def test_a_size_without_quotes_is_told_with_the_line_mended(tmp_path, line, mended):
    message = said(write_site(tmp_path, f"{HEAD}{AREA}[[door]]\nat = [12, 0]\n{line}\n"))
    assert message.startswith("site.toml, line 9: found `")
    assert message.endswith(f", expected quotes round a value that has a unit. Write {mended}")
    # The line as mended is read.
    sill = "" if "sill" in mended else "sill = 100.65\n"
    text = f"{HEAD}{AREA}[[door]]\nat = [12, 0]\n{sill}{mended}\n"
    assert read_site(write_site(tmp_path, text)).doors


def test_a_fault_of_another_kind_is_not_put_down_to_quotes(tmp_path):
    for line in ("x = 1 2", "x = ", "x = 1e5 3", "= 3", 'x = "a" "b"', "5 ft"):
        message = said(write_site(tmp_path, f"{HEAD}{line}\n"))
        assert "expected toml" in message


@pytest.mark.parametrize(
    "header",
    ["E,N,Elev", "Easting,Northing,Elevation", "east,north,level", "x,y,elev", "P,E,N,Z,D"],
)
def test_the_headers_of_data_collectors_are_known(tmp_path, header):
    rows = SPOTS.replace('"by the fence, low"', "low").splitlines()[1:]
    cut = [row.split(",")[:3] for row in rows]
    if header.startswith("P"):
        cut = [[f"s{place}", *row, "GND"] for place, row in enumerate(cut)]
    spots = "\n".join([header, *map(",".join, cut)])
    other = read_site(write_site(tmp_path / "other", spots=spots)).spots
    plain = read_site(write_site(tmp_path / "plain")).spots
    assert (other.xyz == plain.xyz).all()
    if header.startswith("P"):
        assert other.ids[0] == "s0"
        assert other.codes[0] == "GND"


def test_of_two_columns_that_could_be_meant_none_is_taken(tmp_path):
    message = said(write_site(tmp_path, spots="x,y,elev,level\n1,2,3,4\n"))
    assert 'expected a column "z"' in message


def test_readings_of_a_staff_are_no_elevations(tmp_path):
    message = said(write_site(tmp_path, spots="x,y,rod\n1,2,5.2\n"))
    assert message == (
        'spots.csv, line 1: found the columns x,y,rod, expected a column "z". The column "rod" '
        'tells how far below the instrument a spot is: add a column "z" with the height of the '
        "instrument less that."
    )


def test_limits_are_those_that_are_told():
    assert (tomlfile.LARGEST_FILE, csvrows.LARGEST_FILE) == (2_000_000, 64_000_000)
