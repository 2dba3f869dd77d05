"""How the command plans a site and where it says and prints: what every command is handed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from msgspec import Struct

from grading.pipeline import Plan

DONE, CHECK_FAILED = 0, 1
"""Exit statuses of a command that did what it was asked."""


class Planned(Protocol):
    """Plans a site, the folder to write into looked at first."""

    def __call__(self, site: Path, out: Path | None = None) -> Plan:
        """Return the plan of a site."""


class Asked(Struct, frozen=True):
    """How the command plans a site, and where it says and prints.

    Attributes
    ----------
    planned : callable
        Returns the plan of a site, the folder to write into looked at first.
    say, tell : callable
        Write a sentence to standard error, and words to standard output.
    version : str
        Of the program, as records keep it.
    """

    planned: Planned
    say: Callable[[str], None]
    tell: Callable[[object], None]
    version: str

    def written(self, folder: Path, files: Sequence[Path], as_json: bool = False) -> None:
        """Say what was written where, unless JSON is all that may be printed."""
        if not as_json:
            self.tell(written_words(folder, files))

    def look_again(self, plan: Plan) -> None:
        """Say what looks odd in what was surveyed and written."""
        for warning in plan.warnings:
            self.say(f"look again: {warning}")

    def checked(self, plan: Plan, *, told: bool = False) -> int:
        """Return the exit status of a plan; say that a check fails where that was not `told`."""
        if plan.failed and not told:
            self.say("a check of the plan failed: see `fallaway plan`")
        return CHECK_FAILED if plan.failed else DONE


_NAMED = 12  # files that are named one by one


def written_words(folder: Path, files: Sequence[Path]) -> str:
    """Say what was written where: of a folder with many files, how many."""
    own = [file.relative_to(folder) for file in files]
    if len(own) <= _NAMED:
        names = [str(file) for file in own]
    else:
        names = [str(file) for file in own if len(file.parts) == 1]
        folders = dict.fromkeys(file.parts[0] for file in own if len(file.parts) > 1)
        for each in folders:
            count = sum(file.parts[0] == each and len(file.parts) > 1 for file in own)
            names.append(f"{each}/ ({count} files)")
    return "\n".join([f"\nWritten to {folder}:", *(f"  {name}" for name in names)])
