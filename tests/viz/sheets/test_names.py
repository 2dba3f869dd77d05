"""Sheets of sites and crews with any name: nothing breaks, nothing is taken for code."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pdfplumber
import pytest
from make.by_lot import by_lot
from measure.printed import Printed, overlaps
from PIL import Image

import sample_sites
from viz.cli import CHECK_FAILED, DONE, INPUT_WRONG, main
from viz.files import MARK
from viz.sheets.compile import printable

HOSTILE = [
    '#panic("run") $ x $ #sys.inputs ]',
    '] #read("/etc/passwd") [ @label *strong* _emph_ `raw` ~ // remark',
    "<b>bold</b> & \"quoted\" 'names' \\n \\",
    "W" * 60,
    "W" * 25,
    "a long name " * 8,
    "فناء خلفي 🌳🧱 Größe ½ — ‘x’",
    "می\u200cشود \U0001f468\u200d\U0001f469\u200d\U0001f467",
]


@pytest.fixture(autouse=True)
def _no_picture(monkeypatch):
    """Spare the pictures in three dimensions: they hold no name but those of doors."""
    from grading.errors import CannotDraw

    def cannot(_):
        raise CannotDraw("no picture")

    monkeypatch.setattr("viz.sheets.homeowner.stills.before_and_after", cannot)


def _toml(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'


def site_of(folder: Path, name: str = "", crew: str = "") -> Path:
    """Return a copy of the side walkway, its site, area and door called by a name."""
    shutil.copytree(sample_sites.path("side-walkway"), folder)
    file = folder / "site.toml"
    text = file.read_text(encoding="utf-8")
    if name:
        lines = [
            f"name = {_toml(name)}" if line.split("=")[0].strip() == "name" else line
            for line in text.splitlines()
        ]
        # What is done of it is told by the name of its area, which is another now.
        text = "\n".join(lines).partition("[done]")[0]
    file.write_text(text, encoding="utf-8")
    if crew:
        (folder / "crew.toml").write_text(crew, encoding="utf-8")
    return folder


@pytest.mark.parametrize("name", by_lot(HOSTILE, 0.4), ids=range(len(HOSTILE)))
def test_a_name_is_printed_and_never_run(tmp_path, name):
    crew = f"[crew]\nname = {_toml(name)}\nphone = {_toml(name)}\nregistration = {_toml(name)}\n"
    site = site_of(tmp_path / "site", name, crew)
    assert main(["sheet", str(site), "--out", str(tmp_path / "out")]) in (DONE, CHECK_FAILED)
    for kind in ("homeowner", "crew"):
        sheet = Printed(tmp_path / "out" / f"{kind}.pdf")
        start = "".join(name.split())[:12]
        if name.isascii():
            assert start in "".join(sheet.text.split()), kind
        for number, (words, (wide, high)) in enumerate(zip(sheet.words, sheet.sizes, strict=True)):
            assert all(0 < word["x0"] <= word["x1"] < wide for word in words), (kind, number)
            assert all(0 < word["top"] <= word["bottom"] < high for word in words), (kind, number)
            assert not overlaps(words), (kind, number)
        assert "root:" not in sheet.text


LONG = "Number Fourteen Old Brickfield Terrace, the whole of the back and the strip beside it"


def test_the_name_of_a_site_is_whole_at_the_head_and_foot_of_every_page(tmp_path):
    """No name that a site may have is cut where there is room: in a head, a foot, or a column."""
    site = site_of(tmp_path / "site")
    file = site / "site.toml"
    first, _, rest = file.read_text(encoding="utf-8").partition("\n[")
    head = "\n".join(
        f"name = {_toml(LONG)}" if line.split("=")[0].strip() == "name" else line
        for line in first.splitlines()
    )
    file.write_text(f"{head}\n[{rest}", encoding="utf-8")
    assert main(["sheet", str(site), "--out", str(tmp_path / "out")]) in (DONE, CHECK_FAILED)
    for kind in ("homeowner", "crew"):
        sheet = Printed(tmp_path / "out" / f"{kind}.pdf")
        assert "…" not in sheet.text
        # In its head and in its foot.
        assert sheet.text.count(LONG) >= 2 * len(sheet.sizes), kind
        assert not any(overlaps(words) for words in sheet.words), kind


DOUBLE = "Featherstonehaugh-Cholmondeley"


def test_a_name_of_two_long_names_is_copied_whole(tmp_path):
    """What a reader finds in the file and copies out of it is the name, with nothing inside."""
    site = site_of(tmp_path / "site", DOUBLE)
    out = tmp_path / "out"
    assert main(["sheet", str(site), "--for", "crew", "--out", str(out)]) in (DONE, CHECK_FAILED)
    with pdfplumber.open(out / "crew.pdf") as file:
        text = file.pages[0].extract_text()
    assert DOUBLE in text
    assert printable(DOUBLE) == DOUBLE
    assert printable("M" * 30) == "MMMMMMMMMMMM\u200bMMMMMMMMMMMM\u200bMMMMMM"


CARD = """[crew]
name = "Plumb & Level Paving, invented"
phone = "555 0142"
email = "office@example.invalid"
registration = "Licence 000-000, invented"
logo = "{logo}"
"""


def picture(folder: Path, name: str) -> None:
    """Write a small picture that is plainly no one's logo."""
    if name.endswith(".svg"):
        (folder / name).write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">'
            '<rect width="40" height="20" fill="#204060"/></svg>',
            encoding="utf-8",
        )
        return
    pixels = np.linspace(0, 255, 30 * 60 * 3).reshape(30, 60, 3).astype(np.uint8)
    Image.fromarray(pixels).save(folder / name)


