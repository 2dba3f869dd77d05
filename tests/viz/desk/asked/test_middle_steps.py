"""What the middle steps ask by name: a drop of water, the crew's figures, an earlier design."""

from __future__ import annotations

import json
import tomllib

import numpy as np
import pytest
import shapely
from make.plans.looked_at import SAMPLES, copied, keys_shown, looked, priced
from msgspec.structs import replace

import grading
import sample_sites
from grading.reading.site_file import read_site
from grading.units import METRES
from viz.desk.asked.base import swings, turns
from viz.desk.asked.water import NO_PLAN, drop
from viz.desk.seen import Asked
from viz.desk.sheet.crew_figures import crew_figure, figures, pricing
from viz.desk.sheet.designs import GONE, compare, earlier
from viz.desk.written.document import read_document
from viz.desk.written.journal import Entry, Journal
from viz.desk.written.shadow import Shadow


@pytest.mark.parametrize("name", SAMPLES)
def test_a_drop_runs_down_all_its_way_and_ends_where_the_water_of_the_paving_does(name):
    """Levels along the way are read off the grid that the water is followed on: none goes up by
    more than a pool on its way is deep."""
    seen = looked(sample_sites.path(name))
    plan, one = seen.plan, METRES[seen.partly.unit]
    ends = {place.destination for area in plan.water.areas for place in area.shares}
    for area in plan.areas:
        at = np.asarray(area.outline.representative_point().coords[0]) / one
        told = drop(seen, {"at": at.tolist()})
        way = np.array(told["way"]) * one
        assert np.hypot(*(way[0] - at * one)) < 2 * plan.water.relief.spacing
        end = plan.water.end(at * one)
        assert end[0] in ends
        assert told["kind"] == end[1]
        cells = plan.water.relief.cells(
            shapely.get_coordinates(
                shapely.segmentize(shapely.linestrings(way), plan.water.relief.spacing)
            )
        )
        z = plan.water.relief.z.ravel()[cells[cells >= 0]]
        z = z[np.isfinite(z)]
        deepest = max([0.0, *(spot.depth for spot in plan.water.low_spots)])
        assert (np.diff(z) < deepest + 0.05).all()
        assert z[-1] <= z[0] + 1e-6


def test_a_drop_that_cannot_be_followed_says_so(tmp_path):
    seen = looked(sample_sites.path("back-patio"))
    for at in ([1e6, 0], ["a", 1], None, [float("inf"), 2], [1]):
        told = drop(seen, {"at": at})
        assert told["way"] == []
        assert "No drop can be followed" in told["words"]
    (tmp_path / "site.toml").write_text('name = "a yard"\nunit = "m"\n', encoding="utf-8")
    assert drop(looked(tmp_path), {"at": [0, 0]})["words"] == NO_PLAN


def written(answer):
    assert not answer["problems"], answer
    return answer["apply"]["text"]


def test_a_figure_of_the_crew_is_written_where_it_stands_and_remarks_stay(tmp_path):
    folder = copied("flush-walk", tmp_path)
    seen = looked(folder)
    before = (folder / "crew.toml").read_text(encoding="utf-8")
    text = written(
        crew_figure(seen, {"values": [{"book": "prices", "name": "pavers", "to": "7.25 /ft2"}]})
    )
    assert tomllib.loads(text)["prices"] == {"pavers": "7.25 /ft2"}
    assert [line for line in before.splitlines() if line not in text.splitlines()] == []
    (folder / "crew.toml").write_text(text, encoding="utf-8")
    after = looked(folder).plan
    assert after.order.total.cost.total > seen.plan.order.total.cost.total
    assert after.crew.prices["pavers"].likely == pytest.approx(7.25 / 0.3048**2)
    gone = written(
        crew_figure(looked(folder), {"values": [{"book": "prices", "name": "pavers", "to": ""}]})
    )
    assert "pavers" not in tomllib.loads(gone).get("prices", {})


def test_a_figure_that_the_reader_refuses_is_refused_in_its_words(tmp_path):
    folder = copied("flush-walk", tmp_path)
    seen = looked(folder)
    told = crew_figure(seen, {"values": [{"book": "prices", "name": "pavers", "to": "cheap"}]})
    (folder / "crew.toml").write_text(
        (folder / "crew.toml").read_text(encoding="utf-8") + '\n[prices]\npavers = "cheap"\n',
        encoding="utf-8",
    )
    with pytest.raises(grading.GradingError) as caught:
        grading.plan(read_site(folder))
    assert told["problems"][0]["words"] in str(caught.value)
    assert "apply" not in told
    odd = crew_figure(seen, {"values": [{"book": "prices", "name": "gold", "to": "1"}]})
    assert odd["problems"]


def test_a_price_begins_with_the_three_figures_that_it_must_have(tmp_path):
    folder = copied("back-patio", tmp_path)
    seen = looked(folder)
    assert pricing(seen)["together"]
    one = crew_figure(seen, {"values": [{"book": "price", "name": "margin", "to": "30 %"}]})
    assert one["problems"], "a margin alone makes no price"
    must = {"margin": "30 %", "tax": "none", "deposit_most": "10 %, 1000"}
    values = [{"book": "price", "name": name, "to": to} for name, to in must.items()]
    text = written(crew_figure(seen, {"values": values}))
    assert tomllib.loads(text)["price"]["deposit_most"] == ["10 %", 1000]
    (folder / "crew.toml").write_text(text, encoding="utf-8")
    after = looked(folder)
    assert grading.record(after.plan)["price"]["total"] > after.plan.order.total.cost.total
    assert not pricing(after)["together"]


