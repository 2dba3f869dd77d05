"""What is given no name is called by what it is, as the trade calls it."""

from hypothesis import given
from hypothesis import strategies as st
from make.sites.site_folder import AREA, HEAD, write_site

from grading.files.names import given_names, word_for
from grading.reading.site_file import read_site

THINGS = """
[[feature]]
kind = "hot tub"
at = [10, 10]
size = ["6 ft", "6 ft"]

[[feature]]
kind = "kitchen"
at = [20, 10]
size = ["6 ft", "2 ft"]

[[feature]]
kind = "hot tub"
at = [20, 16]
size = ["6 ft", "6 ft"]

[[feature]]
kind = "other"
at = [5, 5]
size = ["2 ft"]

[[door]]
at = [12, 0]
sill = 100.65

[[floor]]
kind = "lawn"
at = [[2, 18], [28, 18]]

[[outfall]]
kind = "swale"
name = "back swale"
at = [[0, 19], [30, 19]]

[[outfall]]
kind = "lawn"
at = [20, 19]

[[outfall]]
kind = "neighbour"
at = [[0, 20], [30, 20]]

[[meet]]
at = [28, 10]
z = 100.1

[[downspout]]
at = [2, 0]
roof = 300
"""


def test_a_thing_is_called_by_its_kind_and_numbered_only_among_several(tmp_path):
    site = read_site(write_site(tmp_path, HEAD + AREA + THINGS))
    assert [thing.name for thing in site.features] == [
        "hot tub 1", "kitchen", "hot tub 2", "feature",
    ]  # fmt: skip
    assert (site.doors[0].name, site.downspouts[0].name) == ("door", "downspout")
    assert site.meets[0].name == "existing paving"
    # Water ends in a place by its name: a lawn of the two tables is never one.
    assert site.floors[0].name == "lawn 1"
    assert [place.name for place in site.outfalls] == ["back swale", "lawn 2", "neighbour's lot"]


def test_a_name_that_is_taken_is_not_given_again():
    assert given_names(["lawn", "", ""], ["swale", "lawn", "drain"]) == ["lawn", "lawn 2", "drain"]
    assert given_names(["", "Door 1", ""], ["door"] * 3) == ["door 2", "Door 1", "door 3"]


words = st.sampled_from(["lawn", "hot tub", "door"])
names = st.sampled_from(["", "", "lawn", "Lawn 2", "door", "hot tub 1", "spa"])


@given(st.lists(st.tuples(names, words)))
def test_no_name_that_is_given_is_another_things(things):
    own = [name for name, _ in things]
    found = given_names(own, [word for _, word in things])
    given_ = [name for name, was in zip(found, own, strict=True) if not was]
    kept = {name.casefold() for name in own if name}
    assert len(set(given_)) == len(given_)
    assert kept.isdisjoint(name.casefold() for name in given_)
    assert all(new == was for new, was in zip(found, own, strict=True) if was)


def test_every_kind_has_a_word():
    assert word_for("floor", "other") == "lower limit"
    assert word_for("ceiling", "window well") == "window well"
