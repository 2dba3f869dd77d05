"""What a survey is told of: the shots that stand out, so many by name, and how many more."""

from types import SimpleNamespace

import pytest

from grading.checks import survey
from grading.worded import of_file


@pytest.mark.parametrize("more", [0, 1, 3])
def test_of_many_shots_that_stand_out_it_is_told_how_many_more_and_nothing_of_none_more(more):
    suspects = [
        SimpleNamespace(off=0.3, text=f"spot {n} stands out", yard="", key=str(n), name=f"spot {n}")
        for n in range(survey.MOST_NAMED + more)
    ]
    told = [of_file(text) for _, text, _ in survey._suspects(SimpleNamespace(suspects=suspects))]
    assert len(told) == survey.MOST_NAMED + (more > 0)
    assert not any(text.startswith("0 more") for text in told)
    assert any(text.startswith(f"{more} more spots") for text in told) == (more > 0)
