"""What is made for the yard: files to take away, pocket cards, as-built papers, the sign-off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from grading.asbuilt.layers import LAYERS, LayerName
from grading.errors import Problem, SiteError
from grading.logbook.chain import records_of
from grading.pipeline import Plan
from grading.setout.model import set_out
from viz.desk.field.given_back import held_of, shots_kept
from viz.desk.field.home_away import HOME_FILE, home_away
from viz.desk.field.kept_shots import booked_of
from viz.desk.field.take_away import FILE, take_away
from viz.desk.steps.setout import usually_told
from viz.sheets.field.asbuilt import write_asbuilt
from viz.sheets.field.signoff import write_signoff
from viz.sheets.field.stakes import write_stakes
from viz.words.field.steps import BUILT

Say = Callable[[str], None]
Maker = Callable[[Plan, Path, Say], Sequence[Path]]


def _away(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    say("setting out the stakes ...")
    (folder / FILE).write_text(take_away(plan), encoding="utf-8")
    return [folder / FILE]


def _home(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    say("drawing the cut ...")
    (folder / HOME_FILE).write_text(home_away(plan), encoding="utf-8")
    return [folder / HOME_FILE]


def _cards(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    return write_stakes(set_out(plan), usually_told(plan), folder, say)


def _signoff(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    assert plan.site.folder is not None
    return write_signoff(plan, records_of(plan.site.folder), folder, say)


def _built(layer: LayerName) -> Maker:
    def make(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
        assert plan.site.folder is not None
        booked = booked_of(plan.site.folder)
        held, _ = held_of(plan, shots_kept(booked.shots, plan))
        found = [each for each in held if each.layer == layer]
        if not found:
            raise SiteError([Problem("the shots", BUILT["not_shot"], "one or more")])
        return write_asbuilt(plan, found, folder, say)

    return make


FIELD_MAKERS: dict[str, Maker] = {
    "take-away": _away,
    "take-away-home": _home,
    "stakes": _cards,
    "signoff": _signoff,
    **{f"as-built-{layer}": _built(layer) for layer in LAYERS},
}
"""Each by its name: it is told the plan, an empty folder, and whom to say how far it is."""
