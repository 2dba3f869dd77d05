"""A page that is served: what is changed in it, in its files, and after the worst."""

import tomllib
from contextlib import suppress

import pytest
from drive.served import Served, conversed, copied

import grading


@pytest.fixture
def site(tmp_path):
    return copied("back-patio", tmp_path / "site")


def written(site):
    return tomllib.loads((site / "site.toml").read_text())


def test_a_change_is_planned_told_written_and_taken_back(site):
    async def talk(line):
        await line.send(do="see", step="ground", view="plan")
        await line.until(lambda state: state.get("whole"))
        rev = line.state["rev"]
        answer = await line.ask(do="set", at="door/0/sill", to="100' 3\"", base=rev, said="sill")
        assert answer["is"] == "state"
        assert answer["undo"] == "sill"
        assert answer["rev"] == rev + 1
        await line.until(lambda state: state.get("whole") and state["rev"] == rev + 1)
        assert line.state["document"]["door"][0]["sill"] == "100' 3\""
        await line.until(lambda state: state["saved"].startswith("saved"))
        assert written(site)["door"][0]["sill"] == "100' 3\""
        await line.ask(do="undo")
        await line.until(lambda state: state["document"]["door"][0]["sill"] == 100.0)
        await line.until(lambda state: state["saved"].startswith("saved"))

    before = (site / "site.toml").read_text()
    with Served(site) as served:
        conversed(served, talk)
    assert (site / "site.toml").read_text() == before


def test_what_the_reader_refuses_the_page_refuses_in_the_same_sentence(site):
    said = {}

    async def talk(line):
        answer = await line.ask(do="set", at="door/0/sill", to="about knee high")
        assert answer["is"] == "refused"
        said["page"] = answer["problems"][0]["words"]
        answer = await line.ask(do="undo")
        assert answer["is"] == "refused"

    with Served(site) as served:
        conversed(served, talk)
    file = site / "site.toml"
    file.write_text(file.read_text().replace("sill = 100.00", 'sill = "about knee high"'))
    with pytest.raises(grading.GradingError) as refused:
        grading.read_site(site)
    assert said["page"] == str(refused.value)


def test_a_glance_changes_nothing(site):
    before = (site / "site.toml").read_text()

    async def talk(line):
        await line.until(lambda state: state.get("whole"))
        answer = await line.ask(do="set", at="door/0/sill", to=100.1, live=True)
        assert answer["is"] == "told"
        assert line.state["document"]["door"][0]["sill"] == 100.1
        assert line.state["undo"] is None

    with Served(site) as served:
        conversed(served, talk)
    assert (site / "site.toml").read_text() == before


def test_a_site_without_a_finish_opens_with_its_conflict_and_is_mended(site):
    file = site / "site.toml"
    file.write_text(file.read_text().replace("z    = 99.95", "z    = 98.95"))

    async def talk(line):
        await line.until(lambda state: state.get("problems"))
        assert line.state["document"]["door"]
        with pytest.raises(grading.GradingError) as conflict:
            grading.plan(grading.read_site(site))
        assert line.state["problems"][0]["words"] == str(conflict.value)
        await line.ask(do="set", at="ceiling/0/z", to=99.95)
        await line.until(lambda state: state.get("whole") and not state["problems"])

    with Served(site) as served:
        conversed(served, talk)


def test_nothing_that_was_answered_is_lost_when_it_is_killed(site):
    acknowledged = []

    async def talk(line):
        await line.until(lambda state: "steps" in state)
        for step in range(12):
            answer = await line.ask(do="set", at="door/0/sill", to=100 + step / 100)
            assert answer["is"] == "state"
            acknowledged.append(100 + step / 100)
            if len(acknowledged) == 9:
                served.kill()
                return

    with Served(site) as served, suppress(OSError, AssertionError):  # the line is cut
        conversed(served, talk)
    assert len(acknowledged) == 9

    async def look(line):
        await line.until(lambda state: "document" in state)
        assert line.state["document"]["door"][0]["sill"] == acknowledged[-1]
        assert len(line.state["earlier"]) == len(acknowledged)

    with Served(site) as served:
        conversed(served, look)
    assert written(site)["door"][0]["sill"] == acknowledged[-1]