@pytest.mark.parametrize(
    ("name", "to", "words"),
    [
        ("margin", "120 %", 'found "120 %", expected a part of the price below 100 %'),
        ("margin", "30", 'Write "30 %"'),
        ("tax", "most", 'expected a rate such as "7 %", or "none"'),
        ("margin", "30 %", ""),
        ("tax", "none", ""),
    ],
)
def test_a_figure_of_the_price_is_looked_at_as_it_is_typed(name, to, words):
    """Alone it makes no price yet: of the others, which are still to come, nothing is said."""
    seen = looked(sample_sites.path("back-patio"))
    values = [{"book": "price", "name": name, "to": to}]
    told = crew_figure(seen, {"values": values, "only": True})
    assert "apply" not in told
    said = [each["words"] for each in told["problems"]]
    assert len(said) == bool(words)
    assert all(words in each and f"price.{name}" in each for each in said)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_figures_shown_are_those_that_the_job_is_reckoned_with(name):
    seen = looked(sample_sites.path(name))
    told = figures(seen, seen.plan)
    books = {"prices": seen.plan.crew.prices, "rates": seen.plan.crew.rates,
             "materials": seen.plan.crew.materials}  # fmt: skip
    rows = [row for group in told["groups"] for row in group["rows"]]
    assert len({(row["book"], row["name"]) for row in rows}) == len(rows)
    for row in rows:
        entry = books[row["book"]][row["name"]]
        assert row["usual"] == entry.written
    rates = {task.rate for task in seen.plan.order.total.tasks}
    assert rates == {row["name"] for row in rows if row["book"] == "rates"}


def test_a_file_that_other_sites_share_is_not_written_over(tmp_path):
    folder = copied("back-patio", tmp_path)
    (tmp_path / "crew.toml").write_text('[prices]\npavers = "7 /ft2"\n', encoding="utf-8")
    seen = looked(folder)
    told = crew_figure(seen, {"values": [{"book": "prices", "name": "pavers", "to": "8 /ft2"}]})
    assert "share" in told["problems"][0]["words"]
    assert figures(seen, seen.plan)["shared"]


def test_the_page_reckons_with_the_figures_that_a_crew_keeps_above_its_sites(tmp_path):
    folder = copied("back-patio", tmp_path / "sites")
    (tmp_path / "sites" / "crew.toml").write_text(
        '[prices]\npavers = "9 /ft2"\n\n[price]\nmargin = "30 %"\ntax = "none"\n'
        'deposit_most = "none"\nterms = "our terms.txt"\n',
        encoding="utf-8",
    )
    (tmp_path / "sites" / "our terms.txt").write_text("We dig.\n", encoding="utf-8")
    (tmp_path / "scratch").mkdir()
    shadow = Shadow(folder, tmp_path / "scratch")
    shadow.hold(read_document(folder).texts)
    told, own = (grading.record(grading.plan(read_site(each))) for each in (shadow.home, folder))
    assert told["cost"]["bases"] == own["cost"]["bases"]
    assert told["price"]["total"] == own["price"]["total"]


def journalled(folder):
    """Write a journal of two states: a sill lower, then as the folder has it."""
    text = read_document(folder).texts
    first = {**text, "site.toml": text["site.toml"].replace("sill = 100.0", "sill = 99.9")}
    assert first["site.toml"] != text["site.toml"]
    journal = Journal(folder)
    journal.write(Entry(1, "began", "as it was opened", "2031-05-01T08:00:00", first))
    change = {"site.toml": text["site.toml"]}
    journal.write(Entry(2, "did", "sill of the back door", "2031-05-01T08:05:00", change))
    return first


def test_an_earlier_design_stands_beside_the_one_now(tmp_path):
    folder = copied("back-patio", tmp_path)
    first = journalled(folder)
    assert dict(earlier(folder, 1).texts) == first
    assert earlier(folder, 3) is None
    seen = looked(folder)
    told = compare(seen, {"rev": 1})
    assert told["words"] == ""
    text = json.dumps(told["blocks"])
    assert "door back door.sill: 99.9 -> 100.0" in text
    tables = [each for each in told["blocks"] if each["kind"] == "table"]
    assert tables
    assert all(each["columns"][1:] == ("then", "now", "difference") for each in tables)
    hidden = compare(replace(seen, asked=Asked(prices=False)), {"rev": 1})
    assert "$" not in json.dumps(hidden)
    same = compare(seen, {"rev": 2})
    assert not [each for each in same["blocks"] if each["kind"] == "table"]
    assert compare(seen, {"rev": 9})["words"] == GONE


@pytest.mark.long
def test_where_the_advice_turns_and_what_moves_it_is_told_as_the_card_and_the_order_tell_it(
    tmp_path,
):
    assert "$" not in turns(looked(sample_sites.path("back-patio")), {})["words"]
    seen = looked(priced("back-patio", tmp_path))
    told = turns(seen, {})["words"]
    assert not keys_shown([told, swings(seen, {}), compare(seen, {"rev": 1})])
    assert told.startswith("Advised for patio: ")
    assert "$" in told
    hidden = replace(seen, asked=Asked(prices=False))
    assert "$" not in turns(hidden, {})["words"]
    assert "$" not in swings(hidden, {})["words"]
    assert "$" in swings(seen, {})["words"]
