"""Who lives near each yard, and how far the markets are from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.land import peopled_places
from logistics.model.problem import FarmDistances, Markets, PeopleNear

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario


def people_near(scenario: Scenario) -> PeopleNear | None:
    """Read who lives within people.far_m of each yard; None if nobody is known."""
    found = peopled_places(scenario)
    if not len(found):
        return None
    heads = found.table["heads"].to_numpy(dtype=float)
    return PeopleNear(heads, found.metres <= scenario.settings.people.far_m)


def farm_distances(
    scenario: Scenario, ways: Travel, markets: Markets
) -> FarmDistances | None:
    """
    Measure the shortest way of the year between every market and yard.

    Markets without demand, or without a way to any yard, have no share. None if no
    market is left.
    """
    km = ways.shortest_km("market", markets.codes, scenario.yards["yard"])
    reached = np.isfinite(km).any(axis=1)
    asked = np.where(reached, markets.demand.sum(axis=1), 0.0)
    if asked.sum() <= 0:
        return None
    return FarmDistances(km, asked / asked.sum())
