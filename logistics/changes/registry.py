"""The registry of changes: name -> function from scenario to scenario."""

from collections.abc import Callable

from logistics.scenario import Scenario

Change = Callable[..., Scenario]
CHANGES: dict[str, Change] = {}
IN_TIME: set[str] = set()
"""Changes that take `from` and `until`: what they touch may differ by period."""


def change(function: Change) -> Change:
    """Make a function available as a change, under its own name."""
    CHANGES[function.__name__] = function
    return function


def change_in_time(function: Change) -> Change:
    """Make a change available that also takes from and until; see `part_of_year`."""
    IN_TIME.add(function.__name__)
    return change(function)


def in_time(name: str) -> bool:
    """Say whether a change can hold for a part of the year."""
    return name in IN_TIME
