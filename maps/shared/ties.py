"""What proven gaps leave open: differences between plans that are as good as none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.studies import left_open
from maps.shared.console import grouped

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Settings

OF_GOAL = {
    "cost": "{currency} a year",
    "uncollected": "t a year",
    "co2e": "kg CO2e a year",
}
"""Unit of a difference in the goal that plans minimise."""


def goal_unit(settings: Settings) -> str:
    """Name the unit of a difference between two plans."""
    return OF_GOAL[settings.goal.minimise].format(currency=settings.currency)


def equal_words(what: str, difference: float, unit: str) -> str:
    """
    Say that two plans are as good as equal.

    >>> equal_words("to the base", -550, "coin a year")
    'As good as equal to the base: a difference of 550 coin a year lies within what \
the plans are proven to.'
    >>> equal_words("to the base", 0.2, "coin a year")
    'As good as equal to the base: they differ by less than 1 coin a year.'
    """
    if abs(difference) < 0.5:
        return f"As good as equal {what}: they differ by less than 1 {unit}."
    return (
        f"As good as equal {what}: a difference of {grouped(abs(difference))} {unit} "
        "lies within what the plans are proven to."
    )


def other_yards(result: Result, which: str = "with other yards") -> str:
    """
    Say how far a plan with other yards could be better than this one.

    Parameters
    ----------
    result
        A plan.
    which
        The other plan, as in "with this site" or "without this yard".
    """
    room = left_open(result.plan)
    if room is None:
        return f"Nothing is proven of a plan {which}."
    if room == 0:
        return f"It is proven that no plan {which} is better than this one."
    unit = goal_unit(result.scenario.settings)
    return (
        f"A plan {which} may be as good as equal: it can be better than this one by at "
        f"most {grouped(room)} {unit}."
    )
