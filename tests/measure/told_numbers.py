"""Hold the numbers on a printed paper to the plan's JSON, as a reader does who has only both.

A paper is read by pypdf. What is written is turned to SI here, by the exact factors of NIST SP 811
(an inch is 25.4 mm, a yard 0.9144 m, a US gallon 231 in3), and never by the writers that made it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from pathlib import Path

import pypdf

INCH, FOOT, YARD3, FOOT2 = 0.0254, 0.3048, 0.9144**3, 0.3048**2
GALLON, LITRE = 231 * INCH**3, 1e-3

COUNT = r"\d+/\d+|\d+(?: \d+/\d+)?"
INCHES = rf"(?:{COUNT}) in"
FEET = r"\d+' \d+(?: \d+/\d+)?\""
METRES = r"\d+(?:\.\d+)? m(?![m²³\w])"
MILLIMETRES = r"\d+ mm"
LENGTH = rf"(?:{FEET}|{INCHES}|{MILLIMETRES}|{METRES})"
VOLUME = r"(?:less than )?\d+(?:\.\d+)? (?:yd³|m³|gal|L)"
AREA = r"\d+(?:\.\d+)? (?:ft²|m²)"
NUMBER = rf"(?<![\w.]){FEET}|(?<![\w./])(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?![\w./]*\d)"


def text_of(file: Path) -> str:
    """Return all that is written on a paper, one space between words."""
    pages = [page.extract_text() for page in pypdf.PdfReader(file).pages]
    # A word of two parts that ends a line between them is one word.
    joined = (
        re.sub(r"(?<=\w)[-\ufffe\u00ad]\s*\n\s*(?=\w)", "-", "\n".join(pages))
        .replace("\u200b", "")
        .replace("\ufffe", "-")
        .replace("\u00ad", "-")
    )
    return re.sub(r"\s+", " ", joined)


def count(words: str) -> float:
    """Return 4 1/2 as 4.5."""
    return float(sum(Fraction(part) for part in words.split()))


def metres(words: str) -> float:
    """Return a length as it is written, in metres."""
    if "'" in words:
        feet, inches = words.rstrip('"').split("' ")
        return int(feet) * FOOT + count(inches) * INCH
    number, unit = words.rsplit(" ", 1)
    return count(number) * INCH if unit == "in" else float(number) * {"mm": 1e-3, "m": 1.0}[unit]


def cubic(words: str) -> float:
    """Return a volume as it is written, in cubic metres."""
    number, unit = words.removeprefix("less than ").rsplit(" ", 1)
    return float(number) * {"yd³": YARD3, "m³": 1.0, "gal": GALLON, "L": LITRE}[unit]


def square(words: str) -> float:
    """Return an area as it is written, in square metres."""
    number, unit = words.rsplit(" ", 1)
    return float(number) * {"ft²": FOOT2, "m²": 1.0}[unit]


def finest(words: str) -> float:
    """Return half of the last place that a measure is written to, in SI."""
    number, unit = words.removeprefix("less than ").rstrip('"').rsplit(" ", 1)
    if "'" in words:
        return INCH / 32
    one = {"in": INCH, "mm": 1e-3, "m": 1.0, "yd³": YARD3, "m³": 1.0, "gal": GALLON, "L": LITRE,
           "ft²": FOOT2}.get(unit, 1.0)  # fmt: skip
    if unit == "in":
        # Paving is told to 1/16 in, what is earth to 1/8 in.
        return INCH / 16
    decimals = len(number.partition(".")[2])
    return one * 0.5 * 10.0**-decimals


def near(words: str, value: float, hair: float = 1e-9) -> bool:
    """Say whether a measure as it is written is a value [SI], rounded."""
    read = cubic if re.fullmatch(VOLUME, words) else square if re.fullmatch(AREA, words) else metres
    return abs(read(words) - value) <= finest(words) * 1.000001 + hair


class Reader:
    """A paper's text, which of its numbers were looked at, and what was told of which thing."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.seen: list[tuple[int, int]] = []
        self.told: dict[object, set[str]] = {}
        self.wrong: list[str] = []

    def fact(
        self, pattern: str, check: Callable[[re.Match], bool], key: object = None, least: int = 0
    ) -> None:
        """Look at every place where something is told, and hold it to what it should be.

        Parameters
        ----------
        pattern : str
            A regular expression; its group "n", where it has one, is what is told.
        check : callable
            Whether what was found is right.
        key : object, optional
            What is told; all places must tell it with one value.
        least : int
            How often it must be told.
        """
        found = list(re.finditer(pattern, self.text))
        if len(found) < least:
            self.wrong.append(f"told {len(found)} times, not {least}: {pattern}")
        for each in found:
            self.seen.append(each.span())
            if not check(each):
                self.wrong.append(f"not as in the plan: {each.group(0)}")
            if key is not None and "n" in each.re.groupindex:
                self.told.setdefault(key, set()).add(each["n"])

    def strings(self, found: Iterable[str]) -> None:
        """Take sentences of the plan's JSON, which stand on the paper word for word."""
        for said in {re.sub(r"\s+", " ", each) for each in found}:
            if len(said) > 10 and re.search(r"\d", said):
                for each in re.finditer(re.escape(said), self.text, re.IGNORECASE):
                    self.seen.append(each.span())

    def unread(self) -> list[str]:
        """Return every number that no fact looked at, with what is around it."""
        found = []
        for each in re.finditer(NUMBER, self.text):
            a, b = each.span()
            if not any(low <= a and b <= high for low, high in self.seen):
                found.append(self.text[max(a - 30, 0) : b + 25])
        return found

    def twice(self) -> dict[object, set[str]]:
        """Return what is told with more than one value."""
        return {key: words for key, words in self.told.items() if len(words) > 1}


def strings_in(record: object) -> Iterator[str]:
    """Yield every string of a JSON record."""
    if isinstance(record, dict):
        for value in record.values():
            yield from strings_in(value)
    elif isinstance(record, list):
        for value in record:
            yield from strings_in(value)
    elif isinstance(record, str):
        yield record


def pavers_of(record: dict) -> tuple[set[frozenset[int]], set[str]]:
    """Return the sizes of pavers and the widths of their joints, as the lines of an order say."""
    hows = [line["how"] for area in record["areas"]
            for line in area["bases"][area["base"]]["quantities"]["lines"]]  # fmt: skip
    sizes = {frozenset(map(int, found)) for how in hows for found in
             re.findall(r"^(\d+) (?:in|mm) x (\d+) (?:in|mm)", how)}  # fmt: skip
    return sizes, {found for how in hows for found in re.findall(rf"joints ({LENGTH}) wide", how)}


def unheld_edges(told: Reader, record: dict) -> None:
    """Look at how high edges stand that nothing holds and no lawn is brought up to."""
    unheld = {area["name"]: area["edge"]["unheld"] for area in record["areas"]}
    brought = rf"lawn up to (?P<area>.+?), where it stands up to (?P<n>{LENGTH}) above it and"
    told.fact(brought, lambda found: near(found["n"], unheld[found["area"]]))
