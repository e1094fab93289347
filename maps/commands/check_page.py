"""What `loamhaul check` says of a scenario without faults."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.roads import Travel
    from logistics.scenario import Problem, Scenario


def check_lines(
    scenario: Scenario, travel: Travel, instance: Instance
) -> Iterator[str]:
    """Tables, supply and demand, and warnings, line by line."""
    from logistics.composting import yearly_demand, yearly_supply

    for table, rows in scenario.tables.items():
        if len(rows):
            yield f"  {table}: {len(rows)} rows"
    supply = yearly_supply(scenario).groupby("material")["tonnes_per_year"].sum()
    for material, tonnes in supply.items():
        yield f"  supply of {material}: {tonnes:,.0f} t/yr"
    asked = yearly_demand(scenario)["tonnes_per_year"].sum()
    yield f"  demand for compost: {asked:,.0f} t/yr"
    used = len(scenario.defaults_used)
    yield f"  {used} cells and settings hold defaults that are not local."
    found = warnings(scenario, travel, instance)
    if found:
        yield f"  {len(found)} {'warning' if len(found) == 1 else 'warnings'}:"
    for problem in found:
        yield f"  {problem}"
    yield from screening_lines(scenario)


def screening_lines(scenario: Scenario) -> Iterator[str]:
    """Say what the land screening finds at every yard, and what it could not ask."""
    from logistics.land import NOT_LAW, not_screened, refused, screen
    from maps.shared import clean

    if scenario.settings.siting.screen == "off":
        yield "Land screening is off (siting.screen)."
        return
    found, blind = screen(scenario), not_screened(scenario)
    out = refused(found)
    yield f"Land screening, a {NOT_LAW}:"
    for yard in found["yard"].unique().tolist():
        rows = found[found["yard"] == yard]
        refuse = (rows["action"] == "refuse").tolist()
        partly = "refused for some feedstock" if any(refuse) else "warning"
        yield f"  {yard}: {'refused' if yard in out else partly}"
        for why, no in zip(rows["reason"], refuse, strict=True):
            yield f"    {'refused' if no else 'warning'}: {clean(why)}"
    if found.empty:
        yield "  no yard breaks a rule"
    for why in blind["why"].unique().tolist():
        asked = ", ".join(blind.loc[blind["why"] == why, "name"])
        yield f"  not asked, {why}: {clean(asked)}"


def faults(scenario: Scenario, travel: Travel) -> list[Problem]:
    """Return forced sites that nobody can reach, and what may be wrong with roads."""
    from logistics.diagnosis import unreachable_sites

    found = unreachable_sites(scenario, travel)
    return [*found, *_road_warnings(scenario)] if found else []


def warnings(scenario: Scenario, travel: Travel, instance: Instance) -> list[Problem]:
    """Return what a planner should look at although a plan can be made."""
    from logistics.diagnosis import cautions, idle_yards, travel_warnings

    found = _road_warnings(scenario) + travel_warnings(scenario, travel)
    said = {(p.file, p.value) for p in found}
    idle = idle_yards(scenario, instance)
    found += [p for p in idle if (p.file, p.value) not in said]
    return found + cautions(scenario, instance)


def _road_warnings(scenario: Scenario) -> list[Problem]:
    from logistics.roads import road_warnings, sites

    places = sites(scenario)
    names = [str(site).replace(":", " ") for site in places["site"]]
    lon, lat = places["lon"].to_numpy(dtype=float), places["lat"].to_numpy(dtype=float)
    return road_warnings(scenario.roads, names, lon, lat)
