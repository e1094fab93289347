"""Settings given on the command line in place of those in the file."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def with_settings(
    scenario: Scenario, seconds: float | None, gap: float | None, goal: str | None
) -> Scenario:
    """Return the scenario with longest time [s], gap [%] and goal, where given."""
    from logistics.scenario import change_setting

    wanted = {"solve.seconds": seconds, "solve.gap_pct": gap, "goal.minimise": goal}
    settings = scenario.settings
    for name, value in wanted.items():
        if value is not None:
            settings = change_setting(settings, name, value)
    return replace(scenario, settings=settings)
