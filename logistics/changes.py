"""
Named changes to a scenario: the "and if" of a planner.

Each is a function from scenario to scenario; its name and its docstring are what the
command line and the desk show. Quantities are in the units of the input tables.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from logistics.cells import read_value
from logistics.edits import (
    add_row,
    known,
    period_number,
    refuse,
    reshape_season,
    rows_of,
    scale_values,
    set_values,
    with_table,
)
from logistics.numbertext import CellFault
from logistics.scenario import Scenario
from logistics.schema import settings_columns
from logistics.settings import change_setting

Change = Callable[..., Scenario]
CHANGES: dict[str, Change] = {}


def change(function: Change) -> Change:
    """Make a function available as a change, under its own name."""
    CHANGES[function.__name__] = function
    return function


def _span(scenario: Scenario, start: str, end: str) -> np.ndarray:
    """Mark the periods from start to end, both with; blank ends at the year's end."""
    count = len(scenario.periods)
    first = period_number(scenario, "from", start) if start else 0
    last = period_number(scenario, "to", end) if end else count - 1
    places = np.arange(count)
    if first <= last:
        return (places >= first) & (places <= last)
    return (places >= first) | (places <= last)


@change
def close_source(
    scenario: Scenario, *, source: str, from_: str = "", to: str = ""
) -> Scenario:
    """Close a source, for good or from one period to another."""
    shut = _span(scenario, from_, to)
    return reshape_season(scenario, source, np.where(shut, 0.0, 1.0).tolist())


@change
def scale_source(
    scenario: Scenario,
    *,
    percent: float,
    source: str = "",
    material: str = "",
    district: str = "",
) -> Scenario:
    """Raise (or with a minus, lower) what all or some sources yield. [%]"""
    rows = rows_of(
        scenario, "sources", source=source, material=material, district=district
    )
    return scale_values(scenario, "sources", rows, "amount", percent)


@change
def set_source(scenario: Scenario, *, source: str, amount: float) -> Scenario:
    """Set the yearly amount of a source, in the unit of its basis."""
    rows = rows_of(scenario, "sources", source=source)
    return set_values(scenario, "sources", rows, {"amount": amount})


@change
def shift_season(scenario: Scenario, *, season: str, periods: int) -> Scenario:
    """Move a season profile later (or with a minus, earlier) by some periods."""
    calendar = scenario.calendar.copy()
    rows = rows_of(scenario, "calendar", season=season)
    order = list(scenario.periods["period"])
    codes = calendar.loc[rows, "period"].map(order.index).to_numpy()
    calendar.loc[rows, "period"] = [order[(c + periods) % len(order)] for c in codes]
    return with_table(scenario, "calendar", calendar)


@change
def add_source(
    scenario: Scenario,
    *,
    source: str,
    material: str,
    lon: float,
    lat: float,
    tonnes: float,
    season: str,
    district: str = "",
    disposal_cost_per_t: float = 0.0,
    wait_hours: float = 4.0,
) -> Scenario:
    """Add a source of so many tonnes a year."""
    known("season", season, set(scenario.calendar["season"]))
    row = {
        "source": source,
        "material": material,
        "lon": lon,
        "lat": lat,
        "basis": "tonnes",
        "amount": tonnes,
        "season": season,
        "district": district,
        "disposal_cost_per_t": disposal_cost_per_t,
        "wait_hours": wait_hours,
    }
    return add_row(scenario, "sources", row)


@change
def price_source(
    scenario: Scenario, *, price_per_t: float, source: str = "", material: str = ""
) -> Scenario:
    """Set what sources are paid per tonne."""
    rows = rows_of(scenario, "sources", source=source, material=material)
    return set_values(scenario, "sources", rows, {"price_per_t": price_per_t})


@change
def lab_values(
    scenario: Scenario,
    *,
    source: str = "",
    material: str = "",
    moisture_pct: float | None = None,
    carbon_pct: float | None = None,
    nitrogen_pct: float | None = None,
) -> Scenario:
    """Use laboratory values for one source, or for a material everywhere."""
    given = {
        "moisture_pct": moisture_pct,
        "carbon_pct": carbon_pct,
        "nitrogen_pct": nitrogen_pct,
    }
    values = {name: value for name, value in given.items() if value is not None}
    if bool(source) == bool(material):
        why = "must be given, or material, and not both"
        refuse("source", source, why, "Name one of the two")
    if material:
        rows = rows_of(scenario, "materials", material=material)
        return set_values(scenario, "materials", rows, values)
    rows = rows_of(scenario, "sources", source=source)
    own = {f"lab_{name}": value for name, value in values.items()}
    return set_values(scenario, "sources", rows, own)


@change
def close_yard(scenario: Scenario, *, yard: str) -> Scenario:
    """Rule a yard out."""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"decision": "closed"})


@change
def force_yard(scenario: Scenario, *, yard: str) -> Scenario:
    """Demand that a yard be open."""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"decision": "open"})


@change
def move_yard(scenario: Scenario, *, yard: str, lon: float, lat: float) -> Scenario:
    """Move a candidate to another place."""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"lon": lon, "lat": lat})


