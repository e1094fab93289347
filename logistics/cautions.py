"""What may be a slip in the tables and settings, though a plan can be made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.checks import Problem
from logistics.frames import records
from logistics.materials import feedstocks

if TYPE_CHECKING:
    from logistics.scenario import Scenario

DAY_H = 24.0


def cautions(scenario: Scenario) -> list[Problem]:
    """List what a planner should look at again, in the order of the tables."""
    return [*late_pickups(scenario)]


def late_pickups(scenario: Scenario) -> list[Problem]:
    """Warn where feedstock spoils before the next round comes."""
    days = scenario.settings.travel.pickup_days
    if days <= 1:
        return []
    found = []
    for row in records(feedstocks(scenario)):
        keep = float(row["keep_hours"])
        if keep < days * DAY_H:
            why = f"spoils after {keep:g} h, but travel.pickup_days is {days:g}"
            what = (
                "Rounds are planned to come in time and carry less; lower pickup_days"
            )
            where = (None, "keep_hours", row["feedstock"])
            found.append(Problem("materials.csv", *where, why, what))
    return found
