"""A face and its back, however much there is to say: lettering gives way first, then pictures."""

from printed import Printed, overlaps
from sitefolder import write_site

import grading
from viz.sheets.write import write_sheets

SITE = """name = "Seven Elms"
unit = "ft"
spots = "spots.csv"

[ground]
soil = "loam"
organics = "4 in"

[house]
walls = [[0, 0], [24, 0]]
inside = [12, -6]

[[door]]
name = "back door"
at = [10, 0]
sill = 100.6

[[area]]
name = "patio"
outline = [[4, 0], [20, 0], [20, 14], [4, 14]]
"""
SPOTS = """x,y,z,id
-2,-1,100.00,S1
26,-1,99.99,S2
26,18,99.62,S3
-2,18,99.64,S4
12,7,98.81,S5
12,1,100.02,S6
6,12,99.76,S7
"""
"""S5 is a foot low: the paving stands high and in water, of which there is much to say."""


def test_a_homeowner_s_sheet_with_much_to_say_is_a_face_and_its_back(tmp_path):
    plan = grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=SPOTS)))
    made = write_sheets(plan, tmp_path / "out", lambda _: None, ["homeowner"])
    (file,) = [each for each in made if each.stem == "homeowner"]
    sheet = Printed(file)
    assert len(sheet.sizes) == 2
    assert not any(overlaps(words) for words in sheet.words)
    # The frame says first that it is not for signature, and no line to sign is there.
    assert sheet.text.index("NOT FOR SIGNATURE YET") < sheet.text.index("Your patio")
    assert "For the homeowner For the crew" not in sheet.text
