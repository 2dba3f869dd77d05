"""The command: `fallaway demo`, and `plan`, `order`, `card`, `sheet` and others of a SITE.

Only argparse and the options are imported before it is known what to do, so that help comes at
once: here alone our own modules are imported inside functions, and with them what is slow of
Python's own.
"""

from __future__ import annotations

import argparse
import sys

from viz import VERSION as VERSION
from viz import options

TYPE_CHECKING = False  # as `typing` has it, which help does without
if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from typing import Any, NoReturn

    from grading import Plan
    from viz.terminal.answering import Asked

DEMO_SITE = "back-patio"

DONE, CHECK_FAILED, INPUT_WRONG, OWN_FAULT = 0, 1, 2, 3


class _Parser(argparse.ArgumentParser):
    """Refuses words as all else is refused: found, expected, how to mend it."""

    def __init__(self, **told: Any) -> None:
        super().__init__(formatter_class=_formatter, **told)
        self.register("type", "path", _path)
        self.register("type", "port", _port)

    def error(self, message: str) -> NoReturn:
        from viz.terminal.asked import refused

        raise refused(self.prog, message, sorted(_options(_parser())))


def _options(parser: argparse.ArgumentParser) -> set[str]:
    """Return every option that a parser or a command of it has."""
    found: set[str] = set()
    for action in parser._actions:
        found |= {each for each in action.option_strings if each.startswith("--")}
        if isinstance(action, argparse._SubParsersAction):
            for each in action.choices.values():
                found |= _options(each)
    return found


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="fallaway", description=options.DOES, epilog=options.STATUS)
    options.add_to(parser, VERSION)
    return parser


def _formatter(prog: str) -> argparse.HelpFormatter:
    from viz.terminal.lines import columns

    return argparse.HelpFormatter(prog, width=columns() - 2)


def _say(sentence: str) -> None:
    from viz.terminal.lines import say

    say(_shown(sentence))


def _tell(words: object, end: str = "\n") -> None:
    """Write to standard output; what it cannot take is a fault of the place it goes to."""
    from viz.terminal.lines import tell

    try:
        tell(_shown(str(words)), end)
    except OSError as error:
        from grading.errors import Problem, SiteError

        found = (error.strerror or str(error)).lower()
        mend = "Send it to another file, or make room."
        raise SiteError(
            [Problem("standard output", found, "a place that can be written", mend)]
        ) from error


def _shown(words: str) -> str:
    """Return words in which nothing that a person wrote controls the terminal."""
    if words.replace("\n", "").isprintable():
        return words
    from grading.signs import visible

    return visible(words, "\n\t")


def _path(words: str) -> Path:
    """Return a path as it was written; an empty one, as a variable not set leaves, is none."""
    if words.strip():
        from pathlib import Path

        return Path(words)
    from grading.errors import Problem, SiteError

    mend = 'For the folder that you are in write ".".'
    raise SiteError([Problem("the command", 'an empty name ""', "the name of a folder", mend)])


def _port(words: str) -> int:
    """Return the number of a port, 0 for any that is free."""
    if words.isascii() and words.isdigit() and int(words) < 65536:
        return int(words)
    from grading.errors import Problem, SiteError

    raise SiteError([Problem("--port", f'"{words}"', "a number from 0 to 65535, 0 for any")])


def _planned(site: Path, out: Path | None = None) -> Plan:
    """Return the plan of a site; where there is none, say what looked odd in it as well.

    A folder to write into that is another site's is refused before anything is said.
    """
    import grading
    from grading.ground.model import survey_to_ground
    from viz.files import check_owner

    read = grading.read_site(site)
    try:
        plan = grading.plan(read)
    except grading.GradingError:
        try:
            ground = survey_to_ground(read)
            suspects = ground.shots.suspects if ground.shots is not None else ()
            odd = (*read.warnings, *ground.warnings, *(each.text for each in suspects))
        except grading.GradingError:
            odd = read.warnings
        for warning in odd:
            _say(f"look again: {warning}")
        raise
    if out is not None:
        check_owner(out, plan.site)
    return plan


