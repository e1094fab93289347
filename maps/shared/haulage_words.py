"""What is said of haulage: planned, and how far driving may be from it, or driven."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maps.shared.figures import amount
from maps.shared.headlines import number
from maps.shared.money_units import MoneyUnit

if TYPE_CHECKING:
    from logistics.results import Result

MEASURED: tuple[tuple[str, float], ...] = (("Brackwater", 0.028), ("Highlake", -0.085))
"""Cost of driven rounds above the plan's, hire included, over the year of each demo
district, as a share of the plan's; measured on 30 November 2026 with `rounds`."""
OTHERS: tuple[int, float, float] = (10, -0.119, 0.099)
"""Random districts driven for a year, and the least and the most that rounds cost above
the plan, as a share of it (tests/benchmarks/RESULTS.md)."""
WHEN = "30 November 2026"
NOT_DRIVEN = "not driven yet"
ALL_ESTIMATED = (
    "Haulage is estimated alike in all of these plans; the command plan makes the "
    "rounds of a plan's year and counts what they cost."
)
"""Said with many plans, of which none is driven."""
LEAST_LEFT = 0.05
"""Tonnes left behind in a year of which nothing is said. [t]"""


def rounds_above_plan(result: Result) -> float | None:
    """Give what driven rounds cost above the plan; None before they are [money/yr]."""
    found = result.summary.get("rounds_above_plan")
    return None if found is None else number(found)


def allowance(result: Result) -> float:
    """Give what rounds would cost above this plan at the worst measured. [money/yr]"""
    ledger = result.ledger
    own = ledger["line"] == "owned trucks"
    trips = float(result.summary["haul_cost"]) - float(ledger.loc[own, "amount"].sum())
    return max(0.0, OTHERS[2], *(share for _, share in MEASURED)) * trips


def driven_words(result: Result, unit: MoneyUnit) -> str:
    """Say what the rounds of the year cost against the estimate; "" if not driven."""
    above = rounds_above_plan(result)
    if above is None:
        return ""
    known = result.summary["rounds_share"]
    year, least, most = (100 * known[part] for part in ("year", "least", "most"))
    side = "above" if above >= 0 else "below"
    word = "month" if len(result.scenario.periods) == 12 else "period"
    said = (
        "Haulage is as driven: the rounds of the whole year were made, and they cost "
        f"{unit.said(abs(above))} ({amount(abs(year), 1)} %) {side} the estimate with "
        f"which yards and loads were chosen, in single {word}s from "
        f"{signed(least)} to {signed(most)}. The proof of the plan counts the estimate."
    )
    limit = result.scenario.settings.policy.budget_limit
    over = number(result.summary["total_cost"]) - (limit or 0.0)
    if limit is not None and over > 0 and unit.text(over) != unit.text(0.0):
        said += (
            f" The year then costs {unit.said(over)} more than the board's budget "
            "limit: plan again with a limit lower by that."
        )
    left = number(result.summary["rounds_left_t"])
    if left >= LEAST_LEFT:
        said += (
            f" {amount(left, 1)} t a year found no truck and stay where they are; the "
            "command rounds says which."
        )
    return said


def signed(share: float) -> str:
    """
    Write a percentage with its sign.

    >>> signed(8.21), signed(-0.04)
    ('+8.2 %', '0.0 %')
    """
    text = amount(abs(share), 1)
    sign = "" if not float(text) else "+" if share > 0 else "−"
    return f"{sign}{text} %"


def rounds_words(result: Result, unit: MoneyUnit) -> str:
    """Say in two or three sentences how sure the cost of haulage is."""
    if "rounds_above_plan" in result.summary:
        return driven_words(result, unit)
    shares = " and ".join(
        f"{name} {amount(abs(share) * 100, 1)} % {'above' if share >= 0 else 'below'}"
        for name, share in MEASURED
    )
    count, low, high = OTHERS
    return (
        "Haulage is an estimate: its rounds are not driven yet. Rounds of a year "
        f"cost {shares} plan, in {count} random districts from "
        f"{amount(-low * 100, 1)} % below to {amount(high * 100, 1)} % above ({WHEN}): "
        f"at worst that would be {unit.said(allowance(result))} a year here."
    )
