"""What `fallaway plan SITE` prints: the answer first, at most fourteen lines, true to the JSON."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from make.plans.sampled import HOMES, sampled
from make.sites.juniper import SITE, spots

import grading
from grading.answers.led import led, told_of
from grading.answers.mends import mends_of
from grading.units import FOOT
from viz import cli
from viz.terminal import first_screen

LABELS = ["look", "step", "fall", "base", "dig", "bins", "days", "price", "next"]


@pytest.fixture(scope="module", params=HOMES)
def shown(request):
    plan = sampled(request.param)
    return plan, first_screen.text(plan, "sample").splitlines()


def write(folder, *changes, shots=None):
    folder.mkdir(exist_ok=True)
    text = SITE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    (folder / "spots.csv").write_text(shots or spots(), encoding="utf-8")
    return folder


def screen(folder):
    plan = grading.plan(grading.read_site(folder))
    return plan, first_screen.text(plan, "juniper").splitlines()


LOW = ("z = 100.2", "z = 99.6")
BACK = ('fall = "2 %", bearing = 0', 'fall = "2 %", bearing = 180')
HIGH = ("z = 100.2", "z = 100.9")


def labels(lines):
    return [found[1] for line in lines if (found := re.match(r" {1,3}(\w{3,5})  ", line))]


def test_it_is_fourteen_lines_of_a_hundred_columns_at_the_most(shown):
    _, lines = shown
    assert len(lines) <= 14
    assert all(len(line) <= 100 for line in lines)


def test_the_answer_comes_first_and_then_what_can_hurt(shown):
    plan, lines = shown
    assert lines[0].startswith(plan.site.name)
    assert re.search(r"plan [0-9a-f]{6}$", lines[0])
    told = led(plan)
    assert lines[1].startswith("BUILD IT" if not plan.failed else "DO NOT BUILD")
    assert ("after" in lines[1]) == bool(told.looks or plan.warnings)
    found = labels(lines)
    assert found == sorted(found, key=LABELS.index)
    assert set(found) >= {"fall", "base", "dig", "bins", "days", "next"}


def test_every_figure_is_that_of_the_record(shown):
    """The record is another way out of the plan, in SI; what is printed is read back."""
    plan, lines = shown
    record = grading.record(plan)
    text = " ".join(" ".join(lines).split())
    chosen = [area["bases"][area["base"]] for area in record["areas"]]
    # What is built beside the paving digs on its own, beyond the hole of the paving.
    built = [each["dug"]["bank"] for area in record["areas"] for each in area["structures"]]
    cut = sum(base["cut"] for base in chosen) + sum(built)
    deepest = max(base["max_dig"] for base in chosen)
    if plan.site.unit == "ft":
        (said,) = re.findall(r" dig ([\d.]+) yd³ in the ground", text)
        assert float(said) == pytest.approx(cut / 0.764554857984, abs=0.051)
        ((whole, part),) = re.findall(
            r"ground, (?:the paving )?(\d*) ?(\d/\d)? ?in at the deepest", text
        )
        top, _, bottom = part.partition("/")
        inches = int(whole or 0) + (int(top) / int(bottom) if part else 0)
        assert inches * 0.0254 == pytest.approx(deepest, abs=0.0254 / 16 + 1e-9)
    else:
        (said,) = re.findall(r" dig ([\d.]+) m³ in the ground", text)
        assert float(said) == pytest.approx(cut, abs=0.0051)
        (said,) = re.findall(r"ground, (?:the paving )?(\d+) mm at the deepest", text)
        assert float(said) == pytest.approx(deepest * 1000, abs=0.51)
    (bins,) = re.findall(r" bins (\d+),", text)
    assert int(bins) == plan.order.total.haul.bins.count


def test_one_unit_is_told(shown):
    plan, lines = shown
    other = r"\d (mm|m|m³|tonnes)\b" if plan.site.unit == "ft" else r"\d (in|ft|yd³|tons)\b"
    assert not re.search(other, re.sub(r"plan .*", "", "\n".join(lines[1:])))


def test_each_thing_that_fails_is_told_with_what_mends_it_first(tmp_path):
    plan, lines = screen(write(tmp_path / "a", LOW))
    assert lines[1].startswith("DO NOT BUILD: three things fail")
    failing = {(check.rule, check.area) for check in plan.checks if check.status == "fail"}
    fails = [number for number, line in enumerate(lines) if line.startswith("  FAIL  ")]
    assert len(fails) == len(failing)
    blocks = [lines[a:b] for a, b in zip(fails, [*fails[1:], len(lines)], strict=True)]
    for block in blocks:
        assert sum(line.strip().startswith("mend ") for line in block) >= 1
    # The first mend is told with what it takes, and by the name that writes it.
    assert "[fit-patio]" in " ".join(" ".join(lines).split())
    assert lines[-1] == "  next  fallaway plan juniper --mend fit-patio;  or --full"


def test_all_that_fails_is_told_where_that_takes_more_than_fourteen_lines(tmp_path):
    plan, lines = screen(write(tmp_path / "a", BACK))
    failing = {(check.rule, check.area) for check in plan.checks if check.status == "fail"}
    assert sum(line.startswith("  FAIL  ") for line in lines) == len(failing) >= 5
    assert len(lines) > 14
    # Then one mend of each, and one look.
    assert sum(line.startswith("  look  ") for line in lines) == 1
    assert "BACK TO THE HOUSE" in "\n".join(lines)


def test_water_at_the_foundation_is_told_before_all_else_that_fails(tmp_path):
    plan, lines = screen(write(tmp_path / "a", BACK))
    first = next(line for line in lines if line.startswith("  FAIL  "))
    assert "reaches the foundation" in first
    (one, *_) = led(plan).fails
    assert one.rule == "foundation-water"


def test_a_sill_below_the_paving_is_told_as_that(tmp_path):
    _, lines = screen(write(tmp_path / "a", HIGH))
    text = " ".join(" ".join(lines).split())
    assert "the sill of door lies 3 in below it: 1 1/2 in above it is the least" in text
    assert "step door 3 in BELOW the paving" in text
    assert "-3" not in text


def wrong_foot():
    rows = spots().splitlines()
    x, y, z = rows[40].split(",")
    rows[40] = f"{x},{y},{float(z) - 1:.3f}"
    return "\n".join(rows)


def test_a_shot_that_does_not_fit_stops_it_before_any_number_of_the_plan(tmp_path, capfd):
    folder = write(tmp_path / "a", shots=wrong_foot())
    assert cli.main(["plan", str(folder)]) == cli.CHECK_FAILED
    lines = capfd.readouterr().out.splitlines()
    assert lines[1] == "STOP: one shot does not fit; do not build on these numbers"
    assert not re.search(r"plan [0-9a-f]{6}", lines[0])
    found = labels(lines)
    assert found == ["shot", "else", "costs", "mend"]
    text = " ".join(" ".join(lines).split())
    # 12 in, for a foot was taken off it; its own line of the file says which it is.
    assert "it lies 12 in below them" in text
    assert '--shot "line 41=99.52"' in text
    assert '--without "line 41"' in text
    assert '--keep "line 41"' in text
    assert len(lines) <= 14


def test_what_it_costs_to_keep_a_shot_is_the_plan_without_it(tmp_path, capfd):
    rows = spots().splitlines()
    # In the middle of the patio, where a foot too high is a foot more to dig.
    place = rows.index("16,8,99.840")
    rows[place] = "16,8,100.840"
    folder = write(tmp_path / "a", shots="\n".join(rows))
    kept = grading.plan(grading.read_site(folder))
    text = first_screen.text(kept, "a")
    assert cli.main(["plan", str(folder), "--without", f"line {place + 1}"]) == cli.DONE
    left = grading.plan(grading.read_site(folder))
    more = (kept.order.total.cut - left.order.total.cut) / (3 * FOOT) ** 3
    assert more > 0.5
    assert f"kept as it is: + {more:.1f} yd³ to dig" in text


PRICING = '[price]\nmargin = "30 %"\ntax = "none"\ndeposit_most = "none"\n'


def test_a_price_is_told_once_the_crew_says_how_it_makes_one(tmp_path, capsys):
    folder = write(tmp_path / "a")
    plan, lines = screen(folder)
    assert "price" not in labels(lines)
    # Asked for before that it is the cost alone, by placeholders, and said to be no price.
    assert cli.main(["plan", str(folder), "--price"]) in (cli.DONE, cli.CHECK_FAILED)
    asked = " ".join(capsys.readouterr().out.split())
    cost = grading.record(plan)["cost"]["bases"]["chosen"]["cost"]["total"]
    assert f"price none, write [price] in crew.toml; ${cost:,.0f} of cost by prices" in asked
    assert "placeholders, nobody's offer, not for signature" in asked
    (folder / "crew.toml").write_text(PRICING, encoding="utf-8")
    _, lines = screen(folder)
    text = " ".join(" ".join(lines).split())
    (total, margin, cost) = re.findall(
        r"price \$([\d,]+) in all, (\d+) % margin over \$([\d,]+) of cost", text
    )[0]
    total, cost = (float(each.replace(",", "")) for each in (total, cost))
    # A margin is a part of the price: what it costs is seven tenths of it. Lines are told to ten.
    assert margin == "30"
    assert cost == pytest.approx(0.7 * total, abs=10)
    assert len(lines) <= 14


def test_a_plan_that_fails_has_no_price_yet(tmp_path):
    folder = write(tmp_path / "a", LOW)
    (folder / "crew.toml").write_text(PRICING, encoding="utf-8")
    _, lines = screen(folder)
    assert any("price  none until it passes (as drawn about $" in line for line in lines)


def test_names_however_long_keep_it_to_fourteen_lines(tmp_path):
    long = "patio " + "behind the old summer house " * 4
    folder = write(tmp_path / "a", ('name    = "patio"', f'name    = "{long.strip()}"'),
                   ("100.2, fall", "100.35, fall"))  # fmt: skip
    plan, lines = screen(folder)
    assert not plan.failed
    assert led(plan).looks
    assert len(lines) <= 14


def test_what_fails_stands_before_what_is_looked_at_and_worse_before_less(shown):
    plan, _ = shown
    told = told_of(plan.checks)
    order = ["fail", "warn", "unknown"]
    assert [each.status for each in told] == sorted((each.status for each in told), key=order.index)
    assert sum(len(each.checks) for each in told) == sum(
        check.status != "pass" for check in plan.checks
    )


def test_a_plan_that_holds_has_no_mends(shown):
    plan, _ = shown
    assert plan.failed or mends_of(led(plan)) == {}


def test_the_readme_shows_what_is_printed():
    text = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"```text\n\$ fallaway plan (\S+)\n(.*?)```", text, re.DOTALL)
    site, lines = shown
    plan = sampled(site.rpartition("/")[2])
    assert first_screen.text(plan, site).splitlines() == lines.splitlines()
