"""Changes to roads and to what the board demands."""

from logistics.changes.registry import change, change_in_time
from logistics.scenario import Scenario, add_row, rows_of, set_values, with_table


@change_in_time
def close_road(scenario: Scenario, *, road: str) -> Scenario:
    """Close a road, bridge or ferry."""
    rows = rows_of(scenario, "roads", road=road)
    value = " ".join(scenario.periods["period"])
    return set_values(scenario, "roads", rows, {"closed_periods": value})


@change_in_time
def open_road(scenario: Scenario, *, road: str) -> Scenario:
    """Keep a road, bridge or ferry open in every season."""
    rows = rows_of(scenario, "roads", road=road)
    return set_values(scenario, "roads", rows, {"closed_periods": ""})


@change
def limit_road(scenario: Scenario, *, road: str, max_gross_t: float) -> Scenario:
    """Set the heaviest truck, including its load, for a road or bridge. [t]"""
    rows = rows_of(scenario, "roads", road=road)
    return set_values(scenario, "roads", rows, {"max_gross_t": max_gross_t})


@change
def set_fare(scenario: Scenario, *, road: str, fare: float) -> Scenario:
    """Set the toll or fare of a road, bridge or ferry, per crossing."""
    rows = rows_of(scenario, "roads", road=road)
    return set_values(scenario, "roads", rows, {"fare_per_trip": fare})


@change
def least_share(
    scenario: Scenario, *, share_pct: float, material: str = "", district: str = ""
) -> Scenario:
    """Demand that the plan collect at least this share of the supply. [%]"""
    rows_of(scenario, "sources", material=material, district=district)
    row = {"share_pct": share_pct, "material": material, "district": district}
    return add_row(scenario, "policy", row)


@change
def drop_shares(
    scenario: Scenario, *, material: str = "", district: str = ""
) -> Scenario:
    """Drop the board's demands on shares collected: all, or those of one kind."""
    rows = rows_of(scenario, "policy", material=material, district=district)
    return with_table(scenario, "policy", scenario.policy[~rows])
