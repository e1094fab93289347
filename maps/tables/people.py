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
            "people [heads]": table["heads"].astype(float),
            "nearest open yard": named(table["yard"], names(result, "yard")),
            "distance to it [m]": table["metres"].replace(np.inf, np.nan),
            "weight by distance [1]": table["weight"],
            "people by weight [heads]": table["heads"].astype(float) * table["weight"],
            "trucks in the busiest month [1/day]": table["passes"],
        }
    )


def exposure(result: Result) -> pd.DataFrame:
    """People near yards at work and busy roads, by month; a measure, no odour study."""
    table, near = exposure_table(result), result.scenario.settings.people
    label = {**names(result, "period"), YEAR: "the year"}
    return pd.DataFrame(
        {
            "period": named(table["period"], label),
            f"people within {near.near_m:g} m of a yard [heads]": table["near"],
            f"people within {near.middle_m:g} m of a yard [heads]": table["middle"],
            f"people within {near.far_m:g} m of a yard [heads]": table["far"],
            "people weighted by distance [heads]": table["weighted"],
            "people near a busy road [heads]": table["road"],
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
            "number [1]": table["count"],
            "mean by tonnes [unit beside it]": numbers["mean"],
            "Gini index [1]": table["gini"].astype(float),
            "mean of the worst tenth [unit beside it]": numbers["worst"],
            "greatest [unit beside it]": numbers["greatest"],
            "greatest is at": where,
        }
    )


def by_district(result: Result) -> pd.DataFrame:
    """Distances of farms and sources, and haulage a tonne, by district."""
    table, currency = by_area(result), result.scenario.settings.currency
    heads = {
        "district": "district",
        "farms": "farms [1]",
        "farms_mean": "farms, mean [km]",
        "farms_most": "farms, greatest [km]",
        "sources": "sources [1]",
        "sources_mean": "sources, mean [km]",
        "sources_most": "sources, greatest [km]",
        "per_t": f"haulage to the yards [{currency}/t]",
    }
    table["district"] = named(table["district"], names(result, "district"))
    return table[list(heads)].rename(columns=heads).replace(np.inf, np.nan)
