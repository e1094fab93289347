"""What one unit more of anything would save: the duals of the fixed-yard flows."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from logistics.model.flows import recent
from logistics.model.instance import Instance
from logistics.model.programme import Programme
from logistics.model.variables import Variables, option_names

Row = tuple[str, str, str, float, str]


def marginal_worth(p: Programme, var: Variables, inst: Instance) -> pd.DataFrame:
    """
    Say what one unit more is worth with the yards as they are.

    The programme must be without link rows (`build(..., linked=False)`), solved for
    its goal. Capital has no worth here: with the yards as they are it buys nothing.

    Returns
    -------
    DataFrame
        kind, where, when, value, unit: the goal falls by `value` for one unit
        more (rises where it is negative). [goal/unit]
    """
    rows = [
        *_supply(p, inst),
        *_yards(p, inst),
        *_windows(p, var, inst),
        *_shared(p, inst),
    ]
    table = pd.DataFrame(rows, columns=["kind", "where", "when", "value", "unit"])
    table = table.astype({"value": "float64"})
    return table[table["value"].abs() > 1e-6].reset_index(drop=True)


def _saves(p: Programme, name: str) -> float | None:
    """Return the fall of the goal per unit of the row's right side."""
    row = p.rows.get(name)
    return None if row is None else -float(row.pi or 0.0)


def _supply(p: Programme, inst: Instance) -> Iterator[Row]:
    """One tonne more enters the supply row and all others that count the supply."""
    for i, code in enumerate(inst.supply.codes):
        year = _saves(p, f"decay_held.{code}") or 0.0
        for rule in inst.policy.least_shares:
            if i in rule.sources:
                year += rule.share * (_saves(p, f"least_share.{rule.code}") or 0.0)
        keeps = inst.feed.store_periods[inst.supply.feedstock[i]].tolist()
        for t, period in enumerate(inst.periods):
            value = _saves(p, f"supply.{code}.{period}")
            if value is not None and inst.supply.tonnes[i, t] > 0:
                yield (
                    "supply",
                    code,
                    period,
                    value
                    + year
                    + sum(
                        _saves(p, f"held_fresh.{code}.{inst.periods[u]}") or 0.0
                        for u in range(len(inst.periods))
                        if t in recent(u, keeps[u], inst)
                    ),
                    "t",
                )


def _yards(p: Programme, inst: Instance) -> Iterator[Row]:
    kinds = (
        ("store", "m3"),
        ("compost_store", "m3"),
        ("water", "m3"),
    )
    for o, name in enumerate(option_names(inst)):
        yard = inst.yards.codes[inst.options.yard[o]]
        for t, period in enumerate(inst.periods):
            moments = np.flatnonzero(inst.pad_period == t).tolist()
            found = [_saves(p, f"pad.{name}.{k}") for k in moments]
            yield "pad", yard, period, sum(value or 0.0 for value in found), "m3"
            for kind, unit in kinds:
                value = _saves(p, f"{kind}.{name}.{period}")
                if value is not None:
                    yield kind, yard, period, value, unit


def _windows(p: Programme, var: Variables, inst: Instance) -> Iterator[Row]:
    """One point of C:N, or of moisture, more room at either end of the window."""
    names, feed = option_names(inst), inst.feed
    nitrogen: dict[tuple[int, int], float] = {}
    mass: dict[tuple[int, int], float] = {}
    for (o, m, t), b in var.charge.items():
        tonnes = float(b.value() or 0.0)
        grain = tonnes * float(feed.dry[m] * feed.nitrogen[m])
        nitrogen[o, t] = nitrogen.get((o, t), 0.0) + grain
        mass[o, t] = mass.get((o, t), 0.0) + tonnes
    for (o, t), w in var.water.items():
        mass[o, t] = mass.get((o, t), 0.0) + float(w.value() or 0.0)
    for (o, t), tonnes in mass.items():
        yard = inst.yards.codes[inst.options.yard[o]]
        ends = (
            ("cn_high", nitrogen.get((o, t), 0.0), "point of C:N"),
            ("cn_low", nitrogen.get((o, t), 0.0), "point of C:N"),
            ("moist_high", 0.01 * tonnes, "point of moisture"),
            ("moist_low", 0.01 * tonnes, "point of moisture"),
        )
        for kind, room, unit in ends:
            value = _saves(p, f"{kind}.{names[o]}.{inst.periods[t]}")
            if value is not None:
                yield kind, yard, inst.periods[t], value * room, unit


def _shared(p: Programme, inst: Instance) -> Iterator[Row]:
    for period in inst.periods:
        for code in inst.trucks.codes:
            value = _saves(p, f"trucks.{code}.{period}")
            if value is not None:
                yield "trucks", code, period, value, "h"
        for code in inst.markets.codes:
            value = _saves(p, f"demand.{code}.{period}")
            if value is not None:
                yield "demand", code, period, value, "t"
    for rule in inst.policy.least_shares:
        value = _saves(p, f"least_share.{rule.code}")
        if value is not None:
            yield "least_share", rule.code, "year", value, "t"
    value = _saves(p, "budget") if inst.goal != "cost" else None
    if value is not None:
        yield "budget", "district", "year", value, "money"
