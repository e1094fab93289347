"""The part of the audit that counts paired trips against the trips there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.model import Instance, Lanes, Plan

Floats = NDArray[np.float64]
Check = tuple[str, Floats, Floats]
Key = tuple[Any, ...]


@dataclass(frozen=True, eq=False)
class Saved:
    """
    What paired trips save.

    Attributes
    ----------
    money, co2e
        Of the year. [money], [kg CO2e]
    hours
        By truck type, yard and period, shape (v, j, t). [h]
    """

    money: float
    co2e: float
    hours: Floats


def saved_by_backhauls(inst: Instance, paired: pd.DataFrame) -> Saved:
    """Add up what a plan's paired trips save; not a number where none is offered."""
    types, periods = inst.trucks.hire_hours.shape
    hours = np.zeros((types, len(inst.yards.codes), periods))
    money = co2e = 0.0
    offered, backhauls = _offered(inst), inst.backhauls
    period = {code: t for t, code in enumerate(inst.periods)}
    for row in records(paired):
        place = offered.get((row["source"], row["yard"], row["market"], row["truck"]))
        t = period.get(row["period"])
        if (
            backhauls is None
            or place is None
            or t is None
            or not backhauls.usable[place, t]
        ):
            return Saved(np.nan, np.nan, np.full(hours.shape, np.nan))
        money += row["trips"] * float(backhauls.money[place, t])
        co2e += row["trips"] * float(backhauls.co2e[place, t])
        at = backhauls.truck[place], backhauls.yard[place], t
        hours[at] += row["trips"] * backhauls.hours[place, t]
    return Saved(money, co2e, hours)


def _offered(inst: Instance) -> dict[Key, int]:
    """Position of each pair by source, yard, market and truck."""
    backhauls = inst.backhauls
    if backhauls is None:
        return {}
    codes = (
        (inst.supply.codes, backhauls.source),
        (inst.yards.codes, backhauls.yard),
        (inst.markets.codes, backhauls.market),
        (inst.trucks.codes, backhauls.truck),
    )
    named = ([names[k] for k in rows.tolist()] for names, rows in codes)
    return {key: n for n, key in enumerate(zip(*named, strict=True))}


def paired_checks(inst: Instance, plan: Plan) -> Iterator[Check]:
    """Pair no more trips than are driven, nothing less than none."""
    paired = plan.paired
    yield "paired trips not negative", -paired["trips"].to_numpy(), np.ones(1)
    for name, lanes, flows, site, codes in (
        ("in", inst.inbound, plan.hauls, "source", inst.supply.codes),
        ("out", inst.outbound, plan.deliveries, "market", inst.markets.codes),
    ):
        keys = [site, "yard", "truck", "period"]
        count = paired.groupby(keys)["trips"].sum()
        trips = _trips(inst, lanes, flows, site, codes)
        most = np.array([trips.get(key, 0.0) for key in count.index])
        yield f"paired trips within trips {name}", count.to_numpy() - most, most


def _trips(
    inst: Instance,
    lanes: Lanes,
    flows: pd.DataFrame,
    site: str,
    codes: tuple[str, ...],
) -> dict[Key, float]:
    """Trips by site, yard, truck and period; none where there is no lane."""
    load = {
        (codes[s], inst.yards.codes[j], inst.trucks.codes[v]): lanes.load_t[a]
        for a, (s, j, v) in enumerate(
            zip(
                lanes.site.tolist(),
                lanes.yard.tolist(),
                lanes.truck.tolist(),
                strict=True,
            )
        )
    }
    period = {code: t for t, code in enumerate(inst.periods)}
    found: dict[Key, float] = {}
    for row in records(flows):
        lane = (row[site], row["yard"], row["truck"])
        if lane not in load:
            continue  # for the check of lanes
        key = (*lane, row["period"])
        each = float(load[lane][period[row["period"]]])
        found[key] = found.get(key, 0.0) + row["tonnes"] / each
    return found
