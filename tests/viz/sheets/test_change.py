"""The paper of a change: what was found, what it changes, what stays, and its number."""

import re

import pypdfium2
import pytest
from compared import folder

from viz import cli


def words_of(path):
    document = pypdfium2.PdfDocument(path)
    pages = [page.get_textpage().get_text_bounded() for page in document]
    return len(pages), " ".join(" ".join(pages).split())


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    root = tmp_path_factory.mktemp("change")
    before, after = folder(root / "a"), folder(root / "b", organics="300 mm")
    out = root / "out"
    status = cli.main(["compare", str(before), str(after), "--sign", "--out", str(out)])
    return root, status, out


def test_one_page_says_what_was_found_and_what_stays(made):
    _, status, out = made
    assert status in (0, 1)
    pages, words = words_of(out / "change-1.pdf")
    assert pages == 1
    assert "Topsoil under terrace is 300 mm deep on average, not 100 mm." in words
    assert "What you see does not change." in words
    assert "Step down at garden door 70 mm 70 mm none" in words
    assert "For the homeowner For the crew Date" in words


def test_no_price_is_told_unless_the_crew_says_so(made):
    _, _, out = made
    _, words = words_of(out / "change-1.pdf")
    assert "to the price, filled in by the crew" in words
    assert not re.search(r"\$\s?\d", words)
    assert "%" not in words


def test_the_next_change_has_the_next_number_and_the_first_stays(made):
    root, _, out = made
    first = (out / "change-1.pdf").read_bytes()
    cli.main(["compare", str(root / "a"), str(root / "b"), "--sign", "--out", str(out)])
    assert (out / "change-1.pdf").read_bytes() == first
    assert "Change 2 to the job" in words_of(out / "change-2.pdf")[1]


def test_a_plan_that_fails_is_not_for_signature(tmp_path):
    before = folder(tmp_path / "a")
    after = folder(
        tmp_path / "b",
        area='base = "dense"\nplane = {at = [0, 0], z = 10.0, fall = "2 %", bearing = 180}',
    )
    out = tmp_path / "out"
    assert cli.main(["compare", str(before), str(after), "--sign", "--out", str(out)]) == 1
    assert "NOT FOR SIGNATURE" in words_of(out / "change-1.pdf")[1]


def test_a_folder_for_no_paper_is_refused(made, capsys):
    root, _, out = made
    one = str(root / "a")
    assert cli.main(["compare", one, one, "--out", str(out)]) == 2
    assert "--out" in capsys.readouterr().err
