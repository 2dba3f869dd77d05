import numpy as np
import pytest

from grading.site.model import Reading, Spots
from grading.survey.shots import Shot, Survey, joined

READ = Reading(rod=1.2, unit="m", setup=1, hi=101.2)
SHOTS = (
    Shot("a", 0.0, 1.0, 100.0, 0.003, 0.006, "levels.csv", 4, "lawn", "wet", READ),
    Shot("", 2.0, 3.0, 99.9, 0.004, 0.02, "scan.csv", 0),
)


def shots_of(survey):
    each = zip(
        survey.names, *survey.xyz.T.tolist(), survey.sd_z, survey.sd_xy, survey.sources,
        survey.lines, survey.codes, survey.notes, survey.readings, strict=True,
    )  # fmt: skip
    return tuple(Shot(*shot) for shot in each)


def test_a_survey_is_its_shots():
    survey = Survey.of(SHOTS)
    assert shots_of(survey) == SHOTS
    assert len(survey) == 2
    assert shots_of(joined([survey, Survey.of(SHOTS[:1])])) == (*SHOTS, SHOTS[0])
    assert len(Survey.of([])) == len(joined([])) == 0


def test_nobody_can_write_to_a_survey():
    survey = Survey.of(SHOTS)
    with pytest.raises(ValueError, match="read-only"):
        survey.xyz[0, 2] = 1.0
    with pytest.raises(AttributeError):
        survey.lines = ()


def test_spots_keep_how_well_they_are_known_and_where_they_came_from():
    spots = joined([Survey.of(SHOTS)]).spots()
    assert spots.ids == ("a", "2")
    assert spots.own_ids == ("a", "")
    assert spots.sd_z.tolist() == [0.003, 0.004]
    assert spots.sd_xy.tolist() == [0.006, 0.02]
    assert spots.sources == ("levels.csv", "scan.csv")
    assert spots.readings == (READ, None)


def test_spots_of_which_nothing_is_told_are_as_a_level_and_a_tape_tell_them():
    spots = Spots(np.zeros((3, 3)), file="spots.csv")
    # Common practice, no source: 1/8 in on the rod, 1/4 in on the tape.
    assert spots.sd_z.tolist() == [0.003] * 3
    assert spots.sd_xy.tolist() == [0.006] * 3
    assert spots.sources == ("spots.csv",) * 3
    assert spots.readings == (None,) * 3
