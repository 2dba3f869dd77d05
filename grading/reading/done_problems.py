"""What is wrong with [done] as far as the file alone tells: areas that are not there, shares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from grading.errors import Problem
from grading.files.toml_text import nearest, shown_value


def done_problems(written: Mapping[str, Any], areas: Sequence[str], file: str) -> Iterator[Problem]:
    """Give a problem for each part that is dug in no area of the site, or in none that is named.

    Parameters
    ----------
    written : mapping
        The site file as it was read; what is wrong in it otherwise is passed over.
    areas : sequence of str
        The names of its areas.
    file : str
        Its name in messages.
    """
    done = written.get("done")
    listed = done.get("dug") if isinstance(done, Mapping) else None
    if isinstance(done, Mapping) and not any(done.get(key) for key in ("dug", "bought", "bins")):
        mend = "Say what is dug, bought or standing there, or leave [done] out."
        yield Problem(f"{file}, key done", "nothing done", "something that is done", mend)
    known = ", ".join(map(shown_value, areas))
    for place, dug in enumerate(listed if isinstance(listed, list) else [], start=1):
        if not isinstance(dug, Mapping):
            continue
        where = f"{file}, key done.dug[{place}].area"
        name = dug.get("area")
        if name is None and len(areas) > 1:
            mend = "Add `area`: a hole is one area's."
            yield Problem(where, "nothing", f"the name of an area: {known}", mend)
        elif isinstance(name, str) and " ".join(name.split()) not in areas:
            mend = nearest(name, areas)
            yield Problem(where, shown_value(name), f"the name of an area: {known}", mend)
