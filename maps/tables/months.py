"""The plan by period for charts: how full pads and stores are, money in and out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import feedstocks
from logistics.scenario import rows_by
from maps.shared import names, period_order

if TYPE_CHECKING:
    from logistics.results import Result

BY_PERIOD = "period"


def _frame(result: Result, exact: pd.DataFrame) -> pd.DataFrame:
    """Put codes of periods and yards in the order of the plan."""
    used = [str(code) for code in result.plan.yards["yard"]]
    return exact.reindex(index=period_order(result), columns=used).fillna(0.0)


def pad_fill(result: Result) -> pd.DataFrame:
    """
    Fullest moment of every pad in every period: rows periods, columns yards. [%]

    Codes; only yards in use.
    """
    exact = result.mixes.pivot_table(
        index=BY_PERIOD, columns="yard", values="pad_used", aggfunc="max"
    )
    return _frame(result, exact) * 100


def _of_room(result: Result, m3: pd.Series, room: str) -> pd.DataFrame:
    """Share of a room of the yards' sizes that is filled [%]; nothing where is none."""
    sizes = rows_by(result.scenario.tables["yard_sizes"], "size")
    has = {yard: float(sizes[size][room]) for yard, size in result.plan.yard_sizes}
    exact = m3.rename("m3").reset_index()
    table = _frame(
        result, exact.pivot_table(index=BY_PERIOD, columns="yard", values="m3")
    )
    rooms = pd.Series(has).reindex(table.columns)
    return (table / rooms.where(rooms > 0, np.inf)) * 100


def store_fill(result: Result) -> pd.DataFrame:
    """
    How full every store of feedstock is when a period ends. [% of its room]

    Rows periods, columns yards in use; codes.
    """
    feed = feedstocks(result.scenario)
    density = dict(zip(feed["feedstock"], feed["loose_t_m3"], strict=True))
    stock = result.plan.stock
    m3 = stock["tonnes"] / stock["feedstock"].map(density).astype(float)
    keys = [stock[BY_PERIOD], stock["yard"]]
    return _of_room(result, m3.groupby(keys).sum(), "store_m3")


def compost_fill(result: Result) -> pd.DataFrame:
    """
    How full every store of compost is when a period ends. [% of its room]

    Rows periods, columns yards in use; codes.
    """
    made = result.plan.compost.groupby([BY_PERIOD, "yard"])["stock_t"].sum()
    m3 = made * 1000 / result.scenario.settings.process.product_kg_m3
    return _of_room(result, m3, "compost_store_m3")


def money_by_period(result: Result) -> pd.DataFrame:
    """
    Money that goes out and comes in by period: rows periods, columns out, in. [money]

    Amounts of the whole year (annuities, rent, fixed cost) are in no period.
    """
    entries = result.ledger
    amount = entries["amount"]
    parts = {
        "out": amount.clip(lower=0).groupby(entries[BY_PERIOD]).sum(),
        "in": -amount.clip(upper=0).groupby(entries[BY_PERIOD]).sum(),
    }
    return pd.DataFrame(parts).reindex(period_order(result)).fillna(0.0)


def named_periods(result: Result, table: pd.DataFrame) -> pd.DataFrame:
    """Name the rows, which are periods; columns that are yards get their names too."""
    yard = names(result, "yard")
    return table.rename(index=names(result, "period")).rename(
        columns=lambda code: yard.get(code, code)
    )
