"""A face and its back, however much there is to say: lettering gives way first, then pictures."""

from io import BytesIO

from PIL import Image
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


def test_a_homeowner_s_sheet_with_much_to_say_is_a_face_and_its_back(tmp_path, monkeypatch):
    plan = grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=SPOTS)))
    picture = BytesIO()
    Image.new("RGB", (1150, 680), "white").save(picture, "png")
    label = {"words": "back door: 6 3/8 in step", "at": [0.5, 0.2], "x": 0.4, "y": 0.1,
             "width": 0.3, "height": 0.06}  # fmt: skip
    shot = {
        "pictures": [picture.getvalue()] * 2, "labels": [[label], [label]],
        "heights": "Heights are drawn at true scale.",
    }  # fmt: skip
    monkeypatch.setattr("viz.sheets.stills.before_and_after", lambda _: [shot])
    made = write_sheets(plan, tmp_path / "out", lambda _: None, ["homeowner"])
    (file,) = [each for each in made if each.stem == "homeowner"]
    sheet = Printed(file)
    assert len(sheet.sizes) == 2
    assert not any(overlaps(words) for words in sheet.words)
    # A label lies on one line of its box, on a picture that gave way too.
    (line,) = {
        round(word["top"], 1) for word in sheet.words[0] if word["text"] in ("back", "door:")
        and word["top"] < 250 and word["x0"] > 100
    }  # fmt: skip
    assert line > 0
