"""Nutrients that markets get a hectare, with the content that the mixes really have."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting.nutrients import NUTRIENTS
from logistics.composting.process import Floats, Integers, store_content
from logistics.composting.ripe_days import by_period, ready_by_day
from logistics.composting.windrow_life import period_of_day

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def content_by_yard(scenario: Scenario, mixes: pd.DataFrame) -> pd.DataFrame:
    """
    Nutrients in a tonne of compost as delivered, the year's mean of every yard.

    Returns
    -------
    DataFrame
        Rows yards, columns n, p2o5, k2o. [t/t]
    """
    dry = 1 - scenario.settings.process.product_moisture
    grains = mixes[list(NUTRIENTS)].mul(mixes["product_t"] * dry, axis=0)
    tonnes = mixes["product_t"].groupby(mixes["yard"]).sum()
    return grains.groupby(mixes["yard"]).sum().div(tonnes, axis=0)


def inside_compost(
    scenario: Scenario,
    mixes: pd.DataFrame,
    compost: pd.DataFrame,
    flows: pd.DataFrame,
    keys: Sequence[str] = NUTRIENTS,
    quantity: str = "tonnes",
) -> pd.DataFrame:
    """
    Count what is in compost that leaves the stores of yards.

    What becomes ready in a period is mixed with what is in store, see
    `process.store_content`; what leaves in a period is of that mixture.

    Parameters
    ----------
    scenario, mixes, compost
        Days and moisture; the mixes with `keys` as shares of their compost's dry mass
        [t/t]; the plan's table `compost`.
    flows, keys, quantity
        Tonnes by yard and period, in this column; what to count.

    Returns
    -------
    DataFrame
        Rows as `flows`, columns `keys`. [t]
    """
    process, codes = scenario.settings.process, scenario.periods["period"]
    ripe = by_period(ready_by_day(scenario), period_of_day(scenario), len(codes))
    yards, periods = pd.Index(compost["yard"].unique()), pd.Index(codes)

    def places(table: pd.DataFrame) -> tuple[Integers, Integers]:
        return (
            yards.get_indexer(table["yard"]),
            periods.get_indexer(table["period"]),
        )

    def grid(table: pd.DataFrame, values: pd.Series) -> Floats:
        found = np.zeros((len(yards) + 1, len(periods)))  # the last of no yard
        np.add.at(found, places(table), values.to_numpy(dtype=float))
        return found

    ready, stock = (grid(compost, compost[name]) for name in ("made_t", "stock_t"))
    dry = mixes["product_t"] * (1 - process.product_moisture)
    at, tonnes = places(flows), flows[quantity].to_numpy(dtype=float)
    inside = {
        key: store_content(ready, grid(mixes, mixes[key] * dry) @ ripe, stock)[at]
        for key in keys
    }
    return pd.DataFrame(inside, index=flows.index).mul(tonnes, axis=0)


def dressing_by_market(
    scenario: Scenario,
    mixes: pd.DataFrame,
    compost: pd.DataFrame,
    deliveries: pd.DataFrame,
) -> pd.DataFrame:
    """Nutrients delivered to every market: rows markets, columns n p2o5 k2o. [t/yr]"""
    grains = inside_compost(scenario, mixes, compost, deliveries)
    return grains.groupby(deliveries["market"].to_numpy()).sum()
