"""The questions a homeowner asks, each answered by one small drawing and a sentence or two."""

from __future__ import annotations

from msgspec import Struct

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from viz.drawings.answers.dirt import dirt_answer
from viz.drawings.answers.edge import edge_answer
from viz.drawings.answers.heave import heave_answer
from viz.drawings.answers.step import step_answer
from viz.drawings.answers.under import under_answer
from viz.drawings.answers.water import water_answer
from viz.paper.compose import Sheet

__all__ = ["Answer", "answers_of"]


class Answer(Struct, frozen=True):
    """One question answered.

    Attributes
    ----------
    key : str
        A short name, also that of its file.
    question : str
        As a homeowner asks it.
    words : str
        The answer in one or two plain sentences, with figures.
    sheet : Sheet
        The drawing that shows it, on a small page of its own.
    """

    key: str
    question: str
    words: str
    sheet: Sheet


def answers_of(plan: Plan, area: AreaPlan) -> list[Answer]:
    """Return the answers about one area of a plan, in the order in which they are asked.

    Parameters
    ----------
    plan, area : Plan, AreaPlan
    """

    makers = (water_answer, step_answer, under_answer, heave_answer, dirt_answer, edge_answer)
    return [Answer(*made(plan, area)) for made in makers]
