"""The step "Papers": what is handed over, what is given to other programs, and designs compared."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.led import led
from grading.price.model import price_of
from viz.desk.blocks import Block, Fold, Head, Make, Own, Say, State, Step
from viz.desk.seen import Seen
from viz.words.plain import stopped
from viz.words.price import against_signing
from viz.words.screen.led import verdict_words
from viz.words.signing import against_signing as against

KEY, TITLE = "papers", "Papers"

NONE_YET = "Papers are made once there is a plan."
STALE = "The document has no plan as it stands: no paper is made of it."

_EXPORTS = (
    ("dxf", "Drawing for CAD", "DXF, one for each area"),
    ("landxml", "Surfaces", "LandXML: ground, finish and subgrade"),
    ("xlsx", "Workbook", "every table, XLSX"),
    ("csv", "Points", "levels at the corners, CSV"),
    ("glb", "Models", "GLB, one for each base"),
    ("stl", "Solids", "STL, layer by layer"),
    ("usdz", "Models for a phone", "USDZ, if its library is installed"),
)


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    return Step(KEY, TITLE, _answer(seen), _state(seen), list(_blocks(seen)))


def _state(seen: Seen) -> State:
    if seen.plan is None or seen.stale or seen.conflict or not seen.whole:
        return "to do"
    return "fails" if seen.plan.failed or led(seen.plan).astray else "to do"


def _answer(seen: Seen) -> str:
    if seen.plan is None:
        return "none yet"
    if not seen.whole or seen.stale or seen.conflict:
        return "none of this state"
    return verdict_words(led(seen.plan)).lower().partition(":")[0]


def _blocks(seen: Seen) -> Iterator[Block]:
    plan = seen.plan
    if plan is None:
        yield Say(NONE_YET, "quiet")
        return
    if seen.stale or seen.conflict:
        yield Say(STALE, "fails")
        return
    if seen.whole:
        yield Say(stopped(verdict_words(led(plan))), "strong")
        said = against(plan)
        if said.any:
            yield Say(f"Not for signature. {said.lead}", "fails")
        yield from (Say(words, "look") for words in said.reasons)
    yield Head("To hand over")
    yield Make("The homeowner's paper", "homeowner", "PDF; it shows no prices")
    yield Make("The crew's paper", "crew", "PDF: plans, rods, how it is built, what to order")
    if seen.asked.prices and seen.whole:
        yield from _quote(seen)
    yield Make("The page that turns", "yard", "one file, yard.html: opens without a connection")
    yield Make("The film of how it is built", "film", "takes a minute or more")
    yield Make("Six questions answered", "questions", "PDF: what a homeowner asks first")
    yield Fold("For other programs", [Make(label, what, note) for what, label, note in _EXPORTS])
    yield Head("Two designs beside each other")
    yield Own(
        "compare",
        {
            "label": "An earlier state", "compare": "What differs from it",
            "none": "Nothing was changed yet: there is no other design.",
        },
    )  # fmt: skip


def _quote(seen: Seen) -> Iterator[Block]:
    assert seen.plan is not None
    price = price_of(seen.plan)
    if price is None:
        yield Say("A quote is made once the step “Cost” says how its price is made.", "quiet")
        return
    yield Make("The quote", "quote", "PDF, and the crew's own page of how the price is made")
    if against_signing(price):
        yield Say("The quote says that it is not for signature, and why.", "quiet")
