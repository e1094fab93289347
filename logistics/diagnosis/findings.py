"""What is wrong with a scenario, and what a planner should look at, before solving."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.diagnosis.feasibility import idle_yards
from logistics.diagnosis.places import placed
from logistics.diagnosis.reach import travel_warnings, unreachable_sites
from logistics.diagnosis.slips import cautions
from logistics.roads import road_warnings, sites, travel
from logistics.scenario import ScenarioError

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.roads import Travel
    from logistics.scenario import Problem, Scenario


def checked_travel(scenario: Scenario) -> Travel:
    """
    Find travel between all sites.

    Raises
    ------
    ScenarioError
        If nobody reaches a site that must take part; also says what may be wrong with
        the roads.
    """
    try:
        ways = travel(scenario)
    except ScenarioError as error:
        raise ScenarioError(placed(error.problems, scenario)) from None
    if found := unreachable_sites(scenario, ways):
        raise ScenarioError(placed([*found, *_of_roads(scenario)], scenario))
    return ways


def warnings(scenario: Scenario, ways: Travel, instance: Instance) -> list[Problem]:
    """Return what a planner should look at although a plan can be made."""
    found = _of_roads(scenario) + travel_warnings(scenario, ways)
    said = {(p.file, p.value) for p in found}
    idle = idle_yards(scenario, instance)
    found += [p for p in idle if (p.file, p.value) not in said]
    return placed(found + cautions(scenario, instance), scenario)


def _of_roads(scenario: Scenario) -> list[Problem]:
    """Return what may be wrong with the roads near the sites."""
    places = sites(scenario)
    names = [str(site).replace(":", " ") for site in places["site"]]
    lon, lat = places["lon"].to_numpy(dtype=float), places["lat"].to_numpy(dtype=float)
    return road_warnings(scenario.roads, names, lon, lat)
