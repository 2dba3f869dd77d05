"""[price] as it is written: what is used, and what is refused with a sentence."""

from __future__ import annotations

import pytest
from make.plans.jobs import crew

from grading.crew.price_table import paragraphs, text_of
from grading.crew.reading import crew_of, read_crew
from grading.errors import SiteError

GIVEN = {"margin": "30 %", "tax": "none", "deposit_most": ["10 %", 1000]}


def refused(**written):
    with pytest.raises(SiteError) as error:
        crew(price=GIVEN | written)
    return str(error.value)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"margin": "100 %"}, "one of 100 % has no price"),
        ({"margin": "140 %"}, "a part of the price below 100 %"),
        ({"margin": 1}, "a part of the price below 100 %"),
        ({"margin": 30}, 'Write "30 %"'),
        ({"margin": "-5 %"}, "a part of the price"),
        ({"margin": "nan %"}, "a part of the price"),
        ({"margin": True}, "a part of the price"),
        ({"tax": "7 %"}, "a tax that falls on nothing"),
        ({"tax": "no"}, 'a rate such as "7 %", or "none"; ask your accountant'),
        ({"tax": "7 %", "tax_on": "all"}, 'one of "cost", "materials", "total"'),
        ({"tax": "0 %"}, 'or "none"'),
        ({"deposit_most": "soon"}, 'or "none"'),
        ({"deposit_most": "120 %"}, 'or "none"'),
        ({"deposit_most": -1}, "an amount of money, zero or more"),
        ({"deposit": "100 %"}, "a part of the price"),
        ({"overhead": "18 %", "overhead_hour": 14}, "both overhead and overhead_hour"),
        ({"contingency": "5 %", "unit_prices": True}, "a contingency beside unit prices"),
        ({"payments": [{"when": "at the end", "share": "90 %"}]}, "90 % in all"),
        ({"payments": []}, "0 % in all"),
        ({"valid": 0}, "1 to 365"),
        ({"valid": 30.5}, "1 to 365"),
        ({"cancel": 61}, "0 to 60"),
        ({"extra": [{"what": "rock", "each": "ft3"}]}, "price"),
        ({"extra": [{"what": "rock", "each": "ft3", "price": "12"}]}, "an amount of money"),
        ({"mark": "30 %"}, "`mark`"),
        ({"terms": "terms.txt"}, "which is not there"),
        ({"notice": "../notice.txt"}, "which leaves the folder"),
        ({"currency": "CHF"}, '"CHF" and no prices'),
        ({"currency": "a long word"}, 'a sign such as "$"'),
    ],
)  # fmt: skip
def test_what_makes_no_price_is_a_sentence(written, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert said in refused(**written)


@pytest.mark.parametrize("key", ["margin", "tax", "deposit_most"])
def test_margin_tax_and_cap_may_not_be_left_out(key):
    with pytest.raises(SiteError) as error:
        crew(price={name: value for name, value in GIVEN.items() if name != key})
    assert f"price.{key}" in str(error.value)


def test_what_is_written_is_kept():
    table = crew(price=GIVEN | {"tax": "6.5 %", "tax_on": "total", "overhead_hour": 14.7}).pricing
    assert (table.margin, table.tax, table.tax_on) == (0.3, 0.065, "total")
    assert table.deposit_most == (("share", 0.1), ("money", 1000.0))
    assert table.overhead_hour == 14.7
    assert table.by_the_unit
    assert not crew(price=GIVEN | {"contingency": "5 %"}).pricing.by_the_unit
    assert crew().pricing is None


def test_money_is_in_one_currency_and_built_in_figures_are_dollars():
    own = {"prices": {"panels": 30}, "price": GIVEN | {"currency": "CHF"}}
    assert crew_of(own, "m").currency == "CHF"
    with pytest.raises(SiteError, match="one currency"):
        crew_of(own | {"currency": "EUR"}, "m")
    with pytest.raises(SiteError, match="and no prices"):
        crew_of({"currency": "CHF"}, "m")


def test_texts_of_the_crew_s_own_lie_beside_its_file(tmp_path):
    (tmp_path / "crew.toml").write_text(
        '[price]\nmargin = "30 %"\ntax = "none"\ndeposit_most = "none"\nterms = "terms.txt"\n'
        'notice = "none"\n'
    )
    (tmp_path / "terms.txt").write_text("First\nline.\n\nSecond.\n")
    table = read_crew(tmp_path, "ft").pricing
    assert paragraphs(text_of(table, "terms", tmp_path)) == ["First line.", "Second."]
    assert (text_of(table, "notice", tmp_path), text_of(table, "disputes", tmp_path)) == ("", None)
    for bad, said in ((b"", "an empty file"), (b"\xff\xfe\xff", "no UTF-8 text"),
                      (b"a" * 30_000, "at most 20 kB")):  # fmt: skip
        (tmp_path / "terms.txt").write_bytes(bad)
        with pytest.raises(SiteError, match=said):
            read_crew(tmp_path, "ft")
