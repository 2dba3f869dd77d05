"""The papers of a price: the quote holds no cost, the crew's page all of it, and both the JSON."""

from __future__ import annotations

import json
import re

import pypdfium2
import pytest
from make.sites.compared import folder

import grading
from grading.crew.model import default_crew
from grading.price.model import price_of
from grading.records.seal import seal_of
from viz import cli
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.changes import changes_told

LEAST = '[price]\nmargin = "30 %"\noverhead = "18 %"\ntax = "none"\ndeposit_most = ["10 %", 400]\n'
FILLED = """address = "14 Invented Lane"
licence = "HIC 00-0000"
insurance = "none"
care = "2 years"
terms = "terms.txt"
notice = "notice.txt"
disputes = "none"
cancel = 5
extra = [{what = "old concrete broken out", each = "ft2", price = 14}]
[crew]
name = "Ridge Row Pavers"
phone = "555 0177"
[prices]
"""
OWN = "".join(
    f'{name} = "{entry.written}"\n'
    for name, entry in default_crew().prices.items()
    if " of " not in name
)
TERMS = "We keep #let x = 1 and *stars* as they are.\n\nA second paragraph."


def words_of(path):
    document = pypdfium2.PdfDocument(path)
    pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    return pages


def site_of(place, crew, **changed):
    made = folder(place, **changed)
    (made / "terms.txt").write_text(TERMS, encoding="utf-8")
    (made / "notice.txt").write_text("You may cancel, the law says.", encoding="utf-8")
    if crew is not None:
        (made / "crew.toml").write_text(crew, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def signed(tmp_path_factory):
    """A crew that filled everything in: the folder, its papers and what was printed as JSON."""
    root = tmp_path_factory.mktemp("signed")
    site = site_of(root / "a", LEAST + FILLED + OWN)
    words = ["quote", str(site), "--date", "2027-05-20", "--number", "27-014"]
    assert cli.main([*words, "--out", str(root / "out")]) == 0
    return root, site


@pytest.fixture(scope="module")
def told(signed):
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        cli.main(["quote", str(signed[1]), "--json", "--date", "2027-05-20", "--number", "27-014"])
    return json.loads(out.getvalue())


def test_the_quote_holds_price_and_no_cost(signed, told):
    page, _ = words_of(signed[0] / "out" / "quote.pdf")
    text = " ".join(words_of(signed[0] / "out" / "quote.pdf"))
    assert "Quote 27-014" in page
    assert "20 May 2027, good for 30 days: until 19 June 2027" in page
    assert f"${told['total']:,}" in page
    for each in told["options"]:
        assert f"${abs(each['more']):,}" in page
    sums = told["sums"]
    hidden = [sums[key] for key in ("cost", "margin", "overhead", "contingency")]
    hidden += [sums["direct"][key] for key in ("material", "haul", "hours", "total")]
    hidden += [each["cost"] for each in told["options"]]
    for amount in hidden:
        assert f"{amount:,.0f}" not in re.findall(r"[\d,]+", text) or amount < 1
    for word in ("margin", "overhead", "markup", "contingency", "cost", "30 %", "18 %"):
        assert word not in text.lower()


def test_every_figure_of_money_on_the_quote_is_one_of_the_json(signed, told):
    text = " ".join(words_of(signed[0] / "out" / "quote.pdf"))
    known = {f"{told[key]:,}" for key in ("price", "total")}
    known |= {f"{line['price']:,}" for line in told["lines"]}
    known |= {f"{abs(each['more']):,}" for each in told["options"]}
    known |= {f"{each['amount']:,.0f}" for each in told["payments"]}
    known |= {f"{each['price']:,.2f}" for each in told["allowances"]}
    known |= {f"{each['price']:,.2f}" for each in told["extra"]}
    ground = told["ground"]
    known |= {f"{abs(each['price']):,.0f}" for each in ground["deeper"]}
    known |= {f"{ground['by_volume']:,.0f}", f"{ground['hour'] * 3600:,.0f}"}
    found = {each.rstrip(".,") for each in re.findall(r"\$([\d,.]+)", text)}
    assert found
    assert found <= known


def test_it_can_be_signed_when_all_is_filled_in(signed):
    page, terms = words_of(signed[0] / "out" / "quote.pdf")
    assert "Not for signature" not in page
    assert "I accept this price" in page
    assert "For Ridge Row Pavers" in page
    assert "first 5 business days after signing" in terms
    assert "#let x = 1 and *stars*" in terms
    assert "A second paragraph." in terms
    assert "You may cancel, the law says." in terms
    assert "within 2 years" in terms
    # A crew that prices by the square foot, on a job in metres: by hand 14 / 0.3048² = 150.69.
    assert "old concrete broken out $150.69 a m²" in page
    assert "ft²" not in page + terms


def test_it_is_sealed_by_its_plan(signed, told, tmp_path):
    made = grading.plan(grading.read_site(signed[1]))
    terms = words_of(signed[0] / "out" / "quote.pdf")[-1]
    assert told["plan"] == seal_of(made)
    assert told["plan"] in terms.replace(" ", "")
    other = site_of(tmp_path / "b", LEAST + FILLED + OWN, organics="150 mm")
    assert seal_of(grading.plan(grading.read_site(other))) != told["plan"]


def test_the_same_bytes_each_run(signed, tmp_path):
    root, site = signed
    words = ["quote", str(site), "--date", "2027-05-20", "--number", "27-014"]
    cli.main([*words, "--out", str(tmp_path / "again")])
    for name in ("quote.pdf", "pricing.pdf"):
        assert (root / "out" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


def test_the_crew_s_page_has_the_sums_in_their_order_and_a_list_to_go_through(signed, told):
    text = " ".join(words_of(signed[0] / "out" / "pricing.pdf"))
    assert "FOR THE CREW ALONE" in text
    place = -1
    for step in told["sums"]["steps"]:
        place = text.index(f"{step['title']} {step['how']}".strip(), place + 1)
        assert f"${step['amount']:,.0f}" in text[place:]
    for each in told["options"]:
        assert f"${each['price']:,}" in text
    assert "Have someone who knows its law read your paper once" in text
    assert not re.search(r" -0(\.0+)? ", text)
    assert not re.search(r"compl(y|ies|iant)", text)
    assert {each["status"] for each in told["checklist"]} == {"printed", "by hand", "left out"}


def test_blanks_and_prices_that_are_built_in_keep_it_from_being_signed(tmp_path, capsys):
    site = site_of(tmp_path / "a", LEAST)
    assert cli.main(["quote", str(site), "--out", str(tmp_path / "out")]) == 0
    page, terms = words_of(tmp_path / "out" / "quote.pdf")
    assert "NOT FOR SIGNATURE: made of prices that are built in" in page
    assert "7 blanks to fill in" in page
    assert "I accept" not in page
    assert "the notice of cancellation that the law of this place asks for" in terms
    printed = capsys.readouterr().out
    assert "licence: licence or registration of this place" in printed
    assert "labour: an hour of one person" in printed
    # The number is that of the plan where none is told, and the date is written in by hand.
    number = seal_of(grading.plan(grading.read_site(site)))[:6]
    assert f"Quote {number} Date" in page


def test_a_plan_that_fails_has_no_lines_to_sign(tmp_path, capsys):
    area = 'base = "dense"\nplane = {at = [0, 0], z = 10.0, fall = "2 %", bearing = 180}'
    site = site_of(tmp_path / "a", LEAST + FILLED + OWN, area=area)
    assert cli.main(["quote", str(site), "--out", str(tmp_path / "out")]) == 1
    page = words_of(tmp_path / "out" / "quote.pdf")[0]
    assert "NOT FOR SIGNATURE: a check fails" in page
    assert "I accept" not in page


@pytest.mark.parametrize(
    ("crew", "said"),
    [
        (None, "no such file in the site folder or above it"),
        ("[prices]\npanels = 30\n", "found no [price]"),
        (LEAST.replace("30 %", "100 %"), "one of 100 % has no price"),
        (LEAST.replace('tax = "none"\n', ""), "key price.tax"),
        (LEAST.replace('deposit_most = ["10 %", 400]\n', ""), "key price.deposit_most"),
        (LEAST + 'notice = "none.txt"\n', "which is not there"),
    ],
)
def test_what_makes_no_price_writes_nothing(crew, said, tmp_path, capsys):
    site = site_of(tmp_path / "a", crew)
    out = tmp_path / "out"
    assert cli.main(["quote", str(site), "--out", str(out)]) == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--date", "20 May"], "--date"),
        (["--date", "2027-02-30"], "--date"),
        (["--number", " "], "--number"),
        (["--number", "n" * 25], "--number"),
        (["--paper", "a3"], "--paper"),
    ],
)
def test_a_date_or_number_that_is_none_is_refused(signed, words, said, tmp_path, capsys):
    out = tmp_path / "out"
    assert cli.main(["quote", str(signed[1]), "--out", str(out), *words]) == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


