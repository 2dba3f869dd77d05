import json
import tempfile
import tomllib
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from make.sites.site_folder import FULL, SPOTS, write_site

from grading.errors import SiteError
from grading.reading.site_file import read_site

WRITTEN = tomllib.loads(FULL)


def as_toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {as_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value)
    return str(value).lower()


def places(value, path=()):
    """Give the path of every value in nested tables and lists."""
    if path:
        yield path
    if isinstance(value, dict | list):
        for key, part in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(part, (*path, key))


def with_value(value, path, new):
    if not path:
        return new
    copied = dict(value) if isinstance(value, dict) else list(value)
    copied[path[0]] = with_value(value[path[0]], path[1:], new)
    return copied


plain_text = st.text(st.characters(codec="ascii", exclude_characters="\x7f"), max_size=8)
values = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**62), 2**62),
        st.floats(width=32),
        plain_text,
        st.sampled_from(["2 %", "3 in", "nan", "../x.csv", "probes.csv", "patio", "dense", "-1"]),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(plain_text, inner, max_size=2),
    max_leaves=6,
)


@given(st.sampled_from(sorted(places(WRITTEN), key=str)), values)
@settings(max_examples=200)
def test_any_value_in_any_place_is_read_or_refused_with_a_sentence(path, value):
    written = with_value(WRITTEN, path, value)
    text = "\n".join(f"{key} = {as_toml(part)}" for key, part in written.items())
    problems = ()
    with tempfile.TemporaryDirectory() as folder:
        try:
            read_site(write_site(Path(folder), text))
        except SiteError as error:
            problems = error.problems
    for problem in problems:
        assert problem.where.startswith("site.toml, ")
        assert problem.found
        assert problem.expected


@given(st.permutations(["x", "y", "z", "note"]), st.sampled_from([",", ";", "\t"]))
def test_the_order_of_columns_and_the_sign_between_them_do_not_matter(order, sign):
    rows = [line.split(",") for line in SPOTS.replace('"by the fence, low"', "low").splitlines()]
    place = {name: rows[0].index(name) for name in order}
    spots = "\n".join(sign.join(row[place[name]] for name in order) for row in rows)
    with tempfile.TemporaryDirectory() as folder:
        one = read_site(write_site(Path(folder) / "one", FULL))
        other = read_site(write_site(Path(folder) / "other", FULL, spots=spots))
    assert (one.spots.xyz == other.spots.xyz).all()
