"""
Shadow duals: what one unit more of anything would save, read from the duals.

They are the duals of the linear programme of the flows with the yards fixed.
"""

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from logistics.model.problem import Instance, window_ends
from logistics.model.rules import option_names, recent
from logistics.model.solving.amounts import Amounts

Duals = Mapping[str, float]
Worth = tuple[str, str, str, float, str]


def marginal_worth(duals: Duals, found: Amounts, inst: Instance) -> pd.DataFrame:
    """
    Say what one unit more is worth with the yards as they are.

    Capital has no worth here: with the yards as they are it buys nothing.

    Parameters
    ----------
    duals
        Of each row, by name: what one unit more on its right side costs; of the flows
        with the yards given, without link rows. [goal/unit]
    found, inst
        The flows, and the problem.

    Returns
    -------
    DataFrame
        kind, where, when, value, unit: the goal falls by `value` for one unit
        more (rises where it is negative). [goal/unit]
    """
    rows = [
        *_supply(duals, inst),
        *_yards(duals, found, inst),
        *_windows(duals, found, inst),
        *_shared(duals, inst),
    ]
    table = pd.DataFrame(rows, columns=["kind", "where", "when", "value", "unit"])
    table = table.astype({"value": "float64"})
    return table[table["value"].abs() > 1e-6].reset_index(drop=True)


def _saves(duals: Duals, name: str) -> float | None:
    """Return the fall of the goal per unit of the row's right side."""
    dual = duals.get(name)
    return None if dual is None else -dual


def _supply(duals: Duals, inst: Instance) -> Iterator[Worth]:
    """One tonne more enters the supply row and all others that count the supply."""
    for i, code in enumerate(inst.supply.codes):
        year = _saves(duals, f"decay_held.{code}") or 0.0
        for rule in inst.policy.least_shares:
            if i in rule.sources:
                year += rule.share * (_saves(duals, f"least_share.{rule.code}") or 0.0)
        keeps = inst.feed.store_periods[inst.supply.feedstock[i]].tolist()
        for t, period in enumerate(inst.periods):
            value = _saves(duals, f"supply.{code}.{period}")
            if value is not None and inst.supply.tonnes[i, t] > 0:
                yield (
                    "supply",
                    code,
                    period,
                    value
                    + year
                    + sum(
                        _saves(duals, f"held_fresh.{code}.{inst.periods[u]}") or 0.0
                        for u in range(len(inst.periods))
                        if t in recent(u, keeps[u], inst)
                    ),
                    "t",
                )


def _yards(duals: Duals, found: Amounts, inst: Instance) -> Iterator[Worth]:
    kinds = (
        ("store", "m3"),
        ("compost_store", "m3"),
        ("water", "m3"),
    )
    names = option_names(inst)
    for o in found.opened.index[:, 0].tolist():
        name = names[o]
        yard = inst.yards.codes[inst.options.yard[o]]
        for t, period in enumerate(inst.periods):
            moments = np.flatnonzero(inst.pad_period == t).tolist()
            pads = [_saves(duals, f"pad.{name}.{k}") for k in moments]
            yield "pad", yard, period, sum(value or 0.0 for value in pads), "m3"
            for kind, unit in kinds:
                value = _saves(duals, f"{kind}.{name}.{period}")
                if value is not None:
                    yield kind, yard, period, value, unit


def _windows(duals: Duals, found: Amounts, inst: Instance) -> Iterator[Worth]:
    """One point of C:N, or of moisture, more at either end of the window."""
    names = option_names(inst)
    charge = found.charge.grid(len(names), len(inst.feed.codes), len(inst.periods))
    water = found.water.grid(len(names), len(inst.periods))
    used = charge.sum(axis=1) + water
    for end in window_ends(inst.feed, inst.mix):
        carbon = end.name.startswith("cn")
        whole = np.einsum("omt,m->ot", charge, end.whole) + end.water * water
        unit = "point of C:N" if carbon else "point of moisture"
        for o, t in np.argwhere(used > 0).tolist():
            value = _saves(duals, f"{end.name}.{names[o]}.{inst.periods[t]}")
            if value is not None:
                yard = inst.yards.codes[inst.options.yard[o]]
                points = float(whole[o, t]) * (1.0 if carbon else 0.01)
                yield end.name, yard, inst.periods[t], value * points, unit


def _shared(duals: Duals, inst: Instance) -> Iterator[Worth]:
    """Trucks, where an hour more saves most; buyers; demands of the board."""
    here = option_names(inst)
    for period in inst.periods:
        for code in inst.trucks.codes:
            names = (
                f"trucks.{code}.{period}",
                *(f"trucks.{code}.{o}.{period}" for o in here),
            )
            found = [v for name in names if (v := _saves(duals, name)) is not None]
            if found:
                yield "trucks", code, period, max(found), "h"
        for code in inst.markets.codes:
            value = _saves(duals, f"demand.{code}.{period}")
            if value is not None:
                yield "demand", code, period, value, "t"
    for rule in inst.policy.least_shares:
        value = _saves(duals, f"least_share.{rule.code}")
        if value is not None:
            yield "least_share", rule.code, "year", value, "t"
    value = _saves(duals, "budget") if inst.goal != "cost" else None
    if value is not None:
        yield "budget", "district", "year", value, "money"
