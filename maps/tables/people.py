"""Output tables of who lives near yards and roads, and how evenly a plan lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts import (
    DISTRICTS,
    FARMS,
    SOURCES,
    YEAR,
    by_area,
    exposed_places,
    exposure_table,
    fairness_table,
)
from maps.shared import named, names

if TYPE_CHECKING:
    from logistics.results import Result

WHO = {
    FARMS: "farms: km to the nearest open yard",
    SOURCES: "sources: km to the nearest open yard",
    DISTRICTS: "districts: haulage to the yards [{currency}/t]",
}
KIND = {FARMS: "market", SOURCES: "source", DISTRICTS: "district"}


def people(result: Result) -> pd.DataFrame:
    """Places with people: nearest open yard, and trucks on the busiest road near."""
    table = exposed_places(result)
    return pd.DataFrame(
        {
            "place": table["place"],
            "name": table["name"],
            "heads": table["heads"].astype(float),
            "nearest open yard": named(table["yard"], names(result, "yard")),
            "distance to it [m]": table["metres"].replace(np.inf, np.nan),
            "weight by distance": table["weight"],
            "heads by weight": table["heads"].astype(float) * table["weight"],
            "trucks a working day, busiest month": table["passes"],
        }
    )


def exposure(result: Result) -> pd.DataFrame:
    """People near yards at work and busy roads, by month; a measure, no odour study."""
    table, near = exposure_table(result), result.scenario.settings.people
    label = {**names(result, "period"), YEAR: "the year"}
    return pd.DataFrame(
        {
            "period": named(table["period"], label),
            f"heads within {near.near_m:g} m of a yard": table["near"],
            f"heads within {near.middle_m:g} m of a yard": table["middle"],
            f"heads within {near.far_m:g} m of a yard": table["far"],
            "heads weighted by distance": table["weighted"],
            "heads near a busy road": table["road"],
            "worst place": table["worst"],
        }
    )


def fairness(result: Result) -> pd.DataFrame:
    """How evenly distances and haulage lie: Gini, greatest, mean of the worst tenth."""
    table, currency = fairness_table(result), result.scenario.settings.currency
    where = [
        names(result, KIND[who]).get(site, site)
        for who, site in zip(table["who"], table["site"], strict=True)
    ]
    numbers = table[["mean", "worst", "greatest"]].astype(float).replace(np.inf, np.nan)
    return pd.DataFrame(
        {
            "of whom": [WHO[who].format(currency=currency) for who in table["who"]],
            "number": table["count"],
            "mean by tonnes": numbers["mean"],
            "Gini index": table["gini"].astype(float),
            "mean of the worst tenth": numbers["worst"],
            "greatest": numbers["greatest"],
            "greatest is at": where,
        }
    )


def by_district(result: Result) -> pd.DataFrame:
    """Distances of farms and sources, and haulage a tonne, by district."""
    table, currency = by_area(result), result.scenario.settings.currency
    heads = {
        "district": "district",
        "farms": "farms",
        "farms_mean": "farms, mean [km]",
        "farms_most": "farms, greatest [km]",
        "sources": "sources",
        "sources_mean": "sources, mean [km]",
        "sources_most": "sources, greatest [km]",
        "per_t": f"haulage to the yards [{currency}/t]",
    }
    table["district"] = named(table["district"], names(result, "district"))
    return table[list(heads)].rename(columns=heads).replace(np.inf, np.nan)
