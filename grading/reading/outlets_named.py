"""The place that a drain is led to: which a site file names, or any at all that will do."""

from __future__ import annotations

from collections.abc import Mapping

from grading.files.toml_text import shown_value
from grading.reading.written import Written
from grading.site.tables import FOLLOWED, Area, Floor
from grading.site.water_tables import AT_PAVING, LED_TO, Outfall

A_PLACE = "the name of a place that water may be led to"

NO_OUTLET = (
    "nothing, and no place that its pipe could come out at",
    f"{A_PLACE}, or such a place in an [[outfall]]: a swale, a street, a lower lawn or a dry well",
    "Add the place where its pipe comes out, or write existing = true where the drain is there "
    "already.",
)
"""What is found of a drain without an outlet, what was expected, and what mends it."""

PLACED = ("outfall", "floor")
"""The tables that places stand in."""


class Places:
    """The places of a site file that a pipe may be led to, by their keys.

    Parameters
    ----------
    outfalls, floors, areas : mapping of str to Outfall, Floor, Area
        By their keys in the file.
    """

    def __init__(
        self, outfalls: Mapping[str, Outfall], floors: Mapping[str, Floor],
        areas: Mapping[str, Area],
    ) -> None:  # fmt: skip
        self._outfalls, self._floors, self._areas = outfalls, floors, areas
        self.keys = (
            *(key for key, floor in floors.items() if floor.kind in FOLLOWED),
            *(key for key, outfall in outfalls.items() if outfall.kind in LED_TO),
        )

    def known(self) -> bool:
        """Whether there is any that a drain may be led to without naming it."""
        return any(self._open(key) for key in self.keys)

    def for_one_without(self, key: str) -> tuple[str, ...] | None:
        """Return those that a drain which names none may be led to; None of what is not built.

        A drain that is built with the paving is led out itself: another comes into it by its name
        alone.

        Parameters
        ----------
        key : str
            Of an outfall.
        """
        area = self._paving_at(key)
        if area is None or self._outfalls[key].existing:
            return None
        return tuple(
            each
            for each in self.keys
            if each != key
            and self._open(each)
            and (each not in self._floors or self._floors[each].area in (None, area))
        )

    def _open(self, key: str) -> bool:
        if key in self._floors:
            return True
        place = self._outfalls[key]
        return place.existing or not (place.outlet or self._paving_at(key))

    def _paving_at(self, key: str) -> str | None:
        """Return the name of the area that a drain lies at; None of other places."""
        drain = self._outfalls[key]
        away = {each.name: each.polygon.distance(drain.geometry) for each in self._areas.values()}
        nearest = min(away, key=lambda name: away[name], default=None)
        at_paving = drain.kind == "drain" and nearest is not None and away[nearest] <= AT_PAVING
        return nearest if at_paving else None


def check_outlets(site: Written, places: Places, outfalls: Mapping[str, Outfall],
                  names: Mapping[str, str]) -> None:  # fmt: skip
    """Note drains whose outlet is not there, takes no water, or leads back to them.

    Parameters
    ----------
    site : Written
        Told what is wrong.
    places : Places
    outfalls : mapping of str to Outfall
        By their keys in the file.
    names : mapping of str to str
        What each place is called, by its key.
    """
    onward = {names[key]: outfall.outlet for key, outfall in outfalls.items() if outfall.outlet}
    unread = {
        name
        for table in PLACED
        for place, name in site.named(table, "name").items()
        if place.rpartition(".")[0] not in names
    }
    # A place that cannot be read is told, and may be where a drain is led to.
    whole = all(
        f"{table}[{k}]" in names
        for table in PLACED
        for k in range(1, 1 + len(site.written.get(table, ())))
    )
    for key, outfall in outfalls.items():
        if outfall.outlet is None:
            if whole and places.for_one_without(key) == ():
                site.wrong(f"{key}.outlet", *NO_OUTLET)
            continue
        known = [names[place] for place in places.keys if place != key]
        if outfall.outlet in unread:
            continue  # what is wrong with that place is told, and this name may be right
        site.check_known({f"{key}.outlet": outfall.outlet}, A_PLACE, known)
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
