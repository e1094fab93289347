"""What would every other site cost? A plan for each, with a yard forced open there."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from logistics.changes import ChangeSet, Step, titled
from logistics.studies.comparison import (
    Outcome,
    equals_base,
    meets,
    proven_difference,
    yard_changes,
)

if TYPE_CHECKING:
    from logistics.results import Result

FORCE = "force_yard"


@dataclass(frozen=True, eq=False)
class SiteCost:
    """
    What a yard at a site adds to the base plan's objective.

    Attributes
    ----------
    yard
        Code of the site.
    outcome
        The plan with a yard there.
    above
        Its objective less the base's; below zero where the search found a better plan
        than the base. None where a demand is left unmet. [unit of the goal]
    proven
        Least and most by which the best plan with the site is above the best of all;
        None where nothing is proven. The least is not below zero, as a yard forced open
        is one more demand, which makes no best plan better. [unit of the goal]
    equal
        Whether this leaves open that the site adds nothing.
    """

    yard: str
    outcome: Outcome
    above: float | None
    proven: tuple[float, float] | None
    equal: bool

    @property
    def size(self) -> str:
        """Code of the size of the yard there; blank where none could be opened."""
        return dict(self.outcome.replan.plan.yard_sizes).get(self.yard, "")

    def gives_up(self, base: Result) -> list[str]:
        """Codes of the base's yards that its plan has no use for."""
        return yard_changes(base.plan, self.outcome.replan.plan)[1]


def other_sites(base: Result) -> list[str]:
    """
    Sites without a yard in the base plan at which one could stand, in their order.

    Left out are those closed by the scenario, refused by the land screening, or too
    small for any size. An existing yard that the plan gives up is one of them.
    """
    open_to = {base.instance.yards.codes[j] for j in base.instance.options.yard}
    used = {yard for yard, _ in base.plan.yard_sizes}
    return [code for code in base.instance.yards.codes if code in open_to - used]


def site_of(change: ChangeSet) -> str:
    """Return the code of the site if a change does no more than force a yard there."""
    first = change.steps[0]
    alone = len(change.steps) == 1 and first.name == FORCE
    return str(first.arguments.get("yard", "")) if alone else ""


def site_changes(base: Result, wanted: Sequence[ChangeSet] = ()) -> list[ChangeSet]:
    """
    Make a change for every other site, except for those that are asked for already.

    Parameters
    ----------
    base
        The plan without changes.
    wanted
        Changes that are planned anyway.
    """
    known = {site_of(change) for change in wanted}
    made = [
        ChangeSet(text, text, "", (Step(FORCE, {"yard": code}, "--each-site"),))
        for code in other_sites(base)
        if code not in known
        for text in [f"{FORCE}:yard={code}"]
    ]
    made = titled(made, base.scenario)
    often = Counter(one.title for one in [*wanted, *made])
    return [
        replace(one, title=f"{one.title} ({site_of(one)})")
        if often[one.title] > 1
        else one
        for one in made
    ]


def site_costs(base: Result, outcomes: Sequence[Outcome]) -> list[SiteCost]:
    """
    Say what each site adds, the least first; those that leave demands unmet last.

    Parameters
    ----------
    base, outcomes
        The base plan and its changes; those that are not of another site are left out.
    """
    others = set(other_sites(base))
    found = [
        _cost(base, outcome, site_of(outcome.change))
        for outcome in outcomes
        if site_of(outcome.change) in others
    ]
    return sorted(found, key=lambda one: math.inf if one.above is None else one.above)


def _cost(base: Result, outcome: Outcome, yard: str) -> SiteCost:
    one, other = base.plan, outcome.replan.plan
    above = other.objective - one.objective if meets(outcome.replan) else None
    proven = proven_difference(one, other)
    if proven is not None:
        proven = max(0.0, proven[0]), max(0.0, proven[1])
    return SiteCost(yard, outcome, above, proven, equals_base(base, outcome.replan))
