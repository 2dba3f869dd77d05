"""What frost leaves of the fall, as a homeowner is told it: no fall that is told is none at all."""

import pytest
from make.plans.drawn import planned

from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.told import heave_told


@pytest.mark.parametrize(
    ("name", "said"),
    [
        # An inch over the 4 ft of the walk is all of its fall of 1 in.
        ("side-walkway", "If frost lifted its outer edge 1 in, it would lie level."),
        ("back-patio", "It keeps falling away from the house even if frost lifts its outer edge"),
    ],
)
def test_a_fall_that_frost_uses_up_is_not_told_as_one(name, said):
    plan = planned(name)
    told = " ".join(
        heave_told(Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True)))
    )
    assert said in told
    assert ("keeps falling" in told) == ("keeps falling" in said)
