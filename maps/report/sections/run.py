"""Report, what was run and what was checked."""

from __future__ import annotations

import math

from logistics.scenario import records
from maps.report.origins import quoted, traced
from maps.report.pieces import Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.report.sections.limits import goal_text
from maps.shared import STATUS_WORDS, amount, count

GOALS = {
    "cost": "least net annual cost",
    "uncollected": "least feedstock left uncollected",
    "co2e": "least greenhouse gas",
}


def section(facts: Facts) -> Section:
    """Write the section on what was run and what was checked."""
    result = facts.result
    plan, goal = result.plan, result.scenario.settings.goal.minimise
    proven = math.isfinite(plan.bound)
    gap, bound = "not known", "none"
    if math.isfinite(plan.gap):
        gap = traced(facts, "gap", f"{amount(plan.gap * 100, 2)} %")
    if proven:
        bound = traced(facts, "bound", goal_text(facts, plan.bound))
    goal_asked = f"{result.scenario.settings.solve.gap * 100:g} %"
    asked = traced(facts, "gap_asked", goal_asked)
    value = traced(facts, "goal", goal_text(facts, plan.objective))
    seconds = traced(facts, "seconds", f"{amount(plan.seconds, 1)} s")
    code = plain(result.summary.get("settings_hash", "not known"))
    code = quoted("run", code)
    audit = result.audit
    failed = audit[~audit["passed"].astype(bool)]
    failures = traced(facts, "checks_failed", f"{len(failed)} FAILED")
    verdict = "all passed" if failed.empty else failures
    checks = traced(facts, "checks", count(len(audit), "check"))
    rows = traced(facts, "rows_checked", amount(audit["rows"].sum()))
    sites = count(len(result.scenario.tables["yards"]), "site")
    pieces: list[Piece] = [
        Words(
            [
                f"The goal was {GOALS.get(goal, goal)}; the result is "
                f"{plain(STATUS_WORDS.get(plan.status, plan.status))}: "
                f"{value}, proven bound {bound}, gap {gap} "
                f"of {asked} asked for, found in {seconds}. Hash of "
                f"settings and tables: {code}. The same hash and versions give the "
                "same plan, unless time ran out before the gap was proven.",
                "The plan was checked against every rule, independently of the "
                "program that made it, and its money was counted a second time: "
                f"{checks} over {rows} rows, {verdict}. The plan considered "
                f"{traced(facts, 'sites', sites)}. Every check is in plan.xlsx, sheet "
                "audit; versions are on its sheet run.",
            ]
        )
    ]
    if len(failed):
        pieces.append(
            Table(
                "Checks that failed",
                ["Check", "Rows checked", "Worst breach", "Allowed"],
                [
                    (
                        plain(row["check"]),
                        amount(row["rows"]),
                        f"{abs(row['worst']):.1e}",
                        f"{row['tolerance']:.0e}",
                    )
                    for row in records(failed)
                ],
                rows_of=["audit"],
            )
        )
    return Section("run", "About this run", pieces)
