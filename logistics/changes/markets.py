"""Changes to who takes compost, how much, and what they pay."""

from logistics.changes.registry import change_in_time
from logistics.scenario import (
    Scenario,
    add_row,
    known,
    rows_of,
    scale_values,
    set_values,
    some,
)


@change_in_time
def close_market(scenario: Scenario, *, market: str) -> Scenario:
    """Close a market."""
    rows = rows_of(scenario, "markets", market=market)
    return set_values(scenario, "markets", rows, {"amount": 0})


@change_in_time
def scale_price(scenario: Scenario, *, percent: float, market: str = "") -> Scenario:
    """Raise or (with a minus sign) lower the price of compost. [%]"""
    rows = rows_of(scenario, "markets", market=market)
    return scale_values(scenario, "markets", rows, "price_per_t", percent)


@change_in_time
def scale_demand(scenario: Scenario, *, percent: float, market: str = "") -> Scenario:
    """Raise or (with a minus sign) lower the compost that markets take. [%]"""
    rows = rows_of(scenario, "markets", market=market)
    return scale_values(scenario, "markets", rows, "amount", percent)


@change_in_time
def set_market(
    scenario: Scenario,
    *,
    market: str,
    amount: float | None = None,
    rate_t_ha: float | None = None,
    price_per_t: float | None = None,
) -> Scenario:
    """Set what a market takes (tonnes or hectares, as in its basis), or its price."""
    given = {"amount": amount, "rate_t_ha": rate_t_ha, "price_per_t": price_per_t}
    rows = rows_of(scenario, "markets", market=market)
    return set_values(scenario, "markets", rows, some(given))


@change_in_time
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
    """Add a market that takes a given number of tonnes of compost a year."""
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
