"""The step "Cost": what to order, the hours, what is carried, the money, and the price."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.led import led
from grading.order.days import days_words, factor_words, hours_words
from grading.order.telling import money, telling_of
from grading.pipeline import Plan
from grading.price.blanks import blanks_of
from grading.price.model import Price, price_of
from grading.price.sums import steps_of
from grading.worded import of_page
from viz.desk.blocks import Block, Call, Fold, Head, Own, Say, State, Step, Table
from viz.desk.seen import Seen
from viz.desk.sheet.checked import told_in
from viz.desk.sheet.crew_figures import figures, pricing
from viz.desk.sheet.rows import table_block
from viz.tables import order as tables
from viz.words.plain import opened, stopped
from viz.words.price import (
    against_signing,
    blank_of,
    price_rows,
    screen_words,
)
from viz.words.screen.led import bins_words, dig_words
from viz.words.uncounted import may_need, not_counted

KEY, TITLE = "cost", "Cost"

NONE_YET = "What it takes is counted once there is a plan."
WORKING = "Being counted ..."
_MONEY = ("price (", "cost (")


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    title = TITLE if seen.asked.prices else "Work"
    return Step(KEY, title, _answer(seen), _state(seen), list(_blocks(seen)))


def _state(seen: Seen) -> State:
    if seen.plan is None:
        return "to do"
    if not seen.whole:
        return "to do" if seen.conflict or seen.stale else "working"
    return "fails" if told_in(seen, KEY) else "settled"


def _answer(seen: Seen) -> str:
    plan = seen.plan
    if plan is None:
        return "not counted yet"
    if not seen.whole:
        return "working"
    lines = len(plan.order.total.supplies)
    told = f"{lines} line{'' if lines == 1 else 's'} to order"
    if not seen.asked.prices:
        return f"{told}, {days_words(plan.order, plan.order.total).partition(';')[0]}"
    price = price_of(plan)
    if price is not None:
        return f"{told}, {money(price.total, price.currency)} in all"
    if not plan.crew.priced:
        return f"{told}, {days_words(plan.order, plan.order.total).partition(';')[0]}"
    return f"{told}, {money(plan.order.total.cost.total, plan.crew.currency)} of cost"


def _blocks(seen: Seen) -> Iterator[Block]:
    plan, prices = seen.plan, seen.asked.prices
    if plan is None:
        yield Say(NONE_YET, "quiet")
        return
    if not seen.whole:
        yield Say(WORKING, "quiet")
        return
    yield from _takes(plan)
    yield from _order(plan, prices)
    yield from _work(plan, prices)
    if prices:
        yield from _price(seen, plan)
        yield Fold("Prices, wages and rates", [Own("figures", figures(seen, plan))])


def _takes(plan: Plan) -> Iterator[Block]:
    told = led(plan)
    yield Say(stopped(opened(dig_words(told))), "strong")
    bins = bins_words(told)
    yield Say(f"Bins: {bins}." if bins != "none" else "No bin.")
    yield Say(stopped(f"Moved {plan.order.way.words}"))
    yield Say(stopped(opened(days_words(plan.order, plan.order.total))))
    yield Say(stopped(opened(hours_words(plan.order, plan.order.total))), "quiet")
    yield Say(stopped(of_page(factor_words(plan.crew))), "quiet")


def _order(plan: Plan, prices: bool) -> Iterator[Block]:
    unit, telling = plan.site.unit, telling_of(plan.order)
    without = ("unit", "needed", *(() if prices else _MONEY))
    yield Head("To order")
    yield table_block(
        tables.supplies_table(plan.order.total, unit, telling),
        "For the whole site, on the bases chosen, rounded up as it is sold", without,
    )  # fmt: skip
    reached = [
        table_block(tables.lines_table(each.chosen, unit), tables.area_title(each), ("weight",))
        for each in plan.order.areas
    ]
    yield Fold("How each quantity was reached", reached)
    left, needed = not_counted(plan, keys=False), may_need(plan)
    out: list[Block] = [Say(stopped(opened(words))) for words in left]
    if needed:
        out.append(Head("What a job may still need, none of it counted"))
        out += [Say(stopped(opened(words))) for words in needed]
    if out:
        yield Fold("Not in this list, nor in the hours and the money", out)


def _work(plan: Plan, prices: bool) -> Iterator[Block]:
    order, unit, telling = plan.order, plan.site.unit, telling_of(plan.order)
    jobs, chosen = tables.site_jobs(order), tables.site_choice(order)
    yield Fold(
        "Hours and what is carried",
        [
            table_block(tables.hours_table(order.total, unit), "Hours of one person"),
            table_block(tables.moving_table(jobs, unit), "Moving it, whole site"),
        ],
    )  # fmt: skip
    beside = tables.comparison_table(jobs, unit, telling, chosen)
    money_columns = (f"cost ({telling.head})", f"8 in 10 ({telling.head})")
    blocks: list[Block] = [
        table_block(beside, "Whole site, base systems side by side, * chosen",
                    () if prices else money_columns)
    ]  # fmt: skip
    if prices:
        if not telling.priced:
            blocks.append(Say(stopped(of_page(telling.why)), "quiet"))
        title = "The money" if telling.priced else "The cost"
        blocks.append(table_block(tables.money_table(jobs, telling), title))
        blocks.append(
            Call("What moves the comparison most", "swings", note="every figure is moved in turn")
        )
    yield Fold("On every base", blocks)


def _price(seen: Seen, plan: Plan) -> Iterator[Block]:
    yield Head("The price")
    price = price_of(plan)
    if price is None:
        yield Say("No price is made of the cost yet: say how you make one.", "quiet")
        yield Own("figures", pricing(seen))
        return
    yield Say(stopped(opened(screen_words(plan))), "strong")
    yield from (Say(words, "look") for words in against_signing(price))
    yield _lines(price)
    rows = [[each.title, each.how, money(each.amount, price.currency)]
            for each in steps_of(price.sums)]  # fmt: skip
    yield Fold("From cost to price", [Table(("", "how", "amount"), rows)])
    paid = [[due.when, f"{100 * due.share:.0f} %", money(due.amount, price.currency)]
            for due in price.payments]  # fmt: skip
    yield Fold("Paid", [Table(("when", "part", "amount"), paid)])
    blanks = blanks_of(plan.crew)
    if blanks:
        yield Fold("To fill in before it is signed",
                   [Say(f"{key}: {blank_of(key)}") for key in blanks])  # fmt: skip
    yield Fold("How the price is made", [Own("figures", pricing(seen))])


def _lines(price: Price) -> Table:
    total = ["price in all", "", money(price.total, price.currency)]
    return Table(("for", "", "price"), [*price_rows(price), total])