@pytest.mark.parametrize(
    ("logo", "above"), [("logo.png", False), ("logo.jpg", True), ("logo.svg", False)]
)
def test_the_crew_stands_at_the_head_of_every_page(tmp_path, logo, above):
    site = site_of(tmp_path / "site")
    home = tmp_path if above else site
    picture(home, logo)
    (home / "crew.toml").write_text(CARD.format(logo=logo), encoding="utf-8")
    out = tmp_path / "out"
    assert main(["sheet", str(site), "--out", str(out)]) in (DONE, CHECK_FAILED)
    for kind in ("homeowner", "crew"):
        sheet = Printed(out / f"{kind}.pdf")
        for words in ("Plumb & Level Paving", "555 0142", "office@example.invalid", "000-000"):
            assert words in sheet.text, (kind, words)
        assert (sheet.pictures > 0) == (not logo.endswith(".svg"))


def test_what_it_costs_the_crew_is_told_to_nobody(tmp_path):
    crew = 'currency = "CHF"\n[prices]\npanels = 30\n[crew]\nshow_prices = {}\n'
    for shown in ("true", "false"):
        site = site_of(tmp_path / shown, crew=crew.format(shown))
        out = tmp_path / f"out-{shown}"
        main(["sheet", str(site), "--out", str(out)])
        for kind in ("homeowner", "crew"):
            # It makes no price, and cost is no price.
            assert "CHF" not in Printed(out / f"{kind}.pdf").text, (kind, shown)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--for", "homeowner's"],
         '--for: found "homeowner\'s", expected homeowner, crew or questions.'),
        (["--for", "crw"], 'expected homeowner, crew or questions. Did you mean `crew`?'),
        (["--paper", "a5"], '--paper: found "a5", expected letter or a4.'),
        (["--for", "all", "--paper", "legal"], '--paper: found "legal"'),
    ],
)  # fmt: skip
def test_a_word_that_is_not_known_gets_a_sentence(tmp_path, capsys, words, said):
    out = tmp_path / "out"
    site = str(sample_sites.path("side-walkway"))
    assert main(["sheet", site, "--out", str(out), *words]) == INPUT_WRONG
    told = capsys.readouterr()
    assert said in told.err
    assert not told.out
    assert not out.exists()


def test_one_sheet_and_one_paper(tmp_path, capsys):
    site = str(sample_sites.path("side-walkway"))
    status = main(["sheet", site, "--out", str(tmp_path), "--for", "crew", "--paper", "A4"])
    assert status in (DONE, CHECK_FAILED)
    assert sorted(file.name for file in tmp_path.iterdir()) == [MARK, "crew.pdf"]
    assert Printed(tmp_path / "crew.pdf").sizes[0] == pytest.approx((595.28, 841.89), abs=0.1)
    told = capsys.readouterr()
    assert "crew.pdf" in told.out
    assert "setting the crew's paper" in told.err


def test_the_paper_is_that_of_the_site(tmp_path):
    for name, wide in (("side-walkway", 612.0), ("garden-court", 595.28)):
        out = tmp_path / name
        main(["sheet", str(sample_sites.path(name)), "--out", str(out), "--for", "crew"])
        assert Printed(out / "crew.pdf").sizes[0][0] == pytest.approx(wide, abs=0.1)


def test_a_logo_that_breaks_off_is_told_and_nothing_is_written(tmp_path, capsys):
    site = site_of(tmp_path / "site", crew=CARD.format(logo="logo.png"))
    picture(site, "logo.png")
    data = (site / "logo.png").read_bytes()
    (site / "logo.png").write_bytes(data[: len(data) // 2])
    out = tmp_path / "out"
    assert main(["sheet", str(site), "--out", str(out)]) == INPUT_WRONG
    assert 'crew.toml, key crew.logo: found "logo.png", which cannot be read' in (
        capsys.readouterr().err
    )
    assert not out.exists()


def test_a_logo_that_links_to_another_picture_is_told_with_its_file(tmp_path, capsys):
    site = site_of(tmp_path / "site", crew=CARD.format(logo="logo.svg"))
    (site / "logo.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
        '<image href="gone.png" width="9" height="9"/></svg>'
    )
    out = tmp_path / "out"
    assert main(["sheet", str(site), "--for", "crew", "--out", str(out)]) == INPUT_WRONG
    said = capsys.readouterr().err
    assert 'crew.toml, key crew.logo: found "logo.svg", which cannot be set (failed to load' in said
    assert "Put the pictures that it links to into the file" in said
    assert not out.exists()
