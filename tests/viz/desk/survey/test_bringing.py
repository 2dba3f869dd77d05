"""A file of points or a scan brought into the page: shown before it is taken, and taken whole."""

import pytest
from drive.served import copied
from make.plans.measured_in import NEW, asked, new_site, seen_of

from grading.survey.sources.importing import import_files
from viz.desk.asked.survey import INCOMING
from viz.desk.survey.bringing import understood
from viz.desk.written.document import Document
from viz.desk.written.journal import FOLDER


def sent(site, name, text):
    folder = site / FOLDER / INCOMING
    folder.mkdir(parents=True, exist_ok=True)
    token = f"00ab00ab{name.encode().hex()[:8]}.{name.rpartition('.')[2]}"
    (folder / token).write_text(text)
    return token


SHOTS = "".join(f"{k},{10 + k * k},{20 - k},{99 + k / 10},lawn\n" for k in range(1, 6))


def test_what_a_file_does_not_say_is_asked_for(tmp_path):
    site = new_site(tmp_path / "new")
    token = sent(site, "yard.csv", SHOTS)
    answer = asked(seen_of(site), "import", file=token, name="yard.csv")
    assert answer["asked"] == "units"
    assert answer["problems"] == [
        "yard.csv: found numbers that do not say what they are measured in, expected a unit."
    ]
    text = sent(site, "yard.txt", SHOTS)
    assert asked(seen_of(site), "import", file=text, name="yard.txt")["asked"] == "way"


def test_a_file_is_shown_and_nothing_is_written_until_it_is_taken(tmp_path):
    site = new_site(tmp_path / "new")
    seen = seen_of(site)
    answer = asked(seen, "import", file=sent(site, "yard.csv", SHOTS), name="yard.csv", units="ft")
    assert answer["words"] == "5 spots: x 15 to 19, y 11 to 35, levels 99.1 to 99.5 ft"
    assert answer["ways"] == [{"into": "alone", "label": "Take it as the survey"}]
    assert "its columns are taken as point, north, east" in answer["remarks"][0]
    assert sorted(each.name for each in site.iterdir()) == [FOLDER, "site.toml"]


def test_what_is_taken_is_what_the_command_imports(tmp_path):
    site = copied("back-patio", tmp_path / "page")
    seen = seen_of(site)
    metres = {"file": sent(site, "yard.csv", SHOTS), "name": "yard.csv", "units": "m"}
    key = asked(seen, "import", **metres)["key"]
    apply = asked(seen, "take", key=key, into="beside")["apply"]
    assert apply["changes"] == [{"do": "set", "at": "spots", "to": ["spots.csv", "yard.csv"]}]
    by_hand = copied("back-patio", tmp_path / "command")
    (tmp_path / "yard.csv").write_text(SHOTS)
    import_files(by_hand, by_hand / "site.toml", [tmp_path / "yard.csv"], units="m")
    assert apply["text"] == (by_hand / "yard.csv").read_text()
    alone = asked(seen, "take", key=key, into="alone")["apply"]
    assert alone["changes"] == [{"do": "set", "at": "spots", "to": "yard.csv"}]


def test_points_in_common_lay_it_onto_the_yard(tmp_path):
    site = new_site(tmp_path / "new")
    common = "point,x,y,z,scan x,scan y,scan z\n" + "".join(
        f"{k},{y},{-x + 40},{z},{x},{y},{z}\n"
        for k, (x, y, z) in enumerate([(0, 0, 99), (20, 0, 99.5), (0, 20, 99.2), (20, 20, 99.9)])
    )  # a quarter turn: east is north, north is west
    answer = asked(
        seen_of(site), "import", file=sent(site, "yard.csv", SHOTS), name="yard.csv", units="ft",
        common=sent(site, "marks.csv", common),
    )  # fmt: skip
    assert answer["problems"] == []
    assert answer["laid"]["words"].startswith("The scan was turned")
    assert answer["words"].startswith("5 spots: x 11 to 35, y 21 to 25, levels 99.1 to 99.5 ft")


def test_breaklines_come_along(tmp_path):
    import ezdxf

    site, drawing = new_site(tmp_path / "new"), ezdxf.new()
    drawing.header["$INSUNITS"] = 2
    model = drawing.modelspace()
    for x, y, z in [(0, 0, 99), (30, 0, 99.4), (0, 20, 98.8), (30, 20, 98.9), (15, 9, 99)]:
        model.add_point((x, y, z))
    model.add_polyline3d([(0, 0, 99), (15, 9, 99), (30, 20, 98.9)])
    drawing.saveas(tmp_path / "yard.dxf")
    seen = seen_of(site)
    found = understood(seen.document, [], tmp_path / "yard.dxf", "yard.dxf")
    assert found["problems"] == []
    apply = asked(seen, "take", key=found["key"], into="alone")["apply"]
    assert [each["at"] for each in apply["changes"]] == ["spots", "ground/breaklines"]
    assert list(apply["beside"]) == [apply["changes"][1]["to"]]
    assert apply["beside"][apply["changes"][1]["to"]].startswith("line,x,y,z")


@pytest.mark.parametrize(
    "token", ["../site.toml", "/etc/passwd", "site.toml", "", "00ab00ab.csv/../../../site.toml"]
)
def test_no_path_from_outside_is_followed(tmp_path, token):
    site = new_site(tmp_path / "new")
    sent(site, "yard.csv", SHOTS)
    answer = asked(seen_of(site), "import", file=token, name="site.csv", units="ft")
    assert answer["problems"] == ["The file is not held any more. Bring it in again."]
    answer = asked(seen_of(site), "import", file=sent(site, "yard.csv", SHOTS), common=token)
    assert answer["problems"] == ["The file is not held any more. Bring it in again."]


def test_a_name_from_outside_is_made_a_plain_one(tmp_path):
    site = new_site(tmp_path / "new")
    token = sent(site, "yard.csv", SHOTS)
    answer = asked(seen_of(site), "import", file=token, name="../../a b/\x1b[31m.csv", units="ft")
    apply = asked(seen_of(site), "take", key=answer["key"], into="alone")["apply"]
    document = Document({"site.toml": NEW}).with_text(apply["name"], apply["text"])
    assert set(document.texts) == {"site.toml", apply["name"]}


def test_what_is_not_held_is_not_taken(tmp_path):
    answer = asked(seen_of(new_site(tmp_path / "new")), "take", key="0123456789abcdef")
    assert "Bring the file in again" in answer["problems"][0]
