"""Paired trips in tables for people: pair by pair, and month by month."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from maps.shared import named, names, period_order

if TYPE_CHECKING:
    from logistics.results import Result

SUMS = ["trips", "km", "hours", "fuel_l", "money"]


def saved_by_period(result: Result) -> pd.DataFrame:
    """
    Add up paired trips by period.

    Returns
    -------
    DataFrame
        period; trips paired, km, hours, fuel_l and money saved against no pairing of
        the same trips; empty_km (driven empty), share (of the empty km that there
        would be without pairing, saved; not a number where nothing is driven).
    """
    lanes, periods = result.lanes, period_order(result)
    sums = result.paired_trips.groupby("period")[SUMS].sum()
    empty = lanes["vehicle_km"] - lanes["km"] * lanes["trips"]
    alone = empty.groupby(lanes["period"]).sum().reindex(periods).fillna(0.0)
    table = sums.reindex(periods).fillna(0.0)
    table["empty_km"] = alone - table["km"]
    table["share"] = table["km"] / alone.where(alone > 0)
    return table.rename_axis("period").reset_index()


def paired_on(result: Result) -> pd.Series:
    """Trips of each row of the lanes that are paired."""
    lanes, paired_trips = result.lanes, result.paired_trips
    keys = ["truck", "period"]
    into = paired_trips.groupby(["source", "yard", *keys])["trips"].sum().to_dict()
    out = paired_trips.groupby(["yard", "market", *keys])["trips"].sum().to_dict()
    known = {"in": into, "out": out}
    columns = ["kind", "origin", "destination", *keys]
    return pd.Series(
        [
            known[kind].get(tuple(key), 0.0)
            for kind, *key in lanes[columns].itertuples(index=False)
        ],
        index=lanes.index,
        dtype="float64",
    )


def paired(result: Result) -> pd.DataFrame:
    """Every pair of trips by period: trips, and what they save against no pairing."""
    table, money = result.paired_trips, result.scenario.settings.currency
    return pd.DataFrame(
        {
            "source": named(table["source"], names(result, "source")),
            "yard": named(table["yard"], names(result, "yard")),
            "market": named(table["market"], names(result, "market")),
            "truck": named(table["truck"], names(result, "truck")),
            "period": named(table["period"], names(result, "period")),
            "paired trips [1]": table["trips"],
            "empty way saved [km]": table["km"],
            "truck hours saved [h]": table["hours"],
            "fuel saved [L]": table["fuel_l"],
            f"saved before hire [{money}]": table["money"],
        }
    )


def paired_by_period(result: Result) -> pd.DataFrame:
    """Paired trips by period, and what they save against no pairing."""
    table, money = saved_by_period(result), result.scenario.settings.currency
    return pd.DataFrame(
        {
            "period": named(table["period"], names(result, "period")),
            "paired trips [1]": table["trips"],
            "empty way saved [km]": table["km"],
            "driven empty [km]": table["empty_km"],
            "empty way saved [%]": table["share"] * 100,
            "truck hours saved [h]": table["hours"],
            "fuel saved [L]": table["fuel_l"],
            f"saved before hire [{money}]": table["money"],
        }
    )
