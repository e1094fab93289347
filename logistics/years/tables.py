"""What happens to each yard in each year, and the money of each year, as tables."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from logistics.accounts import Book
from logistics.model import Floats, Integers, Key
from logistics.years.first_stage import Money, Stage
from logistics.years.purchases import Purchases

STEPS = ["year", "yard", "step", "size_from", "size", "capital"]


def steps_table(
    years: Sequence[int],
    keys: Sequence[Key],
    stage: Stage,
    bought: Purchases,
    x: Floats,
) -> pd.DataFrame:
    """
    Say what happens to each yard in each year.

    Parameters
    ----------
    years, keys, stage, bought
        Of the way.
    x
        What was decided.

    Returns
    -------
    DataFrame
        See `WayAhead.steps`; in order of the years.
    """
    before = _before(keys, bought)
    stood, worked, rows = dict(before), dict(before), list[tuple[object, ...]]()
    standing = stage.standing(x) > 0.5
    working = x[stage.working] > 0.5
    for y, year in enumerate(years):
        stands = {keys[k][0]: keys[k][1] for k in np.flatnonzero(standing[y]).tolist()}
        works = {keys[k][0]: keys[k][1] for k in np.flatnonzero(working[y]).tolist()}
        paid = _paid(keys, bought, x, y)
        for yard in sorted({*stood, *stands}):
            old, new = stood.get(yard, ""), stands.get(yard, "")
            step = _step(old, new, worked=yard in worked, works=yard in works)
            for name in step:
                spent = (
                    paid.get(yard, 0.0)
                    if name in ("opens", "enlarged", "closes")
                    else 0.0
                )
                rows.append((year, yard, name, old, new, spent))
        stood, worked = stands, works
    return pd.DataFrame(rows, columns=STEPS).astype({"capital": float, "year": "int64"})


def _before(keys: Sequence[Key], bought: Purchases) -> dict[str, str]:
    """Say which yards stand before the first year, and in which size."""
    return dict(keys[k] for k in set(bought.size_to[bought.stands].tolist()))


def _paid(
    keys: Sequence[Key], bought: Purchases, x: Floats, y: int
) -> dict[str, float]:
    """Give what opening, enlarging or clearing costs each yard in a year. [money]"""
    taken = (x[: len(bought.year)] > 0.5) & ((bought.year == y) | (bought.until == y))
    found: dict[str, float] = {}
    for n in np.flatnonzero(taken).tolist():
        yard = keys[int(bought.size_to[n])][0]
        found[yard] = found.get(yard, 0.0) + float(bought.capital[n, y])
    return found


def _step(old: str, new: str, *, worked: bool, works: bool) -> list[str]:
    """Name what happens between two years."""
    if not new:
        return ["closes"]
    if not old:
        return ["opens"] if works else ["opens", "idle"]
    found = ["enlarged"] if old != new else []
    if worked and not works:
        found.append("idle")
    if works and not worked:
        found.append("works again")
    return found


def money_table(
    years: Sequence[int],
    money: Money,
    stage: Stage,
    bought: Purchases,
    x: Floats,
    recurrent_limit: Sequence[float],
    books: Sequence[Book],
) -> pd.DataFrame:
    """
    Count the money of each year, running costs from the books of its plan.

    Returns
    -------
    DataFrame
        See `WayAhead.money`.
    """
    p = len(bought.year)
    taken = np.round(x[:p])
    idle = ((stage.standing(x) > 0.5) & (x[stage.working] < 0.5)) * money.idle
    capital = taken @ bought.capital + idle.sum(axis=1)
    salvage = np.zeros(len(years))
    salvage[-1] = float(bought.salvage @ taken)
    table = pd.DataFrame(
        {
            "year": list(years),
            "capital_limit": _missing(money.capital),
            "capital": capital,
            "carried": _carried(money, capital),
            "recurrent_limit": _missing(np.array(recurrent_limit, dtype=float)),
            "recurrent": [b.kind("recurrent") for b in books],
            "income": [-b.kind("revenue") for b in books],
            "fees": [0.0 - b.entry("feedstock_tipping_fee") for b in books],
            "subsidy": [0.0 - b.entry("feedstock_subsidy") for b in books],
            "outside": [b.kind("outside") for b in books],
            "salvage": salvage,
        }
    )
    running = table["recurrent"] - table["income"] + table["outside"]
    table["net"] = table["capital"] + running - table["salvage"]
    table["value"] = table["capital"] * money.begins + money.ends * (
        running - table["salvage"]
    )
    return table


def _carried(money: Money, spent: Floats) -> Floats:
    """Give all that is left of a year's capital and may be spent the year after."""
    carried, before = np.zeros(len(spent)), 0.0
    for y, limit in enumerate(money.capital.tolist()):
        if y + 1 < len(spent) and np.isfinite(limit) and money.carry_over[y] > 0:
            before = max(0.0, limit + before - float(spent[y]))
        else:
            before = 0.0
        carried[y] = before
    return carried


def _missing(limit: Floats) -> Floats:
    return np.where(np.isfinite(limit), limit, np.nan)


def easing_table(
    years: Sequence[int], money: Money, stage: Stage, duals: Floats
) -> pd.DataFrame:
    """
    Say what one more unit of a year's capital saves, to first order.

    Parameters
    ----------
    years, money, stage
        Of the way.
    duals
        Of the rows of the first stage, from its relaxation: as if yards could be
        bought in parts.

    Returns
    -------
    DataFrame
        See `WayAhead.easing`; only years in which it saves something.
    """
    rows = list[tuple[int, str, float, float]]()
    budget: Integers = stage.budget
    for y, row in enumerate(budget.tolist()):
        if row >= 0:
            saves = -float(duals[row]) * stage.scale
            if saves > 1e-6:
                rows.append((years[y], "capital", float(money.capital[y]), saves))
    return pd.DataFrame(rows, columns=["year", "limit", "money", "saves"])
