"""Sites that every plan nearly as good has, or none, and what is proven of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from logistics.model import Effort, Instance, NoPlanError, Plan, Progress, Yards, solve
from logistics.results import audit, require
from logistics.studies.near_best import ROUND, Often, OtherPlans, gathered
from logistics.studies.near_search import as_planned

Watch = Callable[[Progress], None]


def with_proof(
    given: OtherPlans,
    effort: Effort | None = None,
    watch: Watch | None = None,
    begin: Callable[[], None] = lambda: None,
) -> OtherPlans:
    """
    Try to prove of sites that all plans or none within the limit have a yard there.

    A yard is forced where no plan has one, and forbidden where every plan has one: a
    bound above the limit is the proof. A plan found within the limit joins the others
    instead.

    Parameters
    ----------
    given
        What `other_plans` found.
    effort, watch, begin
        Limits of each search; told its progress; told that one begins.
    """
    effort, inst = effort or Effort(), given.instance
    proven: dict[str, Often] = {}
    for site, decision in _open_questions(given):
        if any((site in one.sites) == (decision == "open") for one in given.plans):
            continue  # a plan found on the way has answered it
        begin()
        tried = replace(inst, yards=_decided(inst, site, decision))
        limit = given.limit + ROUND * abs(given.limit)
        try:
            plan = solve(tried, effort, watch)
        except NoPlanError:
            continue
        if plan.status == "shortage" or plan.floor > limit:
            proven[site] = "never" if decision == "open" else "always"
        elif plan.objective <= limit:
            require(audit(as_planned(tried, plan), plan))
            given = with_plan(given, plan)
    return replace(given, proven=proven)


def with_plan(given: OtherPlans, plan: Plan) -> OtherPlans:
    """
    Take in one more plan.

    That there are no others is proven for those that were shown: it holds as long as
    they all are.
    """
    plans = [*(one.plan for one in given.plans), plan]
    more = gathered(
        given.instance, plans, share=given.share, least=given.least, most=given.most,
        tried=given.tried, complete=given.complete,
    )  # fmt: skip
    before, now = ({one.plans[n].sites for n in one.shown} for one in (given, more))
    return replace(more, complete=given.complete and before <= now)


def _open_questions(given: OtherPlans) -> list[tuple[str, str]]:
    """List sites that all plans have or none has, each with what would be otherwise."""
    held = given.instance
    questions = []
    for j, code in enumerate(held.yards.codes):
        known = sum(code in one.sites for one in given.plans)
        if held.yards.decision[j] != "free" or j not in held.options.yard:
            continue
        if known == 0:
            questions.append((code, "open"))
        elif known == len(given.plans):
            questions.append((code, "closed"))
    return questions


def _decided(instance: Instance, site: str, decision: str) -> Yards:
    """Force a yard at a site or forbid it."""
    yards = instance.yards
    j = yards.codes.index(site)
    decisions = (*yards.decision[:j], decision, *yards.decision[j + 1 :])
    return replace(yards, decision=decisions)


def how_often(used: int, plans: int) -> Often:
    """
    Say how many of the plans have a yard at a site.

    >>> [how_often(n, 4) for n in (0, 1, 2, 3, 4)]
    ['never', 'in some', 'in some', 'in most', 'always']
    """
    if used in (0, plans):
        return "always" if used else "never"
    return "in most" if 2 * used > plans else "in some"


def sites_table(given: OtherPlans) -> pd.DataFrame:
    """
    One row a site that any plan may use, those used most often first.

    Returns
    -------
    DataFrame
        yard, plans (that have a yard there), often (always, in most, in some, never),
        proven (whether that always or never holds for all plans within the limit),
        cheapest (the least that a plan with a yard there gives up of the best cost,
        missing where no plan has one [1]).
    """
    instance, plans = given.instance, given.plans
    offered = {instance.yards.codes[j] for j in instance.options.yard.tolist()}
    rows = []
    for code in instance.yards.codes:
        above = [one.above for one in plans if code in one.sites]
        if code not in offered:
            continue
        often = how_often(len(above), len(plans))
        rows.append(
            {
                "yard": code,
                "plans": len(above),
                "often": often,
                "proven": given.proven.get(code) == often,
                "cheapest": min(above, default=np.nan),
            }
        )
    table = pd.DataFrame(rows, columns=["yard", "plans", "often", "proven", "cheapest"])
    return table.sort_values("plans", ascending=False, kind="stable", ignore_index=True)
