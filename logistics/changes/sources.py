"""Changes to what arises: closures, quantities, seasons, prices, lab values."""

from dataclasses import replace
from functools import partial

from logistics.changes.part_of_year import part_changed, time_share
from logistics.changes.registry import change, change_in_time
from logistics.scenario import (
    Scenario,
    add_row,
    change_setting,
    known,
    refuse,
    rows_of,
    scale_values,
    set_values,
    some,
    with_table,
)


@change_in_time
def close_source(scenario: Scenario, *, source: str) -> Scenario:
    """Close a source: it has no more feedstock."""
    rows = rows_of(scenario, "sources", source=source)
    return set_values(scenario, "sources", rows, {"amount": 0})


@change
def open_source(
    scenario: Scenario, *, source: str, from_: str, until: str = ""
) -> Scenario:
    """Open a source only from one period, or only until another."""
    rows_of(scenario, "sources", source=source)
    shut = 1 - time_share(scenario, from_, until)
    return part_changed(partial(close_source, source=source), scenario, shut)


@change_in_time
def scale_source(
    scenario: Scenario,
    *,
    percent: float,
    source: str = "",
    material: str = "",
    district: str = "",
) -> Scenario:
    """Raise or (with a minus sign) lower the yield of all or some sources. [%]"""
    rows = rows_of(
        scenario, "sources", source=source, material=material, district=district
    )
    return scale_values(scenario, "sources", rows, "amount", percent)


@change_in_time
def set_source(scenario: Scenario, *, source: str, amount: float) -> Scenario:
    """Set the yearly amount of a source, in the unit of its basis."""
    rows = rows_of(scenario, "sources", source=source)
    return set_values(scenario, "sources", rows, {"amount": amount})


@change
def shift_season(scenario: Scenario, *, season: str, periods: int) -> Scenario:
    """Move a season later or (with a minus sign) earlier, by whole periods."""
    calendar = scenario.calendar.copy()
    rows = rows_of(scenario, "calendar", season=season)
    order = list(scenario.periods["period"])
    codes = calendar.loc[rows, "period"].map(order.index).to_numpy()
    calendar.loc[rows, "period"] = [order[(c + periods) % len(order)] for c in codes]
    return with_table(scenario, "calendar", calendar)


@change_in_time
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
    """Add a source that yields a given number of tonnes a year."""
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


@change_in_time
def price_source(
    scenario: Scenario, *, price_per_t: float, source: str = "", material: str = ""
) -> Scenario:
    """Set the price paid to sources per tonne."""
    rows = rows_of(scenario, "sources", source=source, material=material)
    return set_values(scenario, "sources", rows, {"price_per_t": price_per_t})


@change
def set_fee(
    scenario: Scenario, *, fee_per_t: float, source: str = "", material: str = ""
) -> Scenario:
    """Set the fee that sources pay to have a tonne taken away."""
    rows = rows_of(scenario, "sources", source=source, material=material)
    return set_values(scenario, "sources", rows, {"tipping_fee_per_t": fee_per_t})


@change
def set_disposal(
    scenario: Scenario, *, cost_per_t: float, source: str = "", material: str = ""
) -> Scenario:
    """Set what each uncollected tonne costs to dispose of today."""
    rows = rows_of(scenario, "sources", source=source, material=material)
    return set_values(scenario, "sources", rows, {"disposal_cost_per_t": cost_per_t})


@change
def must_collect(
    scenario: Scenario, *, source: str = "", material: str = "", district: str = ""
) -> Scenario:
    """Demand that every tonne from some sources be collected."""
    rows = rows_of(
        scenario, "sources", source=source, material=material, district=district
    )
    return set_values(scenario, "sources", rows, {"must_collect": "yes"})


@change
def lab_values(
    scenario: Scenario,
    *,
    source: str = "",
    material: str = "",
    moisture_pct: float | None = None,
    carbon_pct: float | None = None,
    nitrogen_pct: float | None = None,
    dry_matter_loss_pct: float | None = None,
    available_carbon_pct: float | None = None,
) -> Scenario:
    """Use laboratory values for one source, or for a material everywhere."""
    given = {
        "moisture_pct": moisture_pct,
        "carbon_pct": carbon_pct,
        "nitrogen_pct": nitrogen_pct,
        "dry_matter_loss_pct": dry_matter_loss_pct,
        "available_carbon_pct": available_carbon_pct,
    }
    values = some(given)
    if bool(source) == bool(material):
        why = "or material must be given, but not both"
        refuse("source", source, why, "Give one of the two")
    if material:
        rows = rows_of(scenario, "materials", material=material)
        return set_values(scenario, "materials", rows, values)
    if dry_matter_loss_pct is not None:
        why = "is known of a material, not of one source"
        refuse("dry_matter_loss_pct", dry_matter_loss_pct, why, "Give a material")
    rows = rows_of(scenario, "sources", source=source)
    own = {f"lab_{name}": value for name, value in values.items()}
    return set_values(scenario, "sources", rows, own)


@change
def count_available(scenario: Scenario, *, material: str, percent: float) -> Scenario:
    """Let C:N count so much of a material's carbon, of others as much as before. [%]"""
    rows = rows_of(scenario, "materials", material=material)
    found = scenario
    if scenario.settings.mix.cn_basis == "total":  # so all of the others' counted
        every = rows_of(scenario, "materials")
        found = set_values(found, "materials", every, {"available_carbon_pct": 100.0})
    found = set_values(found, "materials", rows, {"available_carbon_pct": percent})
    basis = change_setting(found.settings, "mix.cn_basis", "available")
    return replace(found, settings=basis)
