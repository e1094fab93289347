"""Report, the first page: how far the plan is proven, and how sure its money is."""

from __future__ import annotations

import math
from collections.abc import Callable

from logistics.model import relative_gap
from maps.report.origins import quoted, traced
from maps.report.pieces import plain
from maps.report.plan_facts import Facts
from maps.report.sections.limits import goal_unit
from maps.shared import amount, held_words, range_words, rounds_words, surplus


def rounds(facts: Facts) -> str:
    """Say how sure the cost of haulage is."""
    return quoted("assumptions", rounds_words(facts.result, facts.unit))


def money_between(facts: Facts) -> str:
    """Say between what the money lies, or how to have that reckoned."""
    return range_words(
        facts.result, facts.unit, lambda code, text: traced(facts, code, text)
    )


def sure(facts: Facts) -> str:
    """Say how far the plan can be from the best possible."""
    plan = facts.result.plan
    goal = facts.result.scenario.settings.goal.minimise

    def said(value: float) -> str:
        if goal == "cost":
            return facts.unit.said(value)
        return f"{amount(value, facts.digits)} {plain(goal_unit(facts))}"

    if plan.status == "shortage":
        return (
            "The demands cannot all be met, so nothing is proven about cost: this plan "
            "comes as close to the demands as possible."
        )
    if not math.isfinite(plan.bound):
        return "How close this plan is to the best possible is not known."
    gap = max(0.0, plan.objective - plan.bound)
    below = {
        "cost": "can have a net cost below",
        "uncollected": "can leave less than",
        "co2e": "can emit less than",
    }[goal]
    least = said(plan.bound)
    beside = "above"
    if goal == "cost" and surplus(plan.bound):
        below, least = "can have a surplus above", said(-plan.bound)
        beside = "below"
    early = "" if plan.status == "optimal" else "The search was stopped early. "
    driven = goal == "cost" and "rounds_above_plan" in facts.result.summary
    counted = ", with haulage as estimated," if driven else ""
    proven = (
        f"{early}It is proven that{counted} no plan under these assumptions {below} "
        f"{traced(facts, 'bound', least)} a year"
    )
    own = _whatever_is_held(facts, said)
    if not round(gap, facts.money_digits):
        return (
            f"{proven}, and this plan reaches that. {own}The proof is only as good as "
            "your figures."
        )
    share = traced(facts, "gap", f"{amount(plan.gap * 100, 2)} %")
    share = f" ({share})" if math.isfinite(plan.gap) else ""
    return (
        f"{proven}; this plan is at most {traced(facts, 'gap_value', said(gap))} a year"
        f"{share} {beside} that. {own}The proof is only as good as your figures."
    )


def _whatever_is_held(facts: Facts, said: Callable[[float], str]) -> str:
    """Say what the proof takes as given, and what is proven for all plans."""
    plan = facts.result.plan
    if plan.any_bound is None:
        return ""
    text = f"That is proven for plans with {held_words(plan)}. "
    if not math.isfinite(plan.any_bound):
        return text
    least = min(plan.any_bound, plan.objective)
    share = relative_gap(plan.objective, least) * 100
    most = traced(facts, "any_gap_value", said(plan.objective - least))
    return text + (
        f"Of all others none could be better by more than {most} a year "
        f"({traced(facts, 'any_gap', f'{amount(share, 2)} %')}); that bound is loose. "
    )
