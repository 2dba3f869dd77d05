"""The advice for a spreadsheet: options and reasons, things that stand level, frost, loads."""

from __future__ import annotations

from collections.abc import Iterator

from grading.choice.advice import Advice, AreaAdvice
from grading.choice.compared import Weighed
from grading.conditions.seats import Seat
from grading.units import HOUR
from grading.worded import of_file
from viz.table import Cells, Table, no_cells, thicknesses, volumes


def advice_tables(advice: Advice) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens.

    They are advice, weighed, features, backfill, frost, loads.

    Parameters
    ----------
    advice : Advice
    """
    return {
        "advice": Table.of(_reasons(advice)),
        "weighed": Table.of(_weighed(advice)),
        "features": Table.of(_thing(seat) for seat in advice.features),
        "backfill": Table.of(_treatments(advice)),
        "frost": Table.of(_frost(advice)),
        "loads": Table.of(_loads(advice)),
    }


def _reasons(advice: Advice) -> Iterator[Cells]:
    told = ("level", "rule", "text", "change", "standing", "source")
    for one in advice.areas:
        for choice in (one.base, one.edge, one.joint):
            for verdict in choice.verdicts:
                chosen = choice.about == "base" and verdict.option.name == one.chosen
                head: Cells = {
                    "area": one.area,
                    "about": choice.about,
                    "option": verdict.option.name,
                    "advised": "yes" if verdict is choice.advised else "",
                    "chosen": "yes" if chosen else "",
                }
                for reason in verdict.reasons:
                    said = {name: getattr(reason, name) for name in told}
                    yield {**head, **said, "disagreement": reason.disagree}
                if not verdict.reasons:
                    none = {**dict.fromkeys(told, ""), "text": "nothing speaks against it"}
                    yield {**head, **none, "disagreement": ""}


def _weighed(advice: Advice) -> Iterator[Cells]:
    for one in advice.areas:
        for each in one.weighed:
            yield {
                "area": one.area, "base": each.base, **volumes("cut bank", each.cut),
                "trips (count)": each.trips, "time (h)": round(each.time / HOUR),
                **_cost(each, one),
            }  # fmt: skip


def _cost(each: Weighed, one: AreaAdvice) -> Cells:
    if each.currency:
        return {f"cost ({each.currency})": round(each.cost, 2)}
    return {"cost (% of the least)": round(100 * one.beside_least(each), 1) or ""}


def _thing(seat: Seat) -> Cells:
    own = seat.own_base
    base = {
        "cut out (m2)": round(own.cut_out, 2) if own else "",
        **volumes("own base dug", own.excavation if own else 0.0),
        **volumes("own base filled", own.stone if own else 0.0),
    }
    return {
        "area": seat.area, "thing": seat.name, "kind": seat.feature.kind, "planned": seat.stands,
        "advised": seat.advised, **thicknesses("wedge least", seat.wedge.least),
        **thicknesses("wedge greatest", seat.wedge.greatest), **volumes("wedge", seat.wedge.volume),
        **thicknesses("wedge limit", seat.limit), **(base if own else no_cells(base)),
        "planned as": "given" if seat.given else "advised",
    }  # fmt: skip


def _treatments(advice: Advice) -> Iterator[Cells]:
    for zone in advice.backfill:
        for one in zone.treatments:
            yield {
                "area": zone.area, "treatment": one.treatment,
                "chosen": "yes" if one.treatment == zone.chosen else "", "judgement": one.judgement,
                "text": of_file(one.text), **volumes("dug bank", one.excavation),
                **volumes("spoil loose", one.spoil), **volumes("stone compacted", one.stone),
                "geogrid (m2)": round(one.grid, 2), "paving lost (m2)": round(one.paving_lost, 2),
            }  # fmt: skip


def _frost(advice: Advice) -> Iterator[Cells]:
    for one in advice.frost:
        deep = one.berggren
        yield {
            "area": one.area,
            "base": one.base,
            **thicknesses("Stefan", one.stefan),
            "modified Berggren (mm)": "" if deep is None else round(deep * 1000),
            "below the build-up (mm)": round(one.in_subgrade * 1000),
            "share clear of the edge (%)": round(one.inner * 100),
        }


def _loads(advice: Advice) -> Iterator[Cells]:
    for one in advice.loads:
        board = one.board
        yield {
            "area": one.area, "base": one.base, "load": one.load,
            "depth (mm)": round(one.depth * 1000), "elastic (kPa)": _kilopascals(one.boussinesq),
            "2:1 (kPa)": _kilopascals(one.two_to_one),
            "presumed bearing (kPa)": _kilopascals(one.bearing), "refused": one.refused,
            "amid a panel (kPa)": _kilopascals(board.amid) if board else "",
            "at a panel's edge (kPa)": _kilopascals(board.at_edge) if board else "",
        }  # fmt: skip


def _kilopascals(pascals: float) -> float:
    return round(pascals / 1000, 1)
