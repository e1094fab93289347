"""What is to be said of a comparison's plans: cannot stay, falls short, equal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.studies import equals_base, meets, proven_difference
from maps.shared import equal_words, goal_said, goal_text, shortage_sentences
from maps.studies.comparison_reason import reason

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome

MOST = 5
"""Sentences on demands unmet of one plan."""


def base_remark(base: Result) -> str:
    """Say what the base plan leaves unmet; nothing where it meets all demands."""
    return unmet("The base plan", base)


def remarks(base: Result, outcome: Outcome) -> dict[str, str]:
    """
    Say of each answer to a change what its figures do not.

    Returns
    -------
    dict
        Answer ("operate", "re-plan") -> sentences, empty where there is nothing to say.
    """
    if outcome.operate is None:
        operate = f"The base plan's yards cannot stay: {' '.join(outcome.obstacles)}"
    else:
        operate = unmet("With the yards as in the base, the plan", outcome.operate)
    found = [unmet("All planned afresh, the plan", outcome.replan)]
    found += [proof(base, outcome.replan), reason(outcome)]
    return {"operate": operate, "re-plan": " ".join(filter(None, found))}


def unmet(subject: str, result: Result) -> str:
    """Say which demands a plan does not meet."""
    if meets(result):
        return ""
    said = shortage_sentences(result)
    if len(said) > MOST:
        said[MOST:] = [f"And {len(said) - MOST} more."]
    return f"{subject} does not meet all demands. {' '.join(said)}".strip()


def proof(base: Result, after: Result) -> str:
    """Say that a plan is as good as equal to the base, or close to it, and why."""
    one, other, goal = base.plan, after.plan, base.instance.goal
    proven = proven_difference(one, other)
    if proven is None or after.instance.goal != goal:
        return ""
    settings = base.scenario.settings
    more = other.objective - one.objective
    if equals_base(base, after):
        return equal_words("to the base", more, settings)
    if abs(more) > one.objective - one.bound + other.objective - other.bound:
        return ""
    least, most = sorted(abs(value) for value in proven)
    what = "above" if more > 0 else "below"
    return (
        f"Close to the base: proven to be between {goal_text(least, most, settings)} "
        f"and {goal_said(most, settings)} {what} it."
    )
