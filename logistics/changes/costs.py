"""Changes to money, trucks, windrows and any setting by its name."""

from dataclasses import replace

from logistics.changes.registry import change
from logistics.scenario import (
    CellFault,
    Scenario,
    change_setting,
    keys_of,
    known,
    read_value,
    refuse,
    rows_of,
    scale_values,
    scaled,
    set_values,
    settings_columns,
    some,
)


@change
def setting(scenario: Scenario, *, name: str, value: str) -> Scenario:
    """Set any setting by its name, for example finance.discount_pct."""
    known("name", name, settings_columns())
    scale = scenario.settings.finance.money_scale
    column = scaled(settings_columns()[name], scale)
    try:
        inside = read_value(str(value), column)
    except CellFault as fault:
        refuse(name, value, fault.why, fault.remedy)
    if column.refers_to:
        table = scenario.table(column.refers_to)
        known("value", str(value), table[keys_of(column.refers_to)[0]].tolist())
    return replace(scenario, settings=change_setting(scenario.settings, name, inside))


@change
def set_fuel(scenario: Scenario, *, price_per_l: float) -> Scenario:
    """Set the price of diesel per litre."""
    return setting(scenario, name="finance.fuel_price_per_l", value=str(price_per_l))


@change
def scale_fuel(scenario: Scenario, *, percent: float) -> Scenario:
    """Raise or (with a minus sign) lower the price of diesel. [%]"""
    price = scenario.settings.finance.fuel_price_per_l * (1 + percent / 100)
    return set_fuel(scenario, price_per_l=price)


@change
def scale_wages(scenario: Scenario, *, percent: float) -> Scenario:
    """Raise or (with a minus sign) lower the pay of truck crews. [%]"""
    rows = rows_of(scenario, "trucks")
    return scale_values(scenario, "trucks", rows, "crew_cost_per_hour", percent)


@change
def scale_hire(scenario: Scenario, *, percent: float, truck: str = "") -> Scenario:
    """Raise or (with a minus sign) lower the hourly cost of hired trucks. [%]"""
    rows = rows_of(scenario, "trucks", truck=truck)
    return scale_values(scenario, "trucks", rows, "hire_cost_per_hour", percent)


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
    rows = rows_of(scenario, "trucks", truck=truck)
    return set_values(scenario, "trucks", rows, some(given))


@change
def set_discount(scenario: Scenario, *, percent: float) -> Scenario:
    """Set the discount rate used for annuities. [%]"""
    return setting(scenario, name="finance.discount_pct", value=str(percent))


@change
def pair_trips(scenario: Scenario, *, how: str = "yes") -> Scenario:
    """Pair trips: waste to a yard, then compost on: yes, washed (fish too), or no."""
    return setting(scenario, name="fleet.pairing", value=how)


@change
def set_packing(scenario: Scenario, *, percent: float) -> Scenario:
    """Set the volume of a fresh windrow, as a share of its parts added up. [%]"""
    return setting(scenario, name="windrow.packing_pct", value=str(percent))


@change
def set_shrinking(scenario: Scenario, *, percent: float) -> Scenario:
    """Set the volume of a windrow that leaves for curing, as a share of fresh. [%]"""
    return setting(scenario, name="windrow.end_volume_pct", value=str(percent))
