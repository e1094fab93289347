"""Trucks in tables for people: by month, where based, and as the rounds send them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds import (
    fleet_by_period,
    fleet_by_yard,
    fleet_driven,
    own_trucks_worth,
)
from maps.shared import named, names

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven


def fleet(result: Result) -> pd.DataFrame:
    """Trucks that the plan calls for, by type and period: own, hired, use, peak."""
    table = fleet_by_period(result)
    return pd.DataFrame(
        {
            "truck": named(table["truck"], names(result, "truck")),
            "period": named(table["period"], names(result, "period")),
            "truck hours [h]": table["hours"],
            "of that own trucks [h]": table["own_hours"],
            "of that hired [h]": table["hired_hours"],
            "own trucks at hand [trucks]": table["owned"],
            "own trucks busy [trucks]": table["own_used"],
            "hired trucks busy [trucks]": table["hired_used"],
            "whole trucks called for [trucks]": table["trucks"],
            "use of own trucks [%]": table["use"] * 100,
            "peak of the type": table["peak"].map({True: "yes", False: ""}),
        }
    )


def fleet_bases(result: Result) -> pd.DataFrame:
    """Yards at which trucks of a type are busy: own ones based there, hours hired."""
    table = fleet_by_yard(result)
    return pd.DataFrame(
        {
            "truck": named(table["truck"], names(result, "truck")),
            "yard": named(table["yard"], names(result, "yard")),
            "truck hours [h/yr]": table["hours"],
            "trucks busy, mean [trucks]": table["busy"],
            "trucks busy, most [trucks]": table["most"],
            "most in": named(table["most_period"], names(result, "period")),
            "own trucks based here [trucks]": table["based"],
            "hired [h/yr]": table["hired"],
        }
    )


def fleet_worth(result: Result) -> pd.DataFrame:
    """Say what one own truck more or less would save in a year, flows as they are."""
    table, money = own_trucks_worth(result), result.scenario.settings.currency
    return pd.DataFrame(
        {
            "truck": named(table["truck"], names(result, "truck")),
            "own trucks [trucks]": table["owned"],
            f"fixed cost of one [{money}/yr]": table["fixed"],
            f"one more saves [{money}/yr]": table["one_more"],
            f"one less saves [{money}/yr]": table["one_less"],
        }
    )


def driven_fleet(result: Result, driven: Driven) -> pd.DataFrame:
    """Trucks that the rounds of a period send out, by type, own or hired, and yard."""
    table = fleet_driven(result, driven)
    places = named(table["yard"], names(result, "yard")).where(
        table["yard"] != "", "all yards"
    )
    return pd.DataFrame(
        {
            "truck": named(table["truck"], names(result, "truck")),
            "owned or hired": table["whose"],
            "yard": places,
            "most out on a day [trucks]": table["most"],
            "mean out on a day [trucks]": table["mean"],
            "trucks and days [truck days]": table["truck_days"],
            "trips of a truck and day [trips]": table["trips_day"],
            "out, not summed [hours]": table["hours"],
            "use [%]": table["use"] * 100,
            "way, not summed [kilometres]": table["km"],
        }
    )
