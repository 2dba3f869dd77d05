"""The commands that print beside the plan: what to order, the card of depths."""

from __future__ import annotations

import argparse

from viz.tables.account import account_of
from viz.tables.card import sheet_of
from viz.terminal import card, order
from viz.terminal.answering import Asked


def order_list(told: argparse.Namespace, asked: Asked) -> int:
    """Print what a site takes to order, move, work and pay."""
    made = asked.planned(told.site, told.out)
    account = account_of(made)
    asked.tell(order.text(account))
    if told.out is not None:
        asked.written(told.out, order.write(account, told.out, asked.say))
    return asked.checked(made)


def depths(told: argparse.Namespace, asked: Asked) -> int:
    """Print the card of every depth of topsoil."""
    made = asked.planned(told.site, told.out)
    sheet = sheet_of(made)
    asked.tell(card.as_json(sheet) if told.json else card.text(sheet))
    if told.out is not None:
        asked.written(told.out, card.write(sheet, told.out, asked.say), told.json)
    return asked.checked(made)


COMMANDS = {"order": order_list, "card": depths}
"""Each command that does no more by its name, which takes what was told and how it is answered."""
