"""What scripts rely on: the site file, the command, its exit status, and the JSON."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from make.sites.juniper import FOOT, SITE, spots


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = tmp_path / "juniper"
    folder.mkdir()
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    (folder / "spots.csv").write_text(spots(), encoding="utf-8")
    return folder


def run(*words: object, **kwargs: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "viz.cli", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=False, **kwargs)


def edit(site: Path, old: str, new: str) -> None:
    file = site / "site.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_the_json_holds_what_scripts_read(site):
    done = run("plan", site, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    result = json.loads(done.stdout)
    assert result["schema"] == "fallaway/plan/1"
    assert result["site"] == "Juniper Court, back patio"
    assert result["ground"]["spots"] == 88
    assert result["ground"]["triangles"] >= 140
    area = result["areas"][0]
    assert area["name"] == "patio"
    assert area["plan_area"] == pytest.approx(28 * 18 * FOOT**2)
    finish = area["finish"]
    assert finish["z0"] == pytest.approx(100.2 * FOOT)
    assert finish["dzdx"] == pytest.approx(0, abs=1e-15)
    assert finish["dzdy"] == pytest.approx(-0.02)
    assert (finish["fall"], finish["bearing"]) == pytest.approx((0.02, 0))
    assert area["walls"][0]["fall_away"] == pytest.approx(0.02)
    assert area["walls"][0]["distance"] == pytest.approx(10 * FOOT)
    assert area["advice"]["base"] == "panel"
    assert all({"rule", "text"} <= set(reason) for reason in area["advice"]["reasons"])
    assert area["bases"]["dense"]["quantities"]
    assert set(result["cost"]["bases"]) >= {"dense", "open", "panel"}
    assert set(area["bases"]) == {"dense", "open", "panel"}
    for check in result["checks"]:
        assert set(check) >= {"rule", "area", "status", "value", "limit", "unit", "source"}
        assert check["status"] in ("pass", "warn", "fail", "unknown")


def test_the_volumes_are_those_of_the_hand(site):
    # The ground is a plane 0.2 ft below the finish, so every volume is an area times a depth.
    bases = json.loads(run("plan", site, "--json").stdout)["areas"][0]["bases"]
    hole = (28 + 2 * 0.5) * (18 + 0.5) * FOOT**2
    for name, inches in [("dense", 9.375), ("open", 9.375), ("panel", 4.125)]:
        depth = inches / 12 * FOOT - 0.2 * FOOT
        base = bases[name]
        assert base["build_up"] == pytest.approx(inches / 12 * FOOT)
        assert base["dig_area"] == pytest.approx(hole)
        assert base["cut"] == pytest.approx(hole * depth)
        assert base["cut_in_outline"] == pytest.approx(28 * 18 * FOOT**2 * depth)
        assert base["fill"] == pytest.approx(0, abs=1e-9)
        assert base["max_dig"] == pytest.approx(depth)
        assert base["spoil_loose"] > base["cut"]


def test_without_out_nothing_is_written(site):
    before = sorted(site.parent.rglob("*"))
    assert run("plan", site, cwd=site.parent).returncode == 0
    assert sorted(site.parent.rglob("*")) == before


def test_a_failed_check_ends_with_one(site):
    edit(site, 'fall = "2 %", bearing = 0', 'fall = "2 %", bearing = 180')
    done = run("plan", site, "--json")
    assert done.returncode == 1
    assert any(check["status"] == "fail" for check in json.loads(done.stdout)["checks"])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('spots = "spots.csv"', 'spots = "../spots.csv"', "spots.csv"),
        ("outline =", "outlines =", "outline"),
        ('unit  = "ft"', 'unit  = "feet"', "ft"),
        ("100.2, fall", '"a hundred", fall', "a hundred"),
        ('fall = "2 %"', "fall = 2", "2 %"),
        ("[30, 18], [2, 18]]", "[2, 18], [30, 18]]", "cross"),
        ("[[area]]", "[area]]", "site.toml"),
        ('base    = "panel"', 'base    = "pannel"', "panel"),
        ("[30, 18], [2, 18]]", "[30, 80], [2, 80]]", "beyond"),
    ],
)
def test_wrong_input_is_told_in_a_sentence(site, old, new, said):
    edit(site, old, new)
    done = run("plan", site, "--json", "--out", site.parent / "out")
    assert done.returncode == 2
    assert done.stdout == ""
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not (site.parent / "out").exists()


def test_wishes_in_conflict_are_wrong_input(site):
    edit(site, 'plane   = {at = [2, 0], z = 100.2, fall = "2 %", bearing = 0}', "")
    edit(site, "sill = 100.65", "sill = 99.9")
    edit(site, "[[area]]", '[[floor]]\nkind = "lawn"\nname = "lawn"\nat = [[2, 18], [30, 18]]\n'
         "z = 100.0\n\n[[area]]")  # fmt: skip
    done = run("plan", site)
    assert (done.returncode, done.stdout) == (2, "")
    assert "sill of door" in done.stderr
    assert "lawn" in done.stderr


def test_help_is_light():
    code = (
        "import sys, viz.cli\n"
        "try:\n    viz.cli.main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print(*sorted(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stderr.split()}
    heavy = {"numpy", "scipy", "shapely", "pydantic", "pyvista", "vtkmodules", "matplotlib",
             "trimesh", "trame", "grading"}  # fmt: skip
    assert not loaded & heavy
    assert "plan" in done.stdout


def test_importing_the_packages_draws_nothing():
    code = "import sys, grading, viz; print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stdout.split()}
    assert not loaded & {"pyvista", "vtkmodules", "matplotlib", "trimesh", "trame", "scipy"}


@pytest.mark.parametrize("words", [["plan"], ["draw", "x"], ["plan", "x", "--colour"]])
def test_wrong_words_end_with_two(words):
    assert run(*words).returncode == 2


def test_a_reader_that_leaves_is_no_error(site):
    command = f'"{sys.executable}" -m viz.cli plan "{site}" | head -n 1'
    done = subprocess.run(["bash", "-o", "pipefail", "-c", command], capture_output=True, text=True,
                          check=False, env={**os.environ})  # fmt: skip
    assert "Traceback" not in done.stderr
    assert done.stdout.startswith("Juniper Court")


def test_the_same_site_gives_the_same_bytes(site):
    seeds = [{**os.environ, "PYTHONHASHSEED": seed} for seed in ("1", "2")]
    first, second = (run("plan", site, "--json", env=env).stdout for env in seeds)
    assert first == second


def test_feet_and_metres_give_the_same_plan(site):
    """Of the base whose layers the site gives, dug as far beyond its edge: what is not given has
    round sizes of its own in metres."""
    before = json.loads(run("plan", site, "--json").stdout)["areas"][0]["bases"]["panel"]
    toml = SITE.replace('unit  = "ft"', 'unit  = "m"')
    lines = spots().splitlines()
    metric = [",".join(repr(float(cell) * FOOT) for cell in row.split(",")) for row in lines[1:]]
    (site / "spots.csv").write_text("\n".join([lines[0], *metric]), encoding="utf-8")
    for old, new in [
        ("[[[0, 12], [32, 12]]]", f"[[[0, {12 * FOOT}], [{32 * FOOT}, {12 * FOOT}]]]"),
        ("[[0, 0], [32, 0]]", f"[[0, 0], [{32 * FOOT}, 0]]"),
        ("[16, -8]", f"[{16 * FOOT}, {-8 * FOOT}]"),
        ("[12, 0]", f"[{12 * FOOT}, 0]"),
        ("100.65", f"{100.65 * FOOT}"),
        ("[[2, 0], [30, 0], [30, 18], [2, 18]]",
         str([[2 * FOOT, 0], [30 * FOOT, 0], [30 * FOOT, 18 * FOOT], [2 * FOOT, 18 * FOOT]])),
        ("at = [2, 0], z = 100.2", f"at = [{2 * FOOT}, 0], z = {100.2 * FOOT}"),
    ]:  # fmt: skip
        assert old in toml
        toml = toml.replace(old, new)
    toml += '\n[limits]\nover-dig = "6 in"\n'
    (site / "site.toml").write_text(toml, encoding="utf-8")
    after = json.loads(run("plan", site, "--json").stdout)["areas"][0]["bases"]["panel"]
    for key in ("cut", "fill", "dig_area", "max_dig", "spoil_loose"):
        assert after[key] == pytest.approx(before[key], rel=1e-9, abs=1e-9)


def test_out_holds_what_is_handed_over_and_the_site_stays_as_it_was(site):
    before = {each.name: each.read_bytes() for each in site.iterdir()}
    out = site.parent / "out"
    done = run("plan", site, "--out", out)
    assert done.returncode == 0, done.stderr
    made = {each.name for each in out.iterdir() if not each.name.startswith(".")}
    assert made == {"homeowner.pdf", "crew.pdf", "yard.html", "plan.json"}
    assert {each.name: each.read_bytes() for each in site.iterdir()} == before
    # What is said of how far it has come is no part of what a script reads.
    assert done.stdout.startswith("Juniper Court, back patio ")
    assert "..." not in done.stdout
    assert (out / "plan.json").read_text(encoding="utf-8") == run("plan", site, "--json").stdout


def test_only_a_mend_or_a_shot_that_is_settled_writes_into_the_site(site):
    edit(site, 'fall = "2 %"', 'fall = "0.5 %"')
    done = run("plan", site, "--mend", "turn-patio")
    assert done.returncode == 0, done.stderr
    assert 'fall = "2 %"' in (site / "site.toml").read_text(encoding="utf-8")
    assert {each.name for each in site.iterdir()} == {"site.toml", "spots.csv"}
