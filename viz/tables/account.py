"""An order of a plan with all that is asked of it."""

from __future__ import annotations

from msgspec import Struct

from grading.answers.halfway_words import left_words
from grading.order.margins.break_even import BreakEven, break_evens_of
from grading.order.margins.sensitivity import Swing, swings_of
from grading.order.model import Order
from grading.pipeline import Plan
from viz.words.paving.holding import hold_lines
from viz.words.paving.structures import structure_lines
from viz.words.price import screen_words
from viz.words.uncounted import may_need, not_counted


class Account(Struct, frozen=True):
    """An order with what was asked of it: what moves the verdict, and where a base stops paying.

    `left_out` says what neither its list nor its hours hold, a sentence each; `still` what is left
    of a job that is half done; `built` what is built beside and below the paving, `ways` what
    else could hold its raised edges, `may_need` what a job may need that nothing on its site tells
    of, and `price` what the job is offered for, for the crew.
    """

    order: Order
    swings: tuple[Swing, ...]
    break_evens: tuple[BreakEven, ...]
    left_out: tuple[str, ...]
    still: tuple[str, ...]
    built: tuple[str, ...] = ()
    ways: tuple[str, ...] = ()
    may_need: tuple[str, ...] = ()
    price: str = ""


def account_of(plan: Plan) -> Account:
    """Return the order of a plan, reckoned with the crew's own figures where it has some.

    Parameters
    ----------
    plan : Plan

    Raises
    ------
    SiteError
        Everything that is wrong with crew.toml.
    """
    order = plan.order
    return Account(
        order, swings_of(order), break_evens_of(order), not_counted(plan), tuple(left_words(plan)),
        tuple(structure_lines(plan)), tuple(hold_lines(plan)), may_need(plan),
        price=screen_words(plan),
    )  # fmt: skip