def test_json_alone_writes_no_paper(signed, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert cli.main(["quote", str(signed[1]), "--json"]) == 0
    json.loads(capsys.readouterr().out)
    assert not list(tmp_path.iterdir())


def test_the_date_is_that_of_the_last_record(signed, tmp_path, capsys):
    site = site_of(tmp_path / "a", LEAST + FILLED + OWN)
    cli.main(["record", str(site), "--note", "a pipe at f"])
    capsys.readouterr()
    assert cli.main(["quote", str(site), "--json"]) == 0
    (file,) = (site / "records").glob("0001-*.toml")
    assert json.loads(capsys.readouterr().out)["date"] == file.stem[-10:]


@pytest.mark.parametrize("shown", [True, False])
def test_the_homeowner_s_paper_has_the_price_of_the_quote_where_the_crew_says_so(tmp_path, shown):
    crew = (LEAST + FILLED + OWN).replace("[crew]", f"[crew]\nshow_prices = {str(shown).lower()}")
    made = grading.plan(grading.read_site(site_of(tmp_path / "a", crew)))
    job = Job(made, made.order, page_for(made.site.unit, None, portrait=True))
    price = price_of(made)
    told = f"The price is ${price.total:,.0f} in all; the quote says what of."
    assert (told in changes_told(job)["said"]) == shown
    blank = crew.replace('insurance = "none"\n', "")
    (tmp_path / "a" / "crew.toml").write_text(blank, encoding="utf-8")
    made = grading.plan(grading.read_site(tmp_path / "a"))
    job = Job(made, made.order, page_for(made.site.unit, None, portrait=True))
    assert not any("$" in said for said in changes_told(job)["said"])
