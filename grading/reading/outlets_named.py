"""The place that a drain is led to, which a site file gives by its name."""

from __future__ import annotations

from collections.abc import Mapping

from grading.files.toml_text import shown_value
from grading.reading.written import Written
from grading.site.tables import FOLLOWED, Floor
from grading.site.water_tables import LED_TO, Outfall


def check_outlets(
    site: Written, outfalls: Mapping[str, Outfall], floors: Mapping[str, Floor],
    names: Mapping[str, str],
) -> None:  # fmt: skip
    """Note drains whose outlet is not there, takes no water, or leads back to them.

    Parameters
    ----------
    site : Written
        Told what is wrong.
    outfalls, floors : mapping of str to Outfall, Floor
        By their keys in the file.
    names : mapping of str to str
        What each of them is called, by its key.
    """
    places = [
        *(key for key, floor in floors.items() if floor.kind in FOLLOWED),
        *(key for key, outfall in outfalls.items() if outfall.kind in LED_TO),
    ]
    onward = {names[key]: outfall.outlet for key, outfall in outfalls.items() if outfall.outlet}
    unread = {
        name
        for table, read in (("outfall", outfalls), ("floor", floors))
        for place, name in site.named(table, "name").items()
        if place.rpartition(".")[0] not in read
    }
    for key, outfall in outfalls.items():
        if outfall.outlet is None:
            continue
        known = [names[place] for place in places if place != key]
        if outfall.outlet in unread:
            continue  # what is wrong with that place is told, and this name may be right
        outlet = {f"{key}.outlet": outfall.outlet}
        site.check_known(outlet, "the name of a place that water may be led to", known)
        at: str | None = outfall.outlet
        passed = [names[key]]
        while at in onward and at not in passed:
            passed.append(at)
            at = onward[at]
        # Told once, of the first of them in the file.
        first = next((one for one in outfalls if names[one] in passed), key)
        if len(passed) > 1 and at == names[key] and first == key:
            found = f"{shown_value(outfall.outlet)}, which is led back to it"
            mend = "Lead one of them to a place where water comes out."
            site.wrong(f"{key}.outlet", found, "a place that lies lower", mend)
