"""What is said of ground that was measured, and of ground that is not known well enough."""

import pytest

from grading.checks.ground import judged

TOLD = "the ground falls 1 % over 10 ft"


@pytest.mark.parametrize(
    ("status", "doubt", "told"),
    [
        ("pass", "", ("pass", TOLD)),
        ("warn", "", ("warn", f"{TOLD}: regrade it")),
        ("fail", "", ("fail", f"{TOLD}: regrade it")),
        ("pass", ", give or take 2 %", ("unknown", f"{TOLD}, give or take 2 %")),
        ("warn", ", give or take 2 %",
         ("unknown", f"{TOLD}, give or take 2 %. As it was measured: regrade it")),
        ("fail", ", give or take 2 %",
         ("unknown", f"{TOLD}, give or take 2 %. As it was measured: regrade it")),
    ],
)  # fmt: skip
def test_what_is_in_doubt_is_not_known_and_its_mend_is_of_what_was_measured(status, doubt, told):
    assert judged(status, TOLD, doubt, "regrade it") == told