@change
def add_yard(
    scenario: Scenario,
    *,
    yard: str,
    lon: float,
    lat: float,
    area_m2: float,
    water_m3_per_day: float,
    land_rent_per_m2_year: float = 0.0,
    works_factor: float = 1.0,
) -> Scenario:
    """Add a candidate yard."""
    row = {
        "yard": yard,
        "lon": lon,
        "lat": lat,
        "area_m2": area_m2,
        "water_m3_per_day": water_m3_per_day,
        "land_rent_per_m2_year": land_rent_per_m2_year,
        "works_factor": works_factor,
    }
    return add_row(scenario, "yards", row)


@change
def scale_works(scenario: Scenario, *, percent: float, yard: str = "") -> Scenario:
    """Raise (or with a minus, lower) the cost of building works. [%]"""
    rows = rows_of(scenario, "yards", yard=yard)
    return scale_values(scenario, "yards", rows, "works_factor", percent)


@change
def set_area(scenario: Scenario, *, yard: str, area_m2: float) -> Scenario:
    """Set the usable area of a yard's site, which limits its size. [m2]"""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"area_m2": area_m2})


@change
def scale_price(scenario: Scenario, *, percent: float, market: str = "") -> Scenario:
    """Raise (or with a minus, lower) the price of compost. [%]"""
    rows = rows_of(scenario, "markets", market=market)
    return scale_values(scenario, "markets", rows, "price_per_t", percent)


@change
def scale_demand(scenario: Scenario, *, percent: float, market: str = "") -> Scenario:
    """Raise (or with a minus, lower) the compost that markets take. [%]"""
    rows = rows_of(scenario, "markets", market=market)
    return scale_values(scenario, "markets", rows, "amount", percent)


@change
def add_market(
    scenario: Scenario,
    *,
    market: str,
    lon: float,
    lat: float,
    tonnes: float,
    season: str,
    price_per_t: float,
) -> Scenario:
    """Add a market that takes so many tonnes of compost a year."""
    known("season", season, set(scenario.calendar["season"]))
    row = {
        "market": market,
        "lon": lon,
        "lat": lat,
        "basis": "tonnes",
        "amount": tonnes,
        "season": season,
        "price_per_t": price_per_t,
    }
    return add_row(scenario, "markets", row)


@change
def scale_fuel(scenario: Scenario, *, percent: float) -> Scenario:
    """Raise (or with a minus, lower) the price of diesel. [%]"""
    price = scenario.settings.finance.fuel_price_per_l * (1 + percent / 100)
    return setting(scenario, name="finance.fuel_price_per_l", value=str(price))


@change
def scale_wages(scenario: Scenario, *, percent: float) -> Scenario:
    """Raise (or with a minus, lower) what truck crews are paid. [%]"""
    rows = rows_of(scenario, "trucks")
    return scale_values(scenario, "trucks", rows, "crew_cost_per_hour", percent)


@change
def set_fleet(
    scenario: Scenario,
    *,
    truck: str,
    owned: int | None = None,
    hire_limit: int | None = None,
) -> Scenario:
    """Set how many trucks of a type are owned and can be hired."""
    given = {"owned": owned, "hire_limit": hire_limit}
    values = {name: value for name, value in given.items() if value is not None}
    rows = rows_of(scenario, "trucks", truck=truck)
    return set_values(scenario, "trucks", rows, values)


@change
def close_road(
    scenario: Scenario, *, road: str, from_: str = "", to: str = ""
) -> Scenario:
    """Close a road, bridge or ferry, for good or from one period to another."""
    shut = _span(scenario, from_, to)
    rows = rows_of(scenario, "roads", road=road)
    before = scenario.roads.loc[rows, "closed_periods"].iloc[0]
    codes = scenario.periods["period"]
    both = [c for c, s in zip(codes, shut, strict=True) if s or c in before]
    value = " ".join(both)
    return set_values(scenario, "roads", rows, {"closed_periods": value})


@change
def open_road(scenario: Scenario, *, road: str) -> Scenario:
    """Keep a road, bridge or ferry open all year: no flood closes it."""
    rows = rows_of(scenario, "roads", road=road)
    return set_values(scenario, "roads", rows, {"closed_periods": ""})


@change
def set_fare(scenario: Scenario, *, road: str, fare: float) -> Scenario:
    """Set the toll or fare of a road, bridge or ferry, per crossing."""
    rows = rows_of(scenario, "roads", road=road)
    return set_values(scenario, "roads", rows, {"fare_per_trip": fare})


@change
def least_share(
    scenario: Scenario, *, share_pct: float, material: str = "", district: str = ""
) -> Scenario:
    """Demand that at least this share of the supply be collected. [%]"""
    rows_of(scenario, "sources", material=material, district=district)
    row = {"share_pct": share_pct, "material": material, "district": district}
    return add_row(scenario, "policy", row)


@change
def setting(scenario: Scenario, *, name: str, value: str) -> Scenario:
    """Set any setting by its name, for example finance.discount_pct."""
    known("name", name, settings_columns())
    column = settings_columns()[name]
    try:
        inside = read_value(str(value), column)
    except CellFault as fault:
        refuse(name, value, fault.why, fault.remedy)
    return replace(scenario, settings=change_setting(scenario.settings, name, inside))
