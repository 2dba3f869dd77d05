"""Whatever a window asked is answered, and of the document as it is then."""

from __future__ import annotations

import asyncio

import pytest
from drive.served import Served, conversed, copied


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with Served(copied("garden-court", tmp_path_factory.mktemp("answered") / "yard")) as served:
        yield served


def opened(key):
    return lambda state: state.get("open", {}).get("key") == key and state["whole"]


def test_a_step_that_is_asked_for_while_a_change_is_read_opens_on_the_changed_document(served):
    """Asked by the number of the document before, it was thrown away as older than the page."""

    async def talk(line):
        await line.ask(do="see", step="yard", view="plan")
        for place, step in enumerate(["ground", "finish", "base", "ground", "finish"]):
            await line.send(do="set", at="name", to=f"Yard {place}", base=line.state["rev"])
            await line.send(do="see", step=step, view="plan")
            state = await line.until(opened(step))
            assert state["document"]["name"] == f"Yard {place}"

    conversed(served, talk)


def test_a_window_that_changes_is_told_the_whole_though_another_looks_elsewhere(served):
    """The question of the other breaks off what is still being told of the change."""

    async def whole(line, rev):
        while line.state["rev"] <= rev or not line.state["whole"]:
            await line.hear()

    async def talk(line, other):
        await line.ask(do="see", step="yard", view="plan")
        await other.ask(do="see", step="yard", view="plan")
        for sill in (10.021, 10.022, 10.023, 10.024):
            rev = line.state["rev"]
            await line.ask(do="set", at="door/0/sill", to=sill, base=rev)
            told, _ = await asyncio.gather(
                other.ask(do="see", step="ground", view="plan"), whole(line, rev)
            )
            assert told["is"] == "told"

    conversed(served, talk, windows=2)


def test_a_window_hears_of_its_drag_though_another_looks_at_what_is_newer(served):
    """While one glance is on its way the next waits: unanswered, the drag would be dead."""

    async def talk(line, other):
        await line.ask(do="see", step="yard", view="plan")
        await other.ask(do="set", at="name", to="Undone", base=line.state["rev"])
        for sill in (10.031, 10.032, 10.033):
            told, _ = await asyncio.gather(
                line.ask(do="set", at="door/0/sill", to=sill, live=True), other.ask(do="undo")
            )
            assert told["is"] == "told"
            await other.ask(do="redo")

    conversed(served, talk, windows=2)


def test_what_a_refused_change_broke_off_is_told_to_its_end(served):
    async def talk(line):
        await line.ask(do="see", step="yard", view="plan")
        await line.ask(do="set", at="name", to="Taken", base=line.state["rev"])
        number = await line.send(do="set", at="door/0/sill", to="a hand", base=line.state["rev"])
        refused = None
        while refused is None or not line.state["whole"]:
            told = await line.hear()
            if told.get("id") == number and told["is"] == "refused":
                refused = told
        assert line.state["document"]["name"] == "Taken"

    conversed(served, talk)
