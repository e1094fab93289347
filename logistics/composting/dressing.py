"""Nutrients that markets get a hectare, with the content the mixes really have."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import pandas as pd

from logistics.composting.nutrients import NUTRIENTS
from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.scenario import Scenario

LEAST_KG_HA = 0.5
"""A limit passed by less is not worth a warning. [kg/ha]"""

LIMITED = ("n", "p2o5")
"""Nutrients for which a market may set a limit."""


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


def dressing_by_market(
    scenario: Scenario, mixes: pd.DataFrame, deliveries: pd.DataFrame
) -> pd.DataFrame:
    """Nutrients delivered to every market: rows markets, columns n p2o5 k2o. [t/yr]"""
    content = content_by_yard(scenario, mixes).reindex(deliveries["yard"])
    grains = content.reset_index(drop=True)
    grains = grains.mul(deliveries["tonnes"].to_numpy(), axis=0)
    return grains.groupby(deliveries["market"].to_numpy()).sum()


def over_limits(
    scenario: Scenario, mixes: pd.DataFrame, deliveries: pd.DataFrame
) -> pd.DataFrame:
    """
    Find the markets that get more a hectare than they allow.

    The plan keeps the limits with the declared content of the compost, since the true
    one depends on the mix and would make the rows nonlinear; here they are held
    against the content reckoned from the mixes.

    Returns
    -------
    DataFrame
        market, nutrient, kg_ha, limit_kg_ha [kg/ha], and declare_pct, the content
        which, declared, would have kept the limit with these mixes, rounded up.
        [% of dry mass]
    """
    delivered, found = dressing_by_market(scenario, mixes, deliveries), []
    for row in records(scenario.tables["markets"]):
        code, hectares = str(row["market"]), float(row["amount"])
        if row["basis"] != "area" or code not in delivered.index or not hectares:
            continue
        for key in LIMITED:
            limit = float(row[f"{key}_limit_kg_ha"])
            each = float(delivered[key][code]) * 1000 / hectares
            if each > limit + LEAST_KG_HA:
                said = 100 * float(getattr(scenario.settings.product, key))
                richer = ceil(round(10 * said * each / limit, 6)) / 10 if limit else 0.0
                found.append((code, key, each, limit, richer))
    columns = ["market", "nutrient", "kg_ha", "limit_kg_ha", "declare_pct"]
    kinds = dict.fromkeys(columns[:2], "str") | dict.fromkeys(columns[2:], "float64")
    return pd.DataFrame(found, columns=columns).astype(kinds)
