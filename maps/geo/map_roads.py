"""Land and roads of the map: their lines, and what the plan puts on each road."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.ground import for_a_screen
from logistics.land import parts, with_places
from logistics.roads import load_on_roads, shifted_by_paired_trips
from maps.shared import period_order

if TYPE_CHECKING:
    from logistics.results import Result

Data = dict[str, Any]


def land(result: Result) -> list[Data]:
    """Every piece of land, water and built-up ground: kind, name, shape, parts."""
    found = []
    for row in for_a_screen(with_places(result.scenario)).to_dict("records"):
        shape, lines = parts(row["wkt"])
        name = "" if row["name"] != row["name"] else str(row["name"])
        found.append(
            {"kind": str(row["kind"]), "name": name, "shape": shape, "parts": lines}
        )
    return found


def roads(result: Result) -> list[Data]:
    """
    Every road with its load.

    Returns
    -------
    list of dict
        code, name, class, parts; load: material -> tonnes by period, where a part of
        the road is driven with it; trips loaded and empty by period.
    """
    table, periods = result.scenario.tables["roads"], period_order(result)
    if table.empty:
        return []
    load, trips, empty = _loads(result, periods)
    found = []
    for row in table.to_dict("records"):
        code = str(row["road"])
        found.append(
            {
                "code": code,
                "name": str(row["name"] or ""),
                "class": str(row["class"]),
                "parts": parts(row["wkt"])[1],
                "load": load.get(code, {}),
                "trips": trips.get(code, [0.0] * len(periods)),
                "empty": empty.get(code, [0.0] * len(periods)),
            }
        )
    return found


def _loads(
    result: Result, periods: list[str]
) -> tuple[dict[str, dict[str, list[float]]], Data, Data]:
    """Tonnes of every road by material, and its trips, loaded and empty, by period."""
    load: dict[str, dict[str, list[float]]] = {}
    every = []
    if getattr(result.travel, "driven", None) is None:
        return load, {}, {}
    for material, rows in result.lanes.groupby("material", sort=False):
        laid = load_on_roads(result.travel, rows)
        every.append(laid)
        for code, tonnes in _wide(laid, "tonnes", periods).items():
            if sum(tonnes) > 0:
                load.setdefault(code, {})[str(material)] = tonnes
    if len(result.paired_trips):
        every.append(shifted_by_paired_trips(result.travel, result.paired_trips))
    laid = (
        pd.concat(every, ignore_index=True)
        if every
        else load_on_roads(result.travel, result.lanes)
    )
    return load, _wide(laid, "trips", periods), _wide(laid, "empty_trips", periods)


def _wide(
    laid: pd.DataFrame, column: str, periods: list[str]
) -> dict[str, list[float]]:
    """Road -> values of a column by period."""
    if laid.empty:
        return {}
    table = laid.pivot_table(
        index="road", columns="period", values=column, aggfunc="sum", fill_value=0.0
    ).reindex(columns=periods, fill_value=0.0)
    return {
        str(code): [round(float(value), 3) + 0.0 for value in row]
        for code, row in zip(table.index, table.to_numpy(), strict=True)
    }
