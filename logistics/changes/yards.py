"""Changes to yards: closed, forced, moved, new, dearer, larger."""

from logistics.changes.registry import change
from logistics.scenario import (
    Scenario,
    add_row,
    known,
    rows_of,
    scale_values,
    set_values,
    some,
)


@change
def close_yard(scenario: Scenario, *, yard: str) -> Scenario:
    """Rule out a yard."""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"decision": "closed"})


@change
def force_yard(scenario: Scenario, *, yard: str) -> Scenario:
    """Demand that a yard be open."""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"decision": "open"})


@change
def build_yard(scenario: Scenario, *, yard: str, size: str) -> Scenario:
    """Demand that a yard be open in one size."""
    known("size", size, set(scenario.yard_sizes["size"]))
    rows = rows_of(scenario, "yards", yard=yard)
    values = {"decision": "open", "only_size": size}
    return set_values(scenario, "yards", rows, values)


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
def set_yard(
    scenario: Scenario,
    *,
    yard: str,
    existing_size: str = "",
    works_factor: float | None = None,
    land_rent_per_m2_year: float | None = None,
    water_m3_per_day: float | None = None,
    water_price_per_m3: float | None = None,
) -> Scenario:
    """Set figures for a yard: size already built, cost of works, rent, water."""
    if existing_size:
        known("existing_size", existing_size, set(scenario.yard_sizes["size"]))
    given = {
        "existing_size": existing_size or None,
        "works_factor": works_factor,
        "land_rent_per_m2_year": land_rent_per_m2_year,
        "water_m3_per_day": water_m3_per_day,
        "water_price_per_m3": water_price_per_m3,
    }
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, some(given))


@change
def set_area(scenario: Scenario, *, yard: str, area_m2: float) -> Scenario:
    """Set the usable area of a yard's site, which limits its size. [m2]"""
    rows = rows_of(scenario, "yards", yard=yard)
    return set_values(scenario, "yards", rows, {"area_m2": area_m2})


@change
def scale_works(scenario: Scenario, *, percent: float, yard: str = "") -> Scenario:
    """Raise or (with a minus sign) lower the cost of building works. [%]"""
    rows = rows_of(scenario, "yards", yard=yard)
    return scale_values(scenario, "yards", rows, "works_factor", percent)


@change
def set_size(
    scenario: Scenario,
    *,
    size: str,
    pad_m2: float | None = None,
    store_m3: float | None = None,
    works_cost: float | None = None,
    machine_cost: float | None = None,
    fixed_cost_per_year: float | None = None,
    handling_cost_per_t: float | None = None,
) -> Scenario:
    """Set figures for a yard size, wherever it is built."""
    given = {
        "pad_m2": pad_m2,
        "store_m3": store_m3,
        "works_cost": works_cost,
        "machine_cost": machine_cost,
        "fixed_cost_per_year": fixed_cost_per_year,
        "handling_cost_per_t": handling_cost_per_t,
    }
    rows = rows_of(scenario, "yard_sizes", size=size)
    return set_values(scenario, "yard_sizes", rows, some(given))
