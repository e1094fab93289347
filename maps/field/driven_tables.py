"""Rounds in tables for people: names in place of codes, times of day, units."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds import by_freight, calls, summary, tours
from maps.shared import named, names
from maps.tables import driven_fleet

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven

DONE = {
    "in": "load",
    "out": "unload compost",
    "yard": "unload",
    "way": "arrive empty",
}


def short_truck(name: str, home: str) -> str:
    """
    Leave the yard out of a truck's name.

    >>> short_truck("yard_d3 light owned 1", "yard_d3")
    'light owned 1'
    """
    return name.removeprefix(f"{home} ")


def truck_letter(number: int) -> str:
    """
    Letter of a truck on the map of the day and on its run sheet, counted from 0.

    >>> truck_letter(0), truck_letter(25), truck_letter(27)
    ('A', 'Z', 'BB')
    """
    return chr(ord("A") + number % 26) * (1 + number // 26)


def clock(hours: float) -> str:
    """
    Write hours after midnight as a time of day, to the minute.

    >>> clock(6.0), clock(13.7667), clock(25.5)
    ('06:00', '13:46', '25:30')
    """
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def place_names(result: Result) -> dict[str, str]:
    """Name of every source, yard and market by its code."""
    return {
        code: name
        for kind in ("source", "market", "yard")
        for code, name in names(result, kind).items()
    }


def calls_table(result: Result, driven: Driven) -> pd.DataFrame:
    """Every call of every truck in order: times, tonnes and m3."""
    table, known = calls(driven), place_names(result)
    currency = result.scenario.settings.currency
    done = (
        table["kind"]
        .map(DONE)
        .where((table["kind"] != "yard") | (table["tonnes"] > 0), "return empty")
    )
    return pd.DataFrame(
        {
            "day": table["day"],
            "yard": named(table["yard"], known),
            "truck": table["truck"],
            "home of the truck": named(table["home"], known),
            "trip": table["trip"],
            "call": table["call"],
            "place": named(table["place"], known),
            "do": done,
            "freight": named(table["material"], names(result, "material")),
            "tonnes [t]": table["tonnes"],
            "volume [m3]": table["m3"],
            "leaves": table["leaves_h"].map(clock),
            "arrives": table["arrives_h"].map(clock),
            "ready": table["ends_h"].map(clock),
            "driving [h]": table["drive_h"],
            "break [h]": table["break_h"],
            "way [km]": table["km"],
            "on board on the way [t]": table["load_t"],
            "on board on the way [m3, not summed]": table["load_m3"],
            f"way [{currency}]": table["money"],
        }
    )


def tours_table(result: Result, driven: Driven) -> pd.DataFrame:
    """Every truck and day: trips, hours out, driving, km, cost."""
    table, known = tours(driven), place_names(result)
    return pd.DataFrame(
        {
            "day": table["day"],
            "yard": named(table["yard"], known),
            "truck": table["truck"],
            "truck type": named(table["type"], names(result, "truck")),
            "owned or hired": table["whose"],
            "trips [1]": table["trips"],
            "stops [1]": table["calls"],
            "tonnes [t]": table["tonnes"],
            "leaves": table["starts_h"].map(clock),
            "back": table["ends_h"].map(clock),
            "out [h]": table["hours"],
            "driving [h]": table["driving_h"],
            "way [km]": table["km"],
            "of that empty [km]": table["empty_km"],
            f"cost [{result.scenario.settings.currency}]": table["money"],
        }
    )


def freight_table(result: Result, driven: Driven) -> pd.DataFrame:
    """Planned against driven by feedstock and compost."""
    return against(by_freight(result, driven), result)


def freight_names(result: Result) -> dict[str, str]:
    """Names of feedstocks, compost, and all of them together."""
    return {**names(result, "material"), "all": "all freight"}


def against(table: pd.DataFrame, result: Result) -> pd.DataFrame:
    """Word a table of `rounds_tables.by_freight`: planned against driven."""
    money = result.scenario.settings.currency
    return pd.DataFrame(
        {
            "freight": named(table["material"], freight_names(result)),
            "planned [t]": table["planned_t"],
            "driven [t]": table["driven_t"],
            "not driven [t]": table["left_t"],
            "planned [h]": table["planned_h"],
            "driven [h]": table["driven_h"],
            f"cost planned [{money}]": table["planned_money"],
            f"cost driven [{money}]": table["driven_money"],
            f"planned [{money}/t]": table["planned_per_t"],
            f"driven [{money}/t]": table["driven_per_t"],
        }
    )


def left_table(result: Result, driven: Driven) -> pd.DataFrame:
    """List what is planned and not driven, each with its reason."""
    table, known = driven.left, place_names(result)
    return pd.DataFrame(
        {
            "day": table["day"],
            "yard": named(table["yard"], known),
            "place": named(table["place"], known),
            "freight": named(table["material"], names(result, "material")),
            "tonnes [t]": table["tonnes"].astype(float),
            "reason": table["reason"],
        }
    )


def figures_table(result: Result, driven: Driven) -> pd.DataFrame:
    """Key figures of the period, planned beside driven."""
    known = summary(result, driven)
    money = result.scenario.settings.currency
    rows: list[tuple[str, object, object, str]] = [
        ("Tonnes", known["planned_t"], known["driven_t"], "t"),
        ("Not driven", 0.0, known["left_t"], "t"),
        ("Truck hours", known["planned_hours"], known["driven_hours"], "h"),
        ("Cost of haulage, hire included", known["planned_money"],
         known["driven_money"], money),
        ("Kilometres", known["planned_km"], known["driven_km"], "km"),
        ("of which empty", None, known["empty_km"], "km"),
        ("Truck-days", None, known["tours"], "1"),
        ("Trips", None, known["trips"], "1"),
        ("Most trucks out on a day", None, known["most_trucks_out"], "1"),
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["figure", "planned", "driven", "unit"])


def round_tables(result: Result, driven: Driven) -> dict[str, pd.DataFrame]:
    """All sheets of rounds.xlsx, in order."""
    return {
        "summary": figures_table(result, driven),
        "by freight": freight_table(result, driven),
        "fleet": driven_fleet(result, driven),
        "trucks": tours_table(result, driven),
        "stops": calls_table(result, driven),
        "not driven": left_table(result, driven),
    }
