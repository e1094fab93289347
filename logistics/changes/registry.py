"""The registry of changes: name -> function from scenario to scenario."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from logistics.scenario import Scenario, period_number

Change = Callable[..., Scenario]
CHANGES: dict[str, Change] = {}


def change(function: Change) -> Change:
    """Make a function available as a change, under its own name."""
    CHANGES[function.__name__] = function
    return function


def span(scenario: Scenario, start: str, end: str) -> NDArray[np.bool_]:
    """Mark the periods from start to end, both with; blank ends at the year's end."""
    count = len(scenario.periods)
    first = period_number(scenario, "from", start) if start else 0
    last = period_number(scenario, "to", end) if end else count - 1
    places = np.arange(count)
    if first <= last:
        return (places >= first) & (places <= last)
    return (places >= first) | (places <= last)
