"""What proven gaps leave open: differences between plans that are as good as none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.studies import left_open
from maps.shared.console import grouped
from maps.shared.money_units import money_unit

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Settings

OF_GOAL = {"uncollected": "t a year", "co2e": "kg CO2e a year"}
"""Unit of a difference in a goal that is no money."""


def goal_said(value: float, settings: Settings) -> str:
    """Write a difference in the goal with its unit; large money in thousands or so."""
    goal = settings.goal.minimise
    if goal == "cost":
        return f"{money_unit(settings.currency, [value]).said(value)} a year"
    return f"{grouped(value)} {OF_GOAL[goal]}"


def goal_text(value: float, beside: float, settings: Settings) -> str:
    """Write a difference in the goal without its unit, which is that of another."""
    if settings.goal.minimise == "cost":
        return money_unit(settings.currency, [beside]).text(value)
    return grouped(value)


def equal_words(what: str, difference: float, settings: Settings) -> str:
    """Say that two plans are as good as equal."""
    if abs(difference) < 0.5:
        one = goal_said(1, settings)
        return f"As good as equal {what}: they differ by less than {one}."
    said = goal_said(abs(difference), settings)
    return (
        f"As good as equal {what}: a difference of {said} lies within the plans' "
        "proven gaps."
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
        return f"Nothing is proven about a plan {which}."
    if room == 0:
        return f"It is proven that no plan {which} is better than this one."
    most = goal_said(room, result.scenario.settings)
    return (
        f"A plan {which} may be as good as equal: it can beat this one by at most "
        f"{most}."
    )
