"""Changes to roads and to what the board demands."""

from logistics.changes.registry import change, span
from logistics.scenario import Scenario, add_row, rows_of, set_values, with_table


@change
def close_road(
    scenario: Scenario, *, road: str, from_: str = "", to: str = ""
) -> Scenario:
    """Close a road, bridge or ferry, for good or from one period to another."""
    shut = span(scenario, from_, to)
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
def limit_road(scenario: Scenario, *, road: str, max_gross_t: float) -> Scenario:
    """Post the heaviest truck, with its load, that a road or bridge may bear. [t]"""
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
    """Demand that at least this share of the supply be collected. [%]"""
    rows_of(scenario, "sources", material=material, district=district)
    row = {"share_pct": share_pct, "material": material, "district": district}
    return add_row(scenario, "policy", row)


@change
def drop_shares(
    scenario: Scenario, *, material: str = "", district: str = ""
) -> Scenario:
    """Drop the demands on shares collected: all, or those of one kind."""
    rows = rows_of(scenario, "policy", material=material, district=district)
    return with_table(scenario, "policy", scenario.policy[~rows])
