"""What is wrong with a scenario, and what a planner should look at, before solving."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.diagnosis.days_drive import beyond_a_day
from logistics.diagnosis.feasibility import idle_yards
from logistics.diagnosis.places import placed
from logistics.diagnosis.plausible import NAMES, implausible
from logistics.diagnosis.reach import travel_warnings, unreachable_sites
from logistics.diagnosis.settled import Settled, settled
from logistics.diagnosis.slips import cautions, doubted_figures
from logistics.roads import road_warnings, sites, travel
from logistics.scenario import ScenarioError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logistics.diagnosis.finding import Finding
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
    return list(looked_at(scenario, ways, instance).open)


def looked_at(scenario: Scenario, ways: Travel, instance: Instance) -> Settled:
    """Return the same, and what of it the planner accepts with a reason."""
    found = _of_roads(scenario) + travel_warnings(scenario, ways)
    said = {(p.file, p.value) for p in found}
    idle = idle_yards(scenario, instance)
    found += [p for p in idle if (p.file, p.value) not in said]
    doubted = doubts(scenario, beyond_a_day(scenario, ways))
    found += [*cautions(scenario), *doubted.open]
    return Settled(tuple(placed(found, scenario)), doubted.accepted)


def doubts(scenario: Scenario, more: Sequence[Finding] = ()) -> Settled:
    """
    Return what may be a slip by tables and settings, and what of it is accepted.

    Parameters
    ----------
    scenario
        District.
    more
        Findings that rest on more than tables.
    """
    sure = implausible(scenario)
    said = {(f.problem.file, f.codes, f.problem.column) for f in sure}
    misread = [
        found
        for found in doubted_figures(scenario)
        if (found.problem.file, found.codes, found.problem.column) not in said
    ]
    return settled([*sure, *misread, *more], scenario.accepted, NAMES)


def _of_roads(scenario: Scenario) -> list[Problem]:
    """Return what may be wrong with the roads near the sites."""
    places = sites(scenario)
    names = [str(site).replace(":", " ") for site in places["site"]]
    lon, lat = places["lon"].to_numpy(dtype=float), places["lat"].to_numpy(dtype=float)
    return road_warnings(scenario.roads, names, lon, lat)
