"""
The greenhouse gas of a year, today and with the plan, line by line and with its range.

Today everything that arises goes the way of `sources.disposal`. With the plan a part
still does; composting, trucks and machines emit, and mineral nitrogen need not be made.
The goal `co2e` counts the same lines (`model.rules.objective`). Carbon dioxide from
plants and fish is not counted; carbon kept in the soil stands apart and is added to
nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import (
    feedstocks,
    leftover_nitrogen,
    nitrogen_kept,
    seasonal_supply,
    source_feedstock,
)
from logistics.costs import disposal_gases, without_factor
from logistics.results import once_a_result
from logistics.scenario import factor_value, records, totals

if TYPE_CHECKING:
    from logistics.results import Result

Values = Mapping[str, float]
CO2_PER_C = 44 / 12
COLUMNS = ["case", "line", "place", "period", "gas", "quantity", "unit", "kg", "co2e"]


def values_of(factors: pd.DataFrame) -> dict[str, float]:
    """Return the factors by code."""
    return {str(row["factor"]): float(row["value"]) for row in records(factors)}


@dataclass(frozen=True)
class Quantities:
    """
    What emits, by place and period, whatever the factors are.

    Attributes
    ----------
    today, left
        All that arises, and what the plan leaves, with way ("burnt", "dumped", ...)
        and feedstock of each row [t].
    feed
        Feedstocks by code.
    charged
        Taken into windrows [t].
    fuel
        Diesel of the trucks [L].
    nitrogen
        Nitrogen of compost made, less that of compost left over, which is taken to hold
        what is declared [kg].
    """

    today: pd.DataFrame
    left: pd.DataFrame
    feed: pd.DataFrame
    charged: pd.DataFrame
    fuel: pd.DataFrame
    nitrogen: pd.DataFrame


def quantities_of(result: Result) -> Quantities:
    """Sum what emits; see `Quantities`."""
    return Quantities(
        today=_lying(result, seasonal_supply(result.scenario)),
        left=_lying(result, result.plan.uncollected),
        feed=feedstocks(result.scenario).set_index("feedstock"),
        charged=_sums(result.plan.charges.rename(columns={"yard": "place"}), "tonnes"),
        fuel=_fuel(result),
        nitrogen=_nitrogen(result),
    )


def emission_account(result: Result, values: Values | None = None) -> pd.DataFrame:
    """
    Account for the gases of a year.

    Parameters
    ----------
    result
        A planned scenario.
    values
        Factors by code in place of the scenario's.

    Returns
    -------
    DataFrame
        case ("today" or "plan"), line, place (source or yard), period, gas, quantity
        of what emits, its unit, kg of the gas [kg], co2e [kg CO2e].
    """
    values = values_of(result.scenario.factors) if values is None else values
    return account_of(quantities_of(result), values)


def account_of(found: Quantities, values: Values) -> pd.DataFrame:
    """Account for what emits with some factors; see `emission_account`."""
    parts = [
        _disposal(found.today, found.feed, values, "today"),
        _disposal(found.left, found.feed, values, "plan"),
        _composting(found.charged, values),
        _trucks(found.fuel, values),
        _machines(found.charged, values),
        _fertiliser(found.nitrogen, values),
    ]
    filled = [part for part in parts if len(part)]
    table = pd.concat(filled or parts, ignore_index=True)
    warming = {
        "CH4": factor_value(values, "gwp_ch4"),
        "N2O": factor_value(values, "gwp_n2o"),
        "CO2": 1.0,
    }
    table["co2e"] = table["kg"] * table["gas"].map(warming)
    return table[COLUMNS]


def _rows(
    table: pd.DataFrame, case: str, line: str, unit: str, gases: Mapping[str, float]
) -> pd.DataFrame:
    """Turn place, period, quantity into rows of each gas. [kg/unit]"""
    each = [
        table.assign(case=case, line=line, unit=unit, gas=gas, kg=table["quantity"] * x)
        for gas, x in gases.items()
    ]
    return pd.concat(each, ignore_index=True)


def _sums(table: pd.DataFrame, column: str) -> pd.DataFrame:
    """Sum a column by place and period: place, period, quantity."""
    rows = totals(table, ["place", "period"], column) if len(table) else []
    made = pd.DataFrame(rows, columns=["place", "period", "quantity"])
    return made.astype({"quantity": "float64"})


def _lying(result: Result, tonnes: pd.DataFrame) -> pd.DataFrame:
    """Sum what is not collected, with what each source has and does with it today."""
    table = _sums(tonnes.rename(columns={"source": "place"}), "tonnes")
    sources = result.scenario.sources.set_index("source")
    way = table["place"].map(sources["disposal"])
    code = table["place"].map(source_feedstock(result.scenario))
    return table.assign(way=way, feedstock=code)


def _disposal(
    lying: pd.DataFrame, feed: pd.DataFrame, values: Values, case: str
) -> pd.DataFrame:
    """Gases of what is not collected; ways without a factor have no row."""
    parts = []
    for (way, code), part in lying.groupby(["way", "feedstock"], sort=False):
        gases = disposal_gases(feed.loc[str(code)], str(way), values)
        table = part[["place", "period", "quantity"]]
        if gases:
            parts.append(_rows(table, case, str(way), "t", gases))
    return pd.concat(parts, ignore_index=True) if parts else _no_rows()


def without_factors(result: Result) -> pd.Series:
    """Tonnes a year that today go a way for which no factor is known, by way. [t/yr]"""
    lying = _lying(result, seasonal_supply(result.scenario))
    known = without_factor(result.scenario.factors)
    return lying[lying["way"].isin(known)].groupby("way")["quantity"].sum()


def _no_rows() -> pd.DataFrame:
    """Make a table of gases without any."""
    return pd.DataFrame(columns=[c for c in COLUMNS if c != "co2e"])


def _composting(charged: pd.DataFrame, values: Values) -> pd.DataFrame:
    """Methane and nitrous oxide of windrows. [g/kg wet is kg/t]"""
    gases = {
        gas.upper(): factor_value(values, f"compost_{gas}_g_per_kg_wet")
        for gas in ("ch4", "n2o")
    }
    return _rows(charged, "plan", "composting", "t", gases)


def _fuel(result: Result) -> pd.DataFrame:
    """Diesel of the trucks, by yard."""
    lanes = result.driven
    yard = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    return _sums(lanes.assign(place=yard), "fuel_l")


def _trucks(fuel: pd.DataFrame, values: Values) -> pd.DataFrame:
    """Diesel of the trucks, by yard."""
    diesel = {"CO2": factor_value(values, "diesel_co2_kg_per_l")}
    return _rows(fuel, "plan", "trucks", "L", diesel)


def _machines(charged: pd.DataFrame, values: Values) -> pd.DataFrame:
    """Diesel of loaders and turners, by tonnes taken into windrows."""
    litres = charged["quantity"] * factor_value(values, "machine_l_per_t")
    diesel = {"CO2": factor_value(values, "diesel_co2_kg_per_l")}
    table = charged.assign(quantity=litres)
    return _rows(table, "plan", "machines", "L", diesel)


def _nitrogen(result: Result) -> pd.DataFrame:
    """Nitrogen of compost that reaches fields, by the period it is made of. [kg]"""
    scenario, plan = result.scenario, result.plan
    settings, table = scenario.settings, feedstocks(scenario)
    kept = pd.Series(nitrogen_kept(table, settings), index=table["feedstock"])
    made, left = plan.charges, plan.compost
    counted = (1 - settings.process.product_moisture) * leftover_nitrogen(settings)
    parts = [
        made[["yard", "period"]].assign(
            kg=1000 * made["tonnes"] * made["feedstock"].map(kept).to_numpy(dtype=float)
        ),
        left[["yard", "period"]].assign(kg=-1000 * counted * left["leftover_t"]),
    ]
    both = pd.concat([part for part in parts if len(part)] or parts)
    return _sums(both.rename(columns={"yard": "place"}), "kg")


def _fertiliser(nitrogen: pd.DataFrame, values: Values) -> pd.DataFrame:
    """Mineral nitrogen that crops do without in the first year; below 0."""
    usable = nitrogen["quantity"] * factor_value(values, "n_first_year")
    table = nitrogen.assign(quantity=usable)
    made = {"CO2": -factor_value(values, "fertiliser_n_co2e_per_kg")}
    return _rows(table, "plan", "mineral nitrogen not made", "kg N", made)


def soil_carbon(result: Result) -> float:
    """
    Carbon that compost leaves in the soil, apart from all totals. [kg CO2/yr]

    0 unless the factor soil_carbon_share says how much is kept.
    """
    share = factor_value(result.scenario.factors, "soil_carbon_share")
    mixes, dry = result.mixes, 1 - result.scenario.settings.process.product_moisture
    carbon = mixes["product_t"] * dry * mixes["product_cn"] * mixes["n"]
    made = float(result.plan.compost["made_t"].sum())
    sold = float(result.plan.deliveries["tonnes"].sum())
    spread = float(carbon.sum()) * (sold / made if made else 0.0)
    return spread * 1000 * share * CO2_PER_C


def totals_of(account: pd.DataFrame) -> dict[str, float]:
    """Sum today, plan and their difference. [kg CO2e/yr]"""
    sums = account.groupby("case")["co2e"].sum()
    today, plan = float(sums.get("today", 0.0)), float(sums.get("plan", 0.0))
    return {"today": today, "plan": plan, "difference": plan - today}


@once_a_result
def emission_bounds(result: Result) -> tuple[pd.DataFrame, pd.DataFrame]:
    """
    How far the totals go if each factor lies anywhere in its published range.

    Returns
    -------
    tuple
        Totals: what ("today", "plan", "difference"), co2e, low, high [kg CO2e/yr].
        Factors: factor, low, high and the difference at either end, the widest
        first.

    Notes
    -----
    One factor at a time; the ways of all are added as independent errors, the root of
    the sum of squares, up and down apart. Factors without a range count as certain.
    """
    factors = result.scenario.factors
    values, found = values_of(factors), quantities_of(result)
    base = totals_of(account_of(found, values))
    down = dict.fromkeys(base, 0.0)
    up = dict.fromkeys(base, 0.0)
    rows = []
    for row in records(factors):
        ends = [row["low"], row["high"]]
        if any(np.isnan(end) for end in ends):
            continue
        reached = [
            totals_of(account_of(found, values | {str(row["factor"]): end}))
            for end in ends
        ]
        for name, middle in base.items():
            steps = [one[name] - middle for one in reached]
            down[name] += min(0.0, *steps) ** 2
            up[name] += max(0.0, *steps) ** 2
        if any(one != base for one in reached):
            ways = [one["difference"] for one in reached]
            rows.append((row["factor"], *ends, *ways))
    columns = ["factor", "low", "high", "at_low", "at_high"]
    effects = pd.DataFrame(rows, columns=columns)
    width = (effects["at_high"] - effects["at_low"]).abs()
    order = width.sort_values(ascending=False, kind="stable").index
    summary = [
        (name, middle, middle - down[name] ** 0.5, middle + up[name] ** 0.5)
        for name, middle in base.items()
    ]
    return (
        pd.DataFrame(summary, columns=["what", "co2e", "low", "high"]),
        effects.loc[order].reset_index(drop=True),
    )
