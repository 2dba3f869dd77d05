"""The crew's sheet has four pages at the most: what is alike is told once, then set closer."""

from make.plans.mixed_yard import mixed
from measure.printed import Printed, overlaps
from pypdf import PdfReader

from viz.sheets.write import write_sheets


def test_a_crew_s_sheet_of_three_areas_on_two_bases_is_four_pages(tmp_path):
    """What is alike is told once: layers of two areas, how well the ground is known."""
    (file,) = [
        each for each in write_sheets(mixed(), tmp_path / "out", lambda _: None, ["crew"])
        if each.stem == "crew"
    ]  # fmt: skip
    sheet = Printed(file)
    assert len(sheet.sizes) == 4
    assert not any(overlaps(words) for words in sheet.words)
    assert "patio and side walk: layers on panel base" in sheet.text
    assert "patio: Bases of what stands on it" in sheet.text
    assert sheet.text.count("Known from the shots") == 1
    # What says nothing without its beginning is not parted, however close the sheet is set.
    pages = [" ".join(words.split()) for words in (each.extract_text() for each in
             PdfReader(file).pages)]  # fmt: skip
    whole = (("Set level: seat wall", "how high one is."), ("drive: layers on", "is the top"))
    for first, last in whole:
        assert [last in page for page in pages if first in page] == [True]
