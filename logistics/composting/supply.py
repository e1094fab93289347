"""Tonnes a year and a period, from what people know: mills, landings, fields, herds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting.materials import source_feedstock

if TYPE_CHECKING:
    from logistics.scenario import Scenario

DAYS_PER_YEAR = 365


def _number(value: float) -> str:
    """Write a quantity for people: 8400 -> 8,400 and 0.267 -> 0.267."""
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def _percent(share: float) -> str:
    return f"{share * 100:.4g} %"


def _conversion(source: pd.Series) -> tuple[float, str]:
    """Tonnes a year of one source [t/yr], and the reckoning in words."""
    amount, basis = float(source["amount"]), source["basis"]
    if basis == "processed":
        gross = amount * source["waste"]
        words = f"{_number(amount)} t processed x {_percent(source['waste'])}"
    elif basis == "cropped":
        gross = amount * source["yield_t_ha"] * source["residue_ratio"]
        words = (
            f"{_number(amount)} ha x {_number(source['yield_t_ha'])} t/ha"
            f" x {_number(source['residue_ratio'])} t/t"
        )
    elif basis == "animals":
        gross = amount * source["kg_per_head_day"] * DAYS_PER_YEAR / 1000
        words = (
            f"{_number(amount)} head x {_number(source['kg_per_head_day'])} kg/day"
            f" x {DAYS_PER_YEAR} days / 1,000"
        )
    else:
        gross, words = amount, f"{_number(amount)} t"
    tonnes = float(gross * source["recoverable"])
    recoverable = f" x {_percent(source['recoverable'])} recoverable"
    return tonnes, f"{words}{recoverable} = {_number(tonnes)} t/yr"


def yearly_supply(scenario: Scenario) -> pd.DataFrame:
    """
    Tonnes a year of each source, with the reckoning that led to them.

    Parameters
    ----------
    scenario
        Table sources. Bases: tonnes; processed (amount x waste share); cropped
        (hectares x yield x residue ratio); animals (head x kg a day x 365 days).
        All are multiplied by the recoverable share.

    Returns
    -------
    DataFrame
        source, material, tonnes_per_year [t/yr as received], conversion (words and
        figures), conversion_source.
    """
    sources = scenario.sources
    reckoned = [_conversion(row) for _, row in sources.iterrows()]
    return pd.DataFrame(
        {
            "source": sources["source"],
            "material": sources["material"],
            "tonnes_per_year": np.array([t for t, _ in reckoned], dtype=float),
            "conversion": np.array([words for _, words in reckoned], dtype=object),
            "conversion_source": sources["conversion_source"],
        },
        index=sources.index,
    ).reset_index(drop=True)


def _spread(
    yearly: pd.DataFrame, key: str, season: pd.Series, scenario: Scenario
) -> pd.DataFrame:
    """
    Spread tonnes_per_year of each `key` over the periods by its season.

    Shares are divided by their sum, so that 12 x 8.33 % is the whole year. A period
    that a profile does not name receives nothing.
    """
    periods = scenario.periods["period"]
    calendar = scenario.calendar
    total = calendar.groupby("season")["share"].transform("sum")
    shares = (
        calendar.assign(share=calendar["share"] / total)
        .pivot_table(index="season", columns="period", values="share", aggfunc="sum")
        .reindex(index=season, columns=periods)
        .fillna(0.0)
    )
    tonnes = shares.to_numpy(dtype=float) * yearly[["tonnes_per_year"]].to_numpy()
    return pd.DataFrame(
        {
            key: np.repeat(yearly[key].to_numpy(dtype=object), len(periods)),
            "period": np.tile(periods.to_numpy(dtype=object), len(yearly)),
            "tonnes": tonnes.ravel(),
        }
    )


def seasonal_supply(scenario: Scenario) -> pd.DataFrame:
    """
    Spread each source's year over the periods.

    Parameters
    ----------
    scenario
        Tables sources, calendar and periods.

    Returns
    -------
    DataFrame
        One row a source and period, in the order of the tables: source, feedstock,
        period, tonnes [t as received].
    """
    sources = scenario.sources
    spread = _spread(yearly_supply(scenario), "source", sources["season"], scenario)
    codes = source_feedstock(scenario)
    spread.insert(1, "feedstock", spread["source"].map(codes))
    return spread


def yearly_demand(scenario: Scenario) -> pd.DataFrame:
    """
    Most compost each market takes in a year.

    Parameters
    ----------
    scenario
        Table markets. Bases: tonnes; area (hectares x rate).

    Returns
    -------
    DataFrame
        market, tonnes_per_year [t/yr], conversion (words and figures).
    """
    markets = scenario.markets
    amount = markets["amount"].to_numpy(dtype=float)
    rate = markets["rate_t_ha"].to_numpy(dtype=float)
    by_area = (markets["basis"] == "area").to_numpy()
    tonnes = np.where(by_area, amount * rate, amount)
    words = [
        f"{_number(a)} ha x {_number(r)} t/ha = {_number(t)} t/yr"
        if area
        else f"{_number(t)} t/yr"
        for a, r, t, area in zip(amount, rate, tonnes, by_area, strict=True)
    ]
    return pd.DataFrame(
        {
            "market": markets["market"],
            "tonnes_per_year": tonnes,
            "conversion": np.array(words, dtype=object),
        },
        index=markets.index,
    ).reset_index(drop=True)


def seasonal_demand(scenario: Scenario) -> pd.DataFrame:
    """
    Spread each market's year over the periods.

    Parameters
    ----------
    scenario
        Tables markets, calendar and periods.

    Returns
    -------
    DataFrame
        One row a market and period, in the order of the tables: market, period,
        tonnes [t].
    """
    season = scenario.markets["season"]
    return _spread(yearly_demand(scenario), "market", season, scenario)
