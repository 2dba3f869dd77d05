"""The paper of a change: what was found, what it changes, what stays, and its number."""

import json
import re

import pypdfium2
import pytest
from make.sites.compared import folder

import grading
from grading.crew.model import default_crew
from grading.records.seal import seal_of
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
    asked = ["compare", str(root / "a"), str(root / "b"), "--sign", "--out", str(out)]
    cli.main(asked)
    assert not (out / "change-2.pdf").exists(), "asked for once more it is the same change"
    file = root / "b" / "site.toml"
    file.write_text(file.read_text().replace("300 mm", "200 mm"))
    cli.main(asked)
    assert (out / "change-1.pdf").read_bytes() == first
    assert "Change 2 to the job" in words_of(out / "change-2.pdf")[1]


STANDING = """
[[feature]]
kind = "seat wall"
name = "bench"
at = [{x}, 2.7]
size = ["1.2 m", "400 mm"]
bearing = 90
height = "{height}"
[[outfall]]
kind = "drain"
name = "channel"
existing = true
at = [[{drain}, 1.5], [1.5, 1.5]]
[[downspout]]
at = [{spout}, 0.05]
roof = "20 m2"
"""


def test_what_moves_or_takes_another_form_is_named_and_nothing_else_is_said_to_stay(tmp_path):
    """A tape between the two places tells how far: 0.9 m along the edge, 1 m of the channel."""
    agreed = {"x": 1.0, "height": "450 mm", "drain": -1.5, "spout": 3.0}
    written = [agreed, agreed | {"x": 0.1, "height": "500 mm", "drain": -0.5}]
    doors = "at = [0, 0]", "at = [0.5, 0]"
    folders = [folder(tmp_path / str(k), more=STANDING.format(**each))
               for k, each in enumerate(written)]  # fmt: skip
    file = folders[1] / "site.toml"
    file.write_text(file.read_text().replace(*doors, 1), encoding="utf-8")
    cli.main(["compare", *map(str, folders), "--sign", "--out", str(tmp_path / "out")])
    _, words = words_of(tmp_path / "out" / "change-1.pdf")
    assert "Bench: moved 0.9 m; height now 500 mm, not 450 mm." in words
    assert "Channel: its outline changes by up to 1 m." in words
    assert "Garden door: moved 0.5 m." in words
    assert "ownspout" not in words
    assert "does not change" not in words
    assert "Nothing that is counted changes" not in words


def test_a_plan_that_fails_is_not_for_signature(tmp_path):
    before = folder(tmp_path / "a")
    after = folder(
        tmp_path / "b",
        area='base = "dense"\nplane = {at = [0, 0], z = 10.0, fall = "2 %", bearing = 180}',
    )
    out = tmp_path / "out"
    assert cli.main(["compare", str(before), str(after), "--sign", "--out", str(out)]) == 1
    words = words_of(out / "change-1.pdf")[1]
    assert "NOT FOR SIGNATURE" in words
    assert "No lines to sign yet" in words
    assert "For the crew" not in words


def test_a_folder_for_no_paper_is_refused(made, capsys):
    root, _, out = made
    one = str(root / "a")
    assert cli.main(["compare", one, one, "--out", str(out)]) == 2
    assert "--out" in capsys.readouterr().err


PRICED = '[price]\nmargin = "30 %"\ntax = "7 %"\ntax_on = "total"\ndeposit_most = "none"\n'


def test_a_crew_that_makes_prices_has_the_price_of_the_change_on_it(tmp_path, capsys):
    before, after = folder(tmp_path / "a"), folder(tmp_path / "b", organics="300 mm")
    own = "".join(
        f'{name} = "{entry.written}"\n'
        for name, entry in default_crew().prices.items()
        if " of " not in name
    )
    for each in (before, after):
        (each / "crew.toml").write_text(f"{PRICED}[prices]\n{own}", encoding="utf-8")
    out = tmp_path / "out"
    words = ["compare", str(before), str(after), "--sign", "--out", str(out), "--json"]
    assert cli.main(words) == 0
    figures = json.loads(capsys.readouterr().out)["figures"]
    price, cost = (
        next(one for one in figures if one["key"] == key and one["area"] is None)
        for key in ("price", "cost")
    )
    assert price["more"] > cost["more"] > 0
    _, words = words_of(out / "change-1.pdf")
    assert f"+ ${price['more']:,.0f}" in words
    assert f"it becomes ${price['after']:,.0f}, tax and all" in words
    assert f"${price['before']:,.0f} ${price['after']:,.0f} + ${price['more']:,.0f}" in words
    assert "The difference is added to the last payment" in words
    number = seal_of(grading.plan(grading.read_site(before)))[:6]
    assert f"the prices that were agreed for plan {number}." in words
    assert "NOT FOR SIGNATURE" not in words
    assert f"{cost['after']:,.0f}" not in words
    assert "filled in by the crew" not in words


def test_a_change_priced_by_figures_that_are_built_in_is_not_for_signature(tmp_path):
    before, after = folder(tmp_path / "a"), folder(tmp_path / "b", organics="300 mm")
    for each in (before, after):
        (each / "crew.toml").write_text(PRICED, encoding="utf-8")
    cli.main(["compare", str(before), str(after), "--sign", "--out", str(tmp_path / "out")])
    assert (
        "NOT FOR SIGNATURE: made of prices that are built in"
        in words_of(tmp_path / "out" / "change-1.pdf")[1]
    )


def test_the_cost_to_the_crew_is_never_on_a_paper_to_sign(tmp_path):
    before, after = folder(tmp_path / "a"), folder(tmp_path / "b", organics="300 mm")
    for each in (before, after):
        (each / "crew.toml").write_text("[crew]\nshow_prices = true\n", encoding="utf-8")
    cli.main(["compare", str(before), str(after), "--sign", "--out", str(tmp_path / "out")])
    _, words = words_of(tmp_path / "out" / "change-1.pdf")
    assert not re.search(r"\$\s?\d", words)
    assert "to the price, filled in by the crew" in words