def _asked() -> Asked:
    from viz.terminal.answering import Asked

    return Asked(_planned, _say, _tell, VERSION)


def _plan(told: argparse.Namespace, site: Path, name: str) -> int:
    from viz import planning
    from viz.terminal.asked import idle_words

    idle_words(told)
    asked = _asked()
    if told.full or told.only is not None:
        from viz.terminal.report import text_of

        text = text_of(told.only)
    else:
        from functools import partial

        from viz.terminal import first_screen

        text = partial(first_screen.text, placeholders=told.price)
    plan = planning.plan(told, asked, site, name, text)
    if told.out is not None:
        from viz import press

        press.write_out(plan, told, asked, told.out)
    return asked.checked(plan, told=True)


def _plan_sites(told: argparse.Namespace) -> int:
    from viz.many.several import is_many

    if is_many(told.sites):
        from viz.many.command import plan_many
        from viz.terminal.asked import idle_words

        idle_words(told)
        return plan_many(told, _asked(), told.sites)
    if told.on is not None:
        from grading.errors import Problem, SiteError

        mend = "Leave it out: one site is planned on this machine."
        expected = "several sites, or a folder of them"
        raise SiteError([Problem("--on", "--on beside one site", expected, mend)])
    (site,) = told.sites
    return _plan(told, site, str(site))


def _run(told: argparse.Namespace) -> int:
    match told.command:
        case "demo":
            import sample_sites

            site = sample_sites.path(DEMO_SITE)
            return _plan(told, site, str(site))
        case "plan":
            return _plan_sites(told)
        case "order" | "card":
            from viz import printing

            return printing.COMMANDS[told.command](told, _asked())
        case "open":
            from viz import opening

            return opening.open_site(told, _asked())
        case "export" | "sheet" | "sequence":
            from viz import press

            return press.COMMANDS[told.command](told, _asked())
        case "import" | "levels" | "ties" | "stakes" | "verify" | "record" | "compare":
            from viz import field

            return field.COMMANDS[told.command](told, _asked())
        case "quote":
            from viz import quoting

            return quoting.quote(told, _asked())
    _tell(_parser().format_help(), end="")
    return DONE


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after `fallaway`; those of the process by default.
    """
    from viz.terminal.lines import (
        collect_seldom,
        hold_warnings,
        look_for_no_plugins,
        open_streams,
        stoppable,
        sum_in_one_order,
    )

    with stoppable() as stop:
        try:
            open_streams()
            if arguments is None:
                hold_warnings()
                sum_in_one_order()
                look_for_no_plugins()
                collect_seldom()
            status = _main(arguments)
        except (SystemExit, KeyboardInterrupt):
            if not stop.signal:
                raise
        # Also what is no Exception: libraries in other languages have panics of their own.
        except BaseException as error:
            if not stop.signal:
                return _faulty(error, arguments)
        if not stop.signal:
            return status
        _say("stopped")
        return stop.status


def _faulty(error: BaseException, arguments: Sequence[str] | None) -> int:
    """Say in a sentence where the report of a fault of our own lies."""
    from viz.terminal.fault import told

    words = sys.argv[1:] if arguments is None else list(arguments)
    try:
        told_again = _parser().parse_args(words)
        (site,) = getattr(told_again, "sites", [getattr(told_again, "site", None)])
    except (Exception, SystemExit):
        site = None
    _say(told(error, words, site, VERSION))
    return OWN_FAULT


def _main(arguments: Sequence[str] | None) -> int:
    try:
        try:
            chosen = _parser().parse_args(arguments)
        finally:
            _tell("", end="")  # of the help that was asked for, some stands in the stream still
        return _run(chosen)
    except Exception as error:
        from grading.errors import GradingError

        if not isinstance(error, GradingError):
            raise
        _say(str(error))
        return error.exit_status


if __name__ == "__main__":
    sys.exit(main())
