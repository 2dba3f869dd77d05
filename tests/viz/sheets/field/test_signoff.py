"""The sign-off tells what was built as it was recorded, and is not for signature where it fails."""

import csv
import json

import numpy as np
import pypdfium2
import pytest
from make.sites.compared import folder

from grading.logbook.chain import FOLDER, records_of
from viz import cli


def shots(path, off=0.0):
    rows = [
        f"{x},{y},{10.03 - 0.03 * y + off:.4f}"
        for x in np.arange(-2, 2.1, 0.5)
        for y in np.arange(0, 3.1, 0.5)
    ]
    path.write_text("\n".join(["x,y,z", *rows]), encoding="utf-8")
    return str(path)


def words_of(path):
    document = pypdfium2.PdfDocument(path)
    return " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())


@pytest.fixture
def site(tmp_path):
    return folder(tmp_path / "a")


def test_what_was_verified_is_recorded_and_signed_off(site, tmp_path, capsys):
    words = ["verify", str(site), shots(tmp_path / "s.csv"), "--layer", "surface", "--record",
             "--who", "N. Ames", "--note", "clay pipe at f, left in place"]  # fmt: skip
    assert cli.main(words) == 0
    capsys.readouterr()
    out = tmp_path / "out"
    assert cli.main(["record", str(site), "--out", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    (record,) = told["records"]
    assert (record["kind"], record["who"], told["broken"]) == ("surface", "N. Ames", False)
    text = words_of(out / "signoff.pdf")
    for verdict in record["verdicts"]:
        assert verdict["text"] in text
    assert "NOT FOR SIGNATURE" not in text
    assert "1 record, dated, numbered, sealed by its hash. Measured" in text
    assert "Not measured: Bedding, Base, Subgrade." in text
    assert "clay pipe at f, left in place" in text
    assert "garden door: 70 mm" in text
    assert "For the homeowner For the crew Date" in text


def test_what_fails_is_not_for_signature_until_a_correction_stands_in_its_place(site, tmp_path):
    low = shots(tmp_path / "low.csv", -0.03)
    verify = ["verify", str(site), low, "--layer", "surface", "--record"]
    assert cli.main(verify) == 1
    out = tmp_path / "out"
    cli.main(["record", str(site), "--out", str(out)])
    text = words_of(out / "signoff.pdf")
    assert "NOT FOR SIGNATURE: what was built fails" in text
    assert "No lines to sign yet" in text
    assert "For the homeowner" not in text
    mended = shots(tmp_path / "mended.csv")
    assert cli.main(["verify", str(site), mended, "--layer", "surface", "--record", "--corrects",
                     "1"]) == 0  # fmt: skip
    cli.main(["record", str(site), "--out", str(out)])
    assert "NOT FOR SIGNATURE" not in words_of(out / "signoff.pdf")


def test_a_broken_chain_is_told_first_and_exits_with_one(site, tmp_path, capsys):
    assert cli.main(["record", str(site), "--note", "agreed: step of 7 in"]) == 0
    (record,) = records_of(site)
    path = site / FOLDER / record.file
    path.write_text(path.read_text(encoding="utf-8").replace("7 in", "8 in"), encoding="utf-8")
    capsys.readouterr()
    out = tmp_path / "out"
    assert cli.main(["record", str(site), "--out", str(out)]) == 1
    printed = capsys.readouterr().out
    assert printed.index("BROKEN: record 1") < printed.index("agreed: step of 8 in")
    assert "NOT FOR SIGNATURE: the records are not as they were written" in words_of(
        out / "signoff.pdf"
    )


def test_the_map_and_the_list_of_what_was_built_tell_every_shot(site, tmp_path):
    out = tmp_path / "out"
    low = shots(tmp_path / "low.csv", -0.03)
    words = ["verify", str(site), low, "--layer", "surface", "--out", str(out)]
    assert cli.main(words) == 1
    text = words_of(out / "as-built-surface.pdf")
    assert "63 of 63 shots beyond the 10 mm allowed" in text
    assert text.count("30 mm low") >= 63
    with (out / "as-built-surface.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 63
    assert {row["status"] for row in rows} == {"fail"}
    (drawn,) = out.glob("as-built-surface-*.svg")
    assert drawn.read_text(encoding="utf-8").count("30 mm low") == 63
    assert all(abs(float(row["off (m)"]) + 0.03) < 1e-4 for row in rows)
