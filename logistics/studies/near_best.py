"""
Plans nearly as good that build at other sites, and what all of them share.

Modelling to generate alternatives: sets of yards around the best one are planned one by
one; then the best plan is solved again with cuts that ask for sites other than those of
the plans before, as long as the cost stays within a limit (Brill, Chang and Hopkins
1982, Management Science 28(3), 221-235; DeCarolis 2011, Energy Economics 33(2),
145-152; both from memory). Plans that differ much and cost much the same show a board
where it is free to choose.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from logistics.model import (
    Effort,
    Instance,
    NoPlanError,
    OtherSites,
    Plan,
    Progress,
    Session,
    is_small,
    solve,
)
from logistics.results import audit, require
from logistics.studies.near_search import as_planned, cheapest_of_sites, plans_around

Watch = Callable[[Progress], None]
Often = Literal["always", "in most", "in some", "never"]

LEAST_TIME = 0.25
"""Share of the time that has to be left for a search over all sites. [1]"""
ROUND = 1e-9
"""Share of the best cost by which a plan may be above a limit for rounding."""


@dataclass(frozen=True, eq=False)
class OtherPlan:
    """
    One of the plans that a board may choose.

    Attributes
    ----------
    plan
        The cheapest found with these sites.
    sites
        Codes of the yards it has.
    above
        What it costs more than the best, as a share of the best one's cost. [1]
    """

    plan: Plan
    sites: frozenset[str]
    above: float


@dataclass(frozen=True, eq=False)
class OtherPlans:
    """
    Plans within a limit of the best cost.

    Attributes
    ----------
    instance
        The problem.
    plans
        One for every set of sites found, by cost, the best one first.
    shown
        Places of those that differ most; each has `least` sites more or fewer than
        every other.
    share, least, most
        What may be given up of the best cost [1]; how many sites those shown differ
        in; how many may be shown.
    tried
        Sets of yards and sizes that were planned.
    complete
        Whether it is proven that no further plan within the limit differs that much
        from all that are shown.
    proven
        By code of a site: "always" or "never" where it is proven for every plan within
        the limit, whatever its other sites.
    """

    instance: Instance
    plans: tuple[OtherPlan, ...]
    shown: tuple[int, ...]
    share: float
    least: int
    most: int
    tried: int
    complete: bool
    proven: dict[str, Often]

    @property
    def limit(self) -> float:
        """What a plan may cost. [unit of the goal]"""
        return limit_of(self.plans[0].plan.objective, self.share)


def limit_of(best: float, share: float) -> float:
    """
    Raise a cost by a share of its size; a gain is a cost below zero.

    >>> limit_of(200.0, 0.05), limit_of(-200.0, 0.05)
    (210.0, -190.0)
    """
    return best + share * abs(best)


def other_plans(
    instance: Instance,
    best: Plan,
    *,
    share: float = 0.03,
    least: int = 1,
    most: int = 9,
    effort: Effort | None = None,
    watch: Watch | None = None,
    begin: Callable[[], None] = lambda: None,
) -> OtherPlans:
    """
    Find plans that cost little more and build elsewhere.

    Parameters
    ----------
    instance, best
        The problem and its best plan, without shortages.
    share
        What may be given up of its cost. [1]
    least
        Sites that every plan shown has more or fewer than every other: a yard moved
        counts two, a yard more or fewer one.
    most
        Plans to show, the best one counted.
    effort, watch, begin
        `seconds` for all of it; told its progress; told that a search begins.

    Raises
    ------
    ValueError
        If the best plan has shortages: its cost is then no measure.

    Notes
    -----
    In a large district what differs little from the best plan is tried first (see
    `near_search`). Searches over all sites find the rest, while time is left, and prove
    that there is no more: not where the best plan itself is proven less closely than
    the limit.

    A plan found that is better than the best (within its proven gap, or with better
    homes of own trucks) takes its place.
    """
    if best.status == "shortage":
        message = "a plan that leaves a demand unmet has no cost to compare others with"
        raise ValueError(message)
    session = Session(effort or Effort(), watch)
    begin()
    found, tried, complete = [best], 1, False
    if not is_small(instance):
        around = plans_around(instance, best, share, session.effort, watch)
        found, tried = list(around.plans), around.tried
    while len(shown := most_different(instance, found, share, least, most)) < most:
        if session.left < LEAST_TIME * session.effort.seconds or session.over:
            break
        begin()
        cuts = tuple(OtherSites(sites_of(instance, plan), least) for plan in shown)
        policy = replace(instance.policy, apart=(*instance.policy.apart, *cuts))
        apart = replace(instance, policy=policy)
        try:
            plan = solve(apart, replace(session.effort, seconds=session.left), watch)
        except NoPlanError:
            break
        tried += 1
        limit = _highest(found, share)
        if plan.status == "shortage" or plan.floor > limit:
            complete = True
            break
        if plan.objective > limit:
            break
        require(audit(as_planned(apart, plan), plan))
        found.append(plan)
    return gathered(
        instance, found, share=share, least=least, most=most, tried=tried,
        complete=complete,
    )  # fmt: skip


def _within(found: Sequence[Plan], share: float) -> list[Plan]:
    """Leave out plans beyond the limit."""
    limit = _highest(found, share)
    return [plan for plan in found if plan.objective <= limit]


def _highest(found: Sequence[Plan], share: float) -> float:
    """Limit of the cost, and what rounding may add to it. [goal]"""
    cheapest = min(plan.objective for plan in found)
    return limit_of(cheapest, share) + ROUND * abs(cheapest)


def most_different(
    instance: Instance, plans: Sequence[Plan], share: float, least: int, most: int
) -> list[Plan]:
    """
    Choose plans that differ most from the best and from each other, one after another.

    Of those within the limit each differs from all chosen before in as many sites as
    any does, and in `least` at the least; of those that differ as much comes the
    cheapest.
    """
    left = sorted(_within(plans, share), key=lambda plan: plan.objective)
    chosen = [left.pop(0)]
    while left and len(chosen) < most:
        known = [sites_of(instance, plan) for plan in chosen]
        apart = [min(len(sites_of(instance, p) ^ k) for k in known) for p in left]
        if max(apart) < least:
            break
        chosen.append(left.pop(apart.index(max(apart))))
    return chosen


def gathered(
    instance: Instance,
    found: Sequence[Plan],
    *,
    share: float,
    least: int,
    most: int,
    tried: int,
    complete: bool,
) -> OtherPlans:
    """
    Order plans by cost, and leave out what the best of them puts beyond the limit.

    `complete` is for the plans that `most_different` chooses of those found.
    """
    within = cheapest_of_sites(_within(found, share))
    chosen = most_different(instance, within, share, least, most)
    cheapest = within[0].objective
    scale = abs(cheapest) or 1.0
    plans = tuple(
        OtherPlan(
            plan, frozenset(plan.yards["yard"]), (plan.objective - cheapest) / scale
        )
        for plan in within
    )
    known = {sites_of(instance, plan) for plan in chosen}
    shown = tuple(n for n, p in enumerate(within) if sites_of(instance, p) in known)
    return OtherPlans(instance, plans, shown, share, least, most, tried, complete, {})


def sites_of(instance: Instance, plan: Plan) -> frozenset[int]:
    """Return the indices of a plan's yards."""
    return frozenset(instance.yards.codes.index(code) for code, _ in plan.yard_sizes)
