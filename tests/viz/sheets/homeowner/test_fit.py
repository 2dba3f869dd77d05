"""A face and its back, however much there is to say: lettering gives way first, then pictures."""

from make.sites.seven_elms import DOUBTFUL, SITE, SPOTS
from make.sites.site_folder import write_site
from measure.printed import Printed, overlaps

import grading
from viz.sheets.write import write_sheets


def test_a_homeowner_s_sheet_with_much_to_say_is_a_face_and_its_back(tmp_path):
    # S5 is a foot low: the paving stands high and in water, of which there is much to say.
    spots = SPOTS.format(*DOUBTFUL)
    plan = grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=spots)))
    made = write_sheets(plan, tmp_path / "out", lambda _: None, ["homeowner"])
    (file,) = [each for each in made if each.stem == "homeowner"]
    sheet = Printed(file)
    assert len(sheet.sizes) == 2
    assert not any(overlaps(words) for words in sheet.words)
    # The frame says first that it is not for signature, and no line to sign is there.
    assert sheet.text.index("NOT FOR SIGNATURE YET") < sheet.text.index("Your patio")
    assert "For the homeowner For the crew" not in sheet.text
