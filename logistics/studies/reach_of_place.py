"""Whether a source or a market can be served at all, and which rule forbids it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logistics.composting import feedstocks, source_feedstock
from logistics.costs import may_carry
from logistics.model import Assembly, Flags, Instance, ServedWhole
from logistics.scenario import Row, in_list, records


@dataclass(frozen=True)
class YardWay:
    """The quickest way between a place and a yard: who, where, how far [km], [h]."""

    truck: Row
    yard: str
    km: float
    hours: float


def reached(inst: Instance, asked: ServedWhole, yards: list[int]) -> Flags:
    """Say in which periods a truck can serve a place from some yards, length t."""
    lanes = inst.inbound if asked.kind == "source" else inst.outbound
    mine = (lanes.site == asked.site) & np.isin(lanes.yard, yards)
    return np.asarray(lanes.usable[mine].any(axis=0))


def no_way(made: Assembly, asked: ServedWhole) -> list[str]:
    """
    Say why no yard, open or not, can serve a place in the periods asked about.

    Returns
    -------
    list of str
        A sentence, with the rule and its km or hours; none where one can.
    """
    inst, scenario = made.instance, made.scenario
    able = reached(inst, asked, np.unique(inst.options.yard).tolist())
    if able[list(asked.periods)].any():
        return []
    if not len(inst.options.yard):
        return ["No yard may stand anywhere."]
    freight = "compost"
    if asked.kind == "source":
        freight = str(scenario.sources["material"].iloc[asked.site])
    trucks = [row for row in records(scenario.trucks) if may_carry(row, freight)]
    if not trucks:
        named = dict(
            zip(scenario.materials["material"], scenario.materials["name"], strict=True)
        )
        what = named.get(freight) or freight
        return [f"No truck may carry {what} (column carries of trucks.csv)."]
    ways = list(_ways(made, asked, trucks))
    when = in_list(
        str(scenario.periods["name"].iloc[t] or inst.periods[t]) for t in asked.periods
    )
    if len(asked.periods) == len(inst.periods):
        when = "any month"
    if not ways:
        return [f"No road is open to it, from or to any yard, in {when}."]
    near = min(ways, key=lambda way: way.km)
    limit = scenario.settings.travel.lane_limit_km
    if limit is not None and near.km > limit:
        return [
            f"The nearest yard, {near.yard}, is {near.km:,.1f} km away by road; "
            f"travel.lane_limit_km allows {limit:g} km."
        ]
    if asked.kind == "source":
        said = _freshness(made, asked, min(ways, key=lambda way: way.hours))
        if said:
            return [said]
    return ["The land rules bar its material from every yard that it reaches."]


def _ways(made: Assembly, asked: ServedWhole, trucks: list[Row]) -> Iterator[YardWay]:
    """Give all ways between a place and yards that may stand."""
    scenario, travel = made.scenario, made.travel
    table = scenario.table(f"{asked.kind}s")[asked.kind]
    here = travel.index(asked.kind, table)[asked.site]
    may = np.unique(made.instance.options.yard).tolist()
    yards = travel.index("yard", scenario.yards["yard"])
    for truck in trucks:
        for t in asked.periods:
            state = travel.pick(truck["truck"], made.instance.periods[t])
            for j in may:
                a, b = here, yards[j]
                if asked.kind == "market":
                    a, b = b, a
                km, hours = float(state.km[a, b]), float(state.hours[a, b])
                if math.isfinite(km) and math.isfinite(float(state.km[b, a])):
                    row = scenario.yards.iloc[j]
                    yield YardWay(truck, str(row["name"] or row["yard"]), km, hours)


def _freshness(made: Assembly, asked: ServedWhole, quick: YardWay) -> str:
    """Say that the freight spoils on the way, where it does; else nothing."""
    scenario = made.scenario
    table = feedstocks(scenario).set_index("feedstock")
    feed = source_feedstock(scenario).iloc[asked.site]
    keeps = float(table["keep_hours"].loc[feed])
    if math.isnan(keeps):
        return ""
    waits = float(scenario.sources["wait_hours"].iloc[asked.site])
    loads = float(str(quick.truck["load_minutes"])) / 60
    if quick.hours <= keeps - waits - loads:
        return ""
    return (
        f"It spoils on the way: the quickest way to a yard, to {quick.yard}, takes "
        f"{quick.hours:.1f} h for {quick.km:,.1f} km, after {waits:g} h of waiting and "
        f"{loads:.1f} h of loading; it keeps {keeps:g} h."
    )
