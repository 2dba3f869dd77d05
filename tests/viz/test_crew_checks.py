"""The crew's list of checks that do not pass: whole, and the worst first."""

from types import SimpleNamespace

from viz.sheets.crew import looking


def listed(checks, warnings=()):
    made = SimpleNamespace(plan=SimpleNamespace(checks=checks, warnings=warnings))
    section = next(looking(made, None))
    return [[part for part, _ in row] for row in section.blocks[0]["rows"]]


def check(status, text):
    return SimpleNamespace(status=status, area="patio", text=text, source="common practice")


def test_the_crew_reads_a_check_to_its_end_where_its_mend_stands():
    text = "water stands on paving. To mend it: " + "raise the paving; " * 40 + "or set a drain"
    ((_, _, said, _),) = listed([check("fail", text)])
    assert said == text


def test_what_failed_stands_above_what_is_to_be_looked_at():
    rows = listed(
        [check("warn", "b"), check("unknown", "c"), check("pass", "d"), check("fail", "a")]
    )
    assert [row[2] for row in rows] == ["a", "b", "c"]
    assert [row[0] for row in rows] == ["FAIL", "LOOK", "NOT KNOWN"]
