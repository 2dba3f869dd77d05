"""A folder is a room: it holds no more than one looks through, and no file says its name again."""

from pathlib import Path

import pytest

import grading
import viz

MOST = 20
"""Files of a folder, what it says of itself (`__init__`) left out: common practice, no source."""

FOLDERS = sorted(
    folder
    for package in (grading, viz)
    for folder in {path.parent for path in Path(package.__file__).parent.rglob("*.py")}
)


def words_of(name):
    """Return the words of a name, each as of one thing."""
    return {word.removesuffix("s") for word in name.split("_")}


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: "/".join(folder.parts[-2:]))
def test_a_folder_has_few_files_and_none_says_its_name_again(folder):
    names = [path.stem for path in folder.glob("*.py") if path.stem != "__init__"]
    assert len(names) <= MOST
    assert not [name for name in names if words_of(name) & words_of(folder.name)]


def test_tests_lie_in_folders_of_what_they_test():
    """A folder of tests is one of the package, so that a floor is tested by its name."""
    here = Path(__file__).parent
    for package in (grading, viz):
        own = Path(package.__file__).parent
        tested = {path.parent for path in (here / own.name).rglob("test_*.py")}
        places = {folder.relative_to(here / own.name) for folder in tested}
        assert not [place for place in places if not (own / place).is_dir()]