def test_two_windows_see_each_other_and_a_key_that_both_changed_is_asked_about(site):
    async def talk(one, other):
        await one.until(lambda state: state.get("whole"))
        await other.until(lambda state: "document" in state)
        base = other.state["rev"]
        await one.ask(do="set", at="door/0/sill", to=100.1, base=base)
        await other.until(lambda state: state["document"]["door"][0]["sill"] == 100.1)
        answer = await other.ask(do="set", at="door/0/sill", to=100.2, base=base)
        assert answer["is"] == "clash"
        assert (answer["yours"], answer["theirs"]) == (100.2, 100.1)
        answer = await other.ask(do="set", at="door/1/sill", to=100.3, base=base)
        assert answer["is"] == "state"
        await one.until(lambda state: state["document"]["door"][1]["sill"] == 100.3)
        assert one.state["document"]["door"][0]["sill"] == 100.1

    with Served(site) as served:
        conversed(served, talk, windows=2)


def test_a_second_server_of_a_folder_only_looks(site):
    async def talk(line):
        await line.until(lambda state: "document" in state)
        assert line.state["saved"] == "to look at only"
        answer = await line.ask(do="set", at="door/0/sill", to=100.2)
        assert answer["is"] == "refused"

    before = (site / "site.toml").read_text()
    with Served(site), Served(site) as second:
        conversed(second, talk)
    assert (site / "site.toml").read_text() == before


def test_a_yard_that_is_only_begun_opens(tmp_path):
    (tmp_path / "site.toml").write_text('name = "New"\nunit = "ft"\nspots = "spots.csv"\n')
    (tmp_path / "spots.csv").write_text("x,y,z,id,code,note\n")

    async def talk(line):
        await line.until(lambda state: "steps" in state)
        assert line.state["name"] == "New"
        answer = await line.ask(
            do="several", said="house",
            changes=[
                {"do": "set", "at": "house/walls", "to": [[0, 0], [20, 0]]},
                {"do": "set", "at": "house/inside", "to": [10, -5]},
            ],
        )  # fmt: skip
        assert answer["is"] == "state"
        await line.until(lambda state: "house" in state["document"])
        text = "x,y,z\n0,1,99\n20,1,99\n10,20,98\n"
        assert (await line.ask(do="file", name="spots.csv", text=text))["is"] == "state"

    with Served(tmp_path) as served:
        conversed(served, talk)
    assert written(tmp_path)["house"]["walls"] == [[0, 0], [20, 0]]
    assert (tmp_path / "spots.csv").read_text().endswith("10,20,98\n")


def test_a_worker_that_ends_by_itself_is_begun_again(site):
    import subprocess

    async def talk(line):
        await line.until(lambda state: state.get("whole"))
        pids = subprocess.run(
            ["pgrep", "-P", str(served.process.pid)], capture_output=True, text=True, check=False
        ).stdout.split()
        for pid in pids:
            subprocess.run(["kill", "-9", pid], check=False)
        answer = {"is": "fault"}
        while answer["is"] in ("fault", "refused"):
            answer = await line.ask(do="set", at="door/0/sill", to=100.1)
        await line.until(lambda state: state["document"]["door"][0]["sill"] == 100.1)

    with Served(site) as served:
        conversed(served, talk)
    assert written(site)["door"][0]["sill"] == 100.1


def test_a_question_breaks_off_what_is_told_and_it_is_told_after_it(site):
    async def talk(line):
        await line.until(lambda state: state.get("whole"))
        for sill in (100.02, 100.04, 100.06):
            await line.ask(do="set", at="door/0/sill", to=sill)
            answer = await line.ask(do="call", name="drop", **{"with": {"at": [10, 8]}})
            assert answer["is"] == "answer"
            await line.until(lambda state: state.get("whole"))

    with Served(site) as served:
        conversed(served, talk)


def test_days_and_what_is_no_number_are_told_as_they_are_written(site):
    """JSON has no days, and no number that is none: the page was never told such a document."""
    file = site / "site.toml"
    text = file.read_text().replace('season = "summer"', "date = 2027-07-10")
    file.write_text(text)

    async def talk(line):
        await line.until(lambda state: state.get("whole"))
        assert line.state["document"]["laying"] == {"date": "2027-07-10"}

    with Served(site) as served:
        conversed(served, talk)
    file.write_text(text.replace("sill = 100.00", "sill = nan"))

    async def look(line):
        await line.until(lambda state: state.get("problems"))
        assert line.state["document"]["door"][0]["sill"] == "nan"

    with Served(site) as served:
        conversed(served, look)
    assert "2027-07-10" in file.read_text()
