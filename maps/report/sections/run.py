"""Report, what was run and what was checked."""

from __future__ import annotations

import math

from logistics.scenario import in_list, records
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
    result, summary = facts.result, facts.result.summary
    plan = result.plan
    goal = result.scenario.settings.goal.minimise
    proven = math.isfinite(plan.bound)
    gap = f"{amount(plan.gap * 100, 2)} %" if math.isfinite(plan.gap) else "not known"
    versions = summary.get("versions")
    parts = versions.items() if isinstance(versions, dict) else []
    rows = [
        ("Goal", GOALS.get(goal, goal)),
        ("Result", STATUS_WORDS.get(plan.status, plan.status)),
        ("Value of the goal", goal_text(facts, plan.objective)),
        ("Proven bound", goal_text(facts, plan.bound) if proven else "none"),
        ("Proven gap", gap),
        ("Gap asked for", f"{result.scenario.settings.solve.gap * 100:g} %"),
        ("Solving time", f"{amount(plan.seconds, 1)} s"),
        ("Travel", result.travel.basis),
        ("Hash of settings and tables", str(summary.get("settings_hash", "not known"))),
        ("Versions", in_list(f"{name} {number}" for name, number in parts) or "–"),
    ]
    audit = result.audit
    failed = int((~audit["passed"].astype(bool)).sum())
    verdict = "all passed" if not failed else f"{failed} FAILED"
    pieces: list[Piece] = [
        Table(
            "What was run",
            ["What", "Value"],
            [(what, plain(value)) for what, value in rows],
            words=2,
            kind="prose",
        ),
        Words(
            [
                "Same hash and same versions give the same plan, unless time ran out "
                "before the gap was proven. The plan was checked "
                "afresh, without the programme that made it, against every rule, and "
                f"its money was counted a second time: {count(len(audit), 'check')} "
                f"over {amount(audit['rows'].sum())} rows, {verdict}. The plan weighed "
                f"{count(len(result.scenario.tables['yards']), 'site')}."
            ]
        ),
        Table(
            "Independent checks",
            ["Check", "Passed", "Rows checked", "Worst breach", "Allowed"],
            [
                (
                    plain(row["check"]),
                    "yes" if row["passed"] else "NO",
                    amount(row["rows"]),
                    f"{abs(row['worst']):.1e}" if row["worst"] else "0",
                    f"{row['tolerance']:.0e}",
                )
                for row in records(audit)
            ],
            words=2,
        ),
    ]
    return Section("run", "What was run", pieces)
