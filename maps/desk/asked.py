"""What an order asks of a worker: settings, yards to start from; or to stop."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from logistics.scenario import Scenario

SETTINGS = ("solve.gap_pct", "solve.seconds", "goal.minimise")
"""Settings that an order may ask for."""


class StudyStopError(Exception):
    """The planner asked to stop, or the study cannot be made; says why."""


def settled(scenario: Scenario, order: Mapping[str, Any]) -> Scenario:
    """Return a scenario with the settings that an order asks for."""
    from logistics.scenario import with_settings

    wanted = {name: order[name] for name in SETTINGS if name in order}
    return with_settings(scenario, wanted)


def standing(scenario: Scenario, start: object) -> list[tuple[str, str]]:
    """Yards of an earlier plan, with their sizes, that the scenario still knows."""
    if not isinstance(start, Mapping):
        return []
    yards = set(scenario.yards["yard"])
    sizes = set(scenario.yard_sizes["size"])
    return [(y, s) for y, s in start.items() if y in yards and s in sizes]
