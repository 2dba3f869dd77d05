"""What a person reads who gave a wrong input: word for word, and the exit status."""

from __future__ import annotations

import re

import pytest
from contract.wrong_inputs import INPUTS, said_of

SAID = re.compile(r"(?P<where>.+?): found (?P<found>.+), expected (?P<expected>.+)")
SHOWN = re.compile(r'such as|one of|in quotes|" or "|: found|or more|"[^"]+"|[a-z] or [a-z0-9]')
"""Ways to say what was expected by showing what to write."""


@pytest.mark.parametrize("wrong", INPUTS, ids=[wrong["what"] for wrong in INPUTS])
def test_a_wrong_input_is_told_as_it_was_approved(tmp_path, wrong):
    status, out, error = said_of(wrong, tmp_path)
    assert (status, error) == (wrong["status"], wrong["error"])
    # What is planned is printed before it is written anywhere.
    assert not out or "--out" in wrong["words"]
    assert not (tmp_path / "out").exists()


def test_there_are_a_hundred_of_every_kind_and_each_is_told_once():
    names = [wrong["what"] for wrong in INPUTS]
    assert len(names) >= 100
    assert len(set(names)) == len(names)
    assert {wrong["status"] for wrong in INPUTS} == {2}


@pytest.mark.parametrize("wrong", INPUTS, ids=[wrong["what"] for wrong in INPUTS])
def test_each_line_says_where_what_was_found_what_was_expected_and_how_to_mend_it(wrong):
    """But for wishes in conflict, which name each and what would mend them."""
    if "would mend it" in wrong["error"]:
        return
    for line in wrong["error"].splitlines():
        if line.endswith(" ..."):  # what is being done
            continue
        said = SAID.fullmatch(line)
        assert said, line
        mended = ". " in said["expected"]
        assert mended or SHOWN.search(said["expected"]), line
