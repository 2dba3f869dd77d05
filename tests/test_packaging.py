"""The archive of the sources holds what its own documents tell people to run."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_what_a_document_runs_is_in_the_archive(document):
    included = PROJECT["tool"]["hatch"]["build"]["targets"]["sdist"]["include"]
    assert document in included
    text = (ROOT / document).read_text(encoding="utf-8")
    run = re.findall(
        r"(?:^|&&|\s)(?:bash|python|\S*/python) ([.\w-]+/[\w./-]+)", text, re.MULTILINE
    )
    assert any(each.startswith(".ci/") for each in run)
    for each in run:
        assert (ROOT / each).exists(), each
        assert each.split("/")[0] in included, each


@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="no checkout")
def test_no_file_that_is_shipped_is_ignored():
    """What the checkout ignores is left out of the wheel by its builder, too."""
    shipped = [
        str(path.relative_to(ROOT))
        for folder in ("grading", "viz", "sample_sites")
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    ]
    asked = subprocess.run(
        ["git", "check-ignore", "--no-index", "--stdin"],
        cwd=ROOT, input="\n".join(shipped), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert asked.returncode in (0, 1), asked.stderr
    assert asked.stdout.split() == []


def test_every_folder_of_modules_is_a_package():
    folders = {
        path.parent for folder in ("grading", "viz") for path in (ROOT / folder).rglob("*.py")
    }
    assert [folder for folder in folders if not (folder / "__init__.py").exists()] == []


def test_the_typesetter_is_one_that_takes_a_time():
    """typst 0.15.0 is the first that does (tried with 0.13.7, 0.14.0, 0.14.9 and 0.15.0)."""
    (typst,) = [each for each in PROJECT["project"]["dependencies"] if each.startswith("typst")]
    least = tuple(map(int, typst.removeprefix("typst>=").split(".")))
    assert least >= (0, 15)


@pytest.mark.parametrize(
    "name",
    sorted(
        str(path.relative_to(ROOT))
        for folder in ("grading", "viz", "sample_sites")
        for path in (ROOT / folder).rglob("*.toml")
    ),
)
def test_every_table_that_is_shipped_can_be_read(name):
    assert tomllib.loads((ROOT / name).read_text(encoding="utf-8"))


@pytest.mark.long
def test_the_wheel_of_the_archive_is_that_of_the_checkout_and_runs_the_first_command(tmp_path):
    """Built, taken apart, built again of itself, and run without what the checkout holds."""
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet"]
    builder = tmp_path / "builder"
    subprocess.run([*pip, "install", "--target", builder, "hatchling"], check=True)
    environment = os.environ | {"PYTHONPATH": str(builder)}

    def built(source, into):
        command = [sys.executable, "-m", "hatchling", "build", "-d", into]
        subprocess.run(command, cwd=source, env=environment, check=True, capture_output=True)
        (wheel,), (archive,) = into.glob("*.whl"), into.glob("*.tar.gz")
        return wheel, archive

    wheel, archive = built(ROOT, tmp_path / "one")
    with tarfile.open(archive) as packed:
        packed.extractall(tmp_path / "sources", filter="data")
    (source,) = (tmp_path / "sources").iterdir()
    again, _ = built(source, tmp_path / "two")
    with zipfile.ZipFile(wheel) as one, zipfile.ZipFile(again) as other:
        assert one.namelist() == other.namelist()
        assert [each for each in one.namelist() if one.read(each) != other.read(each)] == []
        assert not [each for each in one.namelist() if each.startswith("tests")]
    home = tmp_path / "installed"
    subprocess.run([*pip, "install", "--no-deps", "--target", home, wheel], check=True)
    run = "import sys; from viz.cli import main; sys.exit(main(sys.argv[1:]))"
    done = subprocess.run(
        [sys.executable, "-c", run, "demo", tmp_path / "demo"], cwd=tmp_path, check=False,
        env=os.environ | {"PYTHONPATH": str(home)}, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    made = {each.name for each in (tmp_path / "demo").iterdir()}
    assert {"homeowner.pdf", "crew.pdf", "yard.html", "plan.json"} <= made


IMPORTED_AS = {"pillow": "PIL", "vtk": "vtkmodules"}
"""Distributions that are imported by another name."""

EXTRA = {"pxr", "distributed"}
"""What is asked for only where a person installs it besides."""


def test_what_is_installed_is_imported_and_what_is_imported_is_installed():
    named = {
        re.split(r"[\[<>=~! ;]", each)[0].lower() for each in PROJECT["project"]["dependencies"]
    }
    installed = {IMPORTED_AS.get(each, each.replace("-", "_")) for each in named}
    own = {"grading", "viz", "sample_sites"}
    imported: set[str] = set()
    for path in (file for folder in own for file in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                imported |= {each.name.split(".")[0] for each in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                imported.add(node.module.split(".")[0])
    foreign = imported - own - set(sys.stdlib_module_names) - EXTRA
    assert foreign == installed
