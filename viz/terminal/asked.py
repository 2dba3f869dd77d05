"""What is wrong with the words after `fallaway`, in a sentence like those about a site."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence

from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest


def refused(command: str, reason: str, known: Sequence[str]) -> SiteError:
    """Return the sentence about words that the command cannot take.

    Parameters
    ----------
    command : str
        As far as it was understood, "fallaway plan".
    reason : str
        As argparse gives it; its wording differs from one Python to the next.
    known : sequence of str
        The options that there are.
    """
    help_ = f'"{command} --help" tells what may stand there.'
    if match := re.fullmatch(r"the following arguments are required: (.+)", reason):
        return _of(command, "nothing more", f"{match[1]} after it", help_)
    if match := re.fullmatch(r"unrecognized arguments: (.+)", reason):
        word = match[1].split()[0]
        mend = nearest(word, known) or f'"{command} COMMAND --help" tells what may follow.'
        return _of(command, f'"{word}"', "a word that it knows", mend)
    if match := re.fullmatch(r"argument (.+): invalid choice: (.+) \(choose from (.+)\)", reason):
        names = [name.strip("' ") for name in match[3].split(",")]
        word = match[2].strip("'\"")
        return _of(
            command, f'"{word}"', f"one of {', '.join(names)}", nearest(word, names) or help_
        )
    if match := re.fullmatch(r"argument (.+): expected one argument", reason):
        return _of(f"{command} {match[1]}", "nothing after it", "one word after it", help_)
    if match := re.fullmatch(r"argument (.+): ignored explicit argument (.+)", reason):
        word = match[2].strip("'\"")
        return _of(f"{command} {match[1]}", f'"{word}"', "no word of its own", help_)
    if match := re.fullmatch(r"argument (.+): not allowed with argument (.+)", reason):
        return _of(command, f"{match[1]} beside {match[2]}", "one of them", "Leave one out.")
    if match := re.fullmatch(r"ambiguous option: (\S+) could match (.+)", reason):
        return _of(command, f'"{match[1]}"', f"one of {match[2]}", "Write it in full.")
    return _of(command, f"words that it cannot take ({reason})", "those that it knows", help_)


_IDLE = (
    ("details", "out", "--out DIR"),
    ("png", "details", "--details"),
    ("all_papers", "out", "--out DIR"),
)
"""What is of no use without another word: its name, that of the other, and how that is written."""


def idle_words(told: argparse.Namespace) -> None:
    """Refuse words after the command that are of no use without others.

    Parameters
    ----------
    told : Namespace

    Raises
    ------
    SiteError
        All of them, at once.
    """
    problems = [
        Problem(option, f"{option} without {words}", f"{words} beside it",
                f"Write {words} as well, or leave {option} out.")
        for name, other, words in _IDLE
        for option in [f"--{name.replace('_', '-')}"]
        if getattr(told, name, None) and not getattr(told, other, None)
    ]  # fmt: skip
    if problems:
        raise SiteError(problems)


def _of(where: str, found: str, expected: str, mend: str) -> SiteError:
    return SiteError([Problem(where, found, expected, mend)])
