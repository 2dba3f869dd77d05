"""[price] of crew.toml: how a price is made from a cost, and what its paper says."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, StrictInt, model_validator

from grading.errors import Problem
from grading.files.fields import Name, Table, UnfitError
from grading.files.tables import Tables
from grading.geometry.tolerances import ROUNDING

NONE = "none"
"""What is written where there is none, on purpose: no tax, no cap, no notice."""

LARGEST_TEXT = 20_000
"""What a file of terms or of a notice weighs at the most: it is set on a page or two. [bytes]"""

_MOST_MONEY = 1e8
_TEXTS = ("terms", "notice", "disputes")


def _share(value: Any, what: str) -> float:
    """Return a share of a whole, "25 %" or 0.25; a bare 25 is neither."""
    written = value
    if isinstance(value, str) and value.strip().endswith("%"):
        try:
            return float(value.strip()[:-1]) / 100
        except ValueError:
            raise UnfitError(what) from None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnfitError(what)
    if not -1 <= value < 1:
        raise UnfitError(what, f'Write "{written:g} %".' if 0 < value < 100 else "")
    return float(value)


def _bounded(what: str, *, below: float) -> BeforeValidator:
    def read(value: Any) -> float:
        share = _share(value, what)
        if not 0 <= share < below:
            raise UnfitError(what)
        return share

    return BeforeValidator(read)


_MARGIN = (
    "a part of the price below 100 %: a margin of 25 % is a third over what it costs, and one of "
    "100 % has no price"
)


def _money(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnfitError("an amount of money as a number, such as 14.70")
    if not 0 <= value <= _MOST_MONEY:
        raise UnfitError("an amount of money, zero or more")
    return float(value)


def _tax(value: Any) -> float:
    if value == NONE:
        return 0.0
    what = 'a rate such as "7 %", or "none"; ask your accountant'
    share = _share(value, what)
    if not 0 < share < 0.5:
        raise UnfitError(what)
    return share


Cap = tuple[Literal["money", "share"], float]


def _caps(value: Any) -> tuple[Cap, ...]:
    """Return what a deposit is at the most, of which the least counts; none of "none"."""
    what = 'money as a number, a part of the price such as "10 %", both in a list, or "none"'
    if value == NONE:
        return ()
    found: list[Cap] = []
    for each in value if isinstance(value, list) and value else [value]:
        if isinstance(each, str):
            share = _share(each, what)
            if not 0 <= share <= 1:
                raise UnfitError(what)
            found.append(("share", share))
        elif isinstance(each, bool) or not isinstance(each, int | float):
            raise UnfitError(what)
        else:
            found.append(("money", _money(each)))
    return tuple(found)


class Payment(Table):
    """One payment after the deposit: when it is due, and its part of what the deposit leaves."""

    when: Name = Field(description="when it is due in quotes, as it is done and can be seen")
    share: Annotated[float, _bounded("a part of the rest, such as 40 %", below=1.0001)] = Field(
        description='its part of what the deposit leaves, such as "40 %"'
    )


class Extra(Table):
    """A price that no plan tells of: rock, a buried slab, a root."""

    what: Name = Field(description="what it is for, in quotes")
    each: Name = Field(description='what of, such as "ft2"')
    price: Annotated[float, BeforeValidator(_money)] = Field(description="the price of one")


# Made as they are: to be read as a person's are they would wait for what reads those.
PAYMENTS = tuple(
    Payment.model_construct(when=when, share=share)
    for when, share in (
        ("When the base is in and has been looked at", 0.4),
        ("When the last paver is laid", 0.4),
        ("When we have walked it with you", 0.2),
    )
)
"""Common practice, no source: against work that is done, the last when all of it is."""


class PriceTable(Table):
    """[price]: margin, tax and the highest deposit must be there, all else may be left out."""

    currency: Name | None = Field(None, description='the sign before money, such as "$" or "CHF"')
    margin: Annotated[float, _bounded(_MARGIN, below=1.0)] = Field(description=_MARGIN)
    overhead: Annotated[float, _bounded("a part of the cost, such as 18 %", below=10.0)] = Field(
        0.0, description='overhead as a part of the cost, such as "18 %"'
    )
    overhead_hour: Annotated[float, BeforeValidator(_money)] = Field(
        0.0, description="overhead as money on every hour of one person, such as 14.70"
    )
    contingency: Annotated[float, _bounded("a part of the cost, such as 5 %", below=1.0)] = Field(
        0.0, description='a reserve as a part of the cost, such as "5 %"'
    )
    first: Literal["contingency", "overhead"] = Field(
        "contingency", description="which is added first: the later is taken of both"
    )
    unit_prices: bool | None = Field(
        None, description="true where what the ground may cost more is priced by the unit, or false"
    )
    tax: Annotated[float, BeforeValidator(_tax)] = Field(
        description='the rate of sales tax such as "7 %", or "none"; ask your accountant'
    )
    tax_on: Literal["cost", "materials", "total"] | None = Field(
        None, description="what it falls on: cost, materials, total"
    )
    deposit: Annotated[float, _bounded("a part of the price, such as 10 %", below=1.0)] = Field(
        0.1, description='what is asked with the signature, a part of the price such as "10 %"'
    )
    deposit_most: Annotated[tuple[Cap, ...], BeforeValidator(_caps)] = Field(
        description="the most that may be asked with the signature where you work: money as a "
        'number, a part of the price such as "10 %", both in a list, or "none"'
    )
    payments: tuple[Payment, ...] = Field(
        PAYMENTS, description='a list of {when = "...", share = "40 %"} that adds up to 100 %'
    )
    extra: tuple[Extra, ...] = Field(
        (), description='a list of {what = "...", each = "ft2", price = 14}'
    )
    valid: Annotated[StrictInt, Field(ge=1, le=365)] = Field(
        30, description="for how many days the price holds, 1 to 365"
    )
    cancel: Annotated[StrictInt, Field(ge=0, le=60)] = Field(
        3,
        description="business days after signing in which nothing is ordered or dug, 0 to 60; "
        "your state may ask more than 3",
    )
    address: Name | None = Field(None, description="your street address in quotes")
    licence: Name | None = Field(None, description='your licence in quotes, or "none"')
    insurance: Name | None = Field(None, description='insurer and policy in quotes, or "none"')
    care: Name | None = Field(
        None, description='how long you put right what moves, such as "2 years", or "none"'
    )
    notice: Name | None = Field(
        None, description='a text file with the notice of cancellation beside crew.toml, or "none"'
    )
    terms: Name | None = Field(
        None, description='a text file with your own terms beside crew.toml, or "none"'
    )
    disputes: Name | None = Field(
        None, description='a text file on disputes and liens beside crew.toml, or "none"'
    )

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.overhead and self.overhead_hour:
            raise UnfitError(
                "overhead by one of the two", "Leave out overhead or overhead_hour.",
                found="both overhead and overhead_hour",
            )  # fmt: skip
        if self.tax and self.tax_on is None:
            raise UnfitError(
                'what the tax falls on: "cost", "materials" or "total"',
                'Add tax_on = "cost" where you pay it on what you buy; ask your accountant.',
                found="a tax that falls on nothing",
            )
        if self.contingency and self.unit_prices:
            raise UnfitError(
                "one of the two for what the ground may cost more",
                "Leave out the contingency, or write unit_prices = false.",
                found="a contingency beside unit prices",
            )
        total = sum(payment.share for payment in self.payments)
        if abs(total - 1) > ROUNDING:
            raise UnfitError(
                "parts that add up to 100 %",
                "Share out what the deposit leaves.",
                found=f"{100 * total:g} % in all",
                key="payments",
            )
        return self

    @property
    def by_the_unit(self) -> bool:
        """Whether what the ground may cost more is priced by the unit: not beside a reserve."""
        return not self.contingency if self.unit_prices is None else self.unit_prices


def text_of(table: PriceTable, key: str, folder: Path) -> str | None:
    """Return a text of the crew's own by its key, "" where it says there is none, None of a blank.

    Parameters
    ----------
    table : PriceTable
    key : "terms", "notice" or "disputes"
    folder : Path
        Of crew.toml.
    """
    name = getattr(table, key)
    if name is None or name == NONE:
        return None if name is None else ""
    return (folder / str(name)).read_text(encoding="utf-8-sig")


def pricing_of(reader: Tables, folder: Path, priced: Container[str]) -> PriceTable | None:
    """Return how a price is made from a cost; None where that is not written, or wrongly.

    Parameters
    ----------
    reader : Tables
        The tables of crew.toml; what is wrong with [price] is noted there.
    folder : Path
        That of crew.toml.
    priced : container of str
        Names of prices that go into [prices].
    """
    written = reader.written.get("price")
    misplaced = [name for name in written if name in priced] if isinstance(written, dict) else []
    for name in misplaced:
        expected, mend = "how a price is made, such as `margin`", "Did you mean `[prices]`?"
        reader.wrong(f"price.{name}", f"the key `{name}`", expected, mend)
    table = None if misplaced else reader.one("price", PriceTable)
    if table is not None:
        reader.problems += _text_problems(table, folder, reader.shown)
    return table


def _text_problems(table: PriceTable, folder: Path, shown: str) -> Iterator[Problem]:
    """Yield what is wrong with the texts that [price] names."""
    for key in _TEXTS:
        name = getattr(table, key)
        if name is None or name == NONE:
            continue
        where, found, path = f"{shown}, key price.{key}", f'"{name}"', folder / str(name)
        if not path.resolve().is_relative_to(folder.resolve()):
            yield Problem(where, f"{found}, which leaves the folder", "a file inside it")
        elif not path.is_file():
            mend = f'Put the file beside {shown}, or write "none".'
            yield Problem(where, f"{found}, which is not there", "a text file", mend)
        elif path.stat().st_size > LARGEST_TEXT:
            most = f"a text of at most {LARGEST_TEXT // 1000} kB"
            yield Problem(where, f"{found}, {path.stat().st_size / 1000:.0f} kB", most)
        else:
            yield from _unread(path, where, found)


def _unread(path: Path, where: str, found: str) -> Iterator[Problem]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        yield Problem(where, f"{found}, which is no UTF-8 text", "a text file")
        return
    if not text.strip():
        yield Problem(where, f"{found}, an empty file", "a text file", 'Write "none" for none.')


def paragraphs(text: str) -> Sequence[str]:
    """Return the paragraphs of a text, parted by empty lines, each on one line."""
    parts = text.replace("\r\n", "\n").split("\n\n")
    return [" ".join(part.split()) for part in parts if part.strip()]
