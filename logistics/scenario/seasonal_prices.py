"""Prices of compost and feedstock period by period: the year's, or one of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.scenario.edits import with_table

if TYPE_CHECKING:
    from logistics.scenario.scenario import Scenario

TABLE, COLUMN = "period_prices", "price_per_t"
SAME = 1e-12
"""Share by which prices may differ by rounding alone."""
NOBODY = {"market": "", "source": ""}
Sellers = Literal["markets", "sources"]


def period_prices(scenario: Scenario, table: Sellers) -> NDArray[np.float64]:
    """
    Return the price of every market or source in every period.

    Parameters
    ----------
    scenario
        Its table of period prices says where a period's price is not the year's.
    table
        "markets" (compost) or "sources" (feedstock).

    Returns
    -------
    ndarray
        Rows as in the table, columns the periods. [money/t]
    """
    frame, key = scenario.table(table), table.removesuffix("s")
    year = frame[COLUMN].to_numpy(dtype=float)
    found = np.repeat(year[:, None], len(scenario.periods), axis=1)
    own = scenario.table(TABLE)
    own = own[own[key] != ""]
    places = {code: n for n, code in enumerate(frame[key])}
    columns = {code: n for n, code in enumerate(scenario.periods["period"])}
    for code, period, price in zip(own[key], own["period"], own[COLUMN], strict=True):
        found[places[code], columns[period]] = price
    return found


def price_change(scenario: Scenario, table: Sellers) -> NDArray[np.float64] | None:
    """
    Return what prices of periods are above the year's; None where none has its own.

    Returns
    -------
    ndarray
        Rows and columns as those of `period_prices`. [money/t]
    """
    if scenario.table(TABLE).empty:
        return None
    year = scenario.table(table)[COLUMN].to_numpy(dtype=float)
    return np.asarray(period_prices(scenario, table) - year[:, None])


def with_period_prices(
    scenario: Scenario, table: Sellers, prices: NDArray[np.float64]
) -> Scenario:
    """
    Return the scenario with these prices; a period gets a row where it differs.

    Parameters
    ----------
    prices
        See `period_prices`; one price in all periods is that of the year. [money/t]
    """
    frame, key = scenario.table(table).copy(), table.removesuffix("s")
    level = np.isclose(prices, prices[:, :1], rtol=SAME, atol=0).all(axis=1)
    frame[COLUMN] = np.where(level, prices[:, 0], frame[COLUMN])
    codes, periods = frame[key].tolist(), scenario.periods["period"].tolist()
    year = frame[COLUMN].to_numpy(dtype=float)
    rows = [
        {**NOBODY, key: codes[n], "period": periods[t], COLUMN: prices[n, t]}
        for n, t in np.argwhere(~np.isclose(prices, year[:, None], rtol=SAME, atol=0))
    ]
    own = scenario.table(TABLE)
    fresh = pd.DataFrame(rows, columns=own.columns)
    others = own[own[key] == ""]
    both = pd.concat([others, fresh]).astype(own.dtypes.to_dict())
    return with_table(with_table(scenario, table, frame), TABLE, both)
