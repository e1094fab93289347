"""Report, the budget by period: costs by account, and income."""

from __future__ import annotations

import pandas as pd

from maps.report.axes import extremes
from maps.report.charts import Series, bars, key
from maps.report.pieces import Chart, Piece, Words
from maps.report.plan_facts import ACCOUNTS, Facts, account_name, by_period

ACCOUNT_COLOURS = (
    "#2f5d3a",
    "#b5690b",
    "#e8b65a",
    "#0a4a6b",
    "#80489c",
    "#b23a2e",
    "#6e6a1e",
    "#3b2a1d",
)


def months(facts: Facts) -> list[Piece]:
    """Chart of costs and income by period, by account."""
    ledger = facts.result.ledger
    if ledger.empty:
        return [Words(["No money is spent or earned."])]
    cost, income = (
        _by_period(facts, lines) * sign
        for lines, sign in ((facts.costs, 1), (facts.incomes, -1))
    )
    order = [c for c in dict.fromkeys([*ACCOUNTS, *cost.columns]) if c in cost.columns]
    cost, unit = cost[order], facts.unit
    drawn = _without_savings(cost) / unit.factor
    series = [
        Series(account_name(code), drawn[code].tolist(), ACCOUNT_COLOURS[k % 8], k % 8)
        for k, code in enumerate(drawn.columns)
        if drawn[code].abs().sum() > 0
    ]
    whole = (income.sum(axis=1) / unit.factor).tolist()
    line = [Series("Income", whole, "#2a211a")]
    title = f"Costs and income by {facts.word}"
    spent = (cost.sum(axis=1) / unit.factor).tolist()
    drawing = bars(
        "money",
        title,
        f"Costs: {extremes(spent, facts.months, unit.name)}. "
        f"Income: {extremes(whole, facts.months, unit.name)}.",
        facts.months,
        series,
        "",
        lines=line,
    )
    caption = f"{title} [{facts.unit.name}]"
    chart = Chart(
        f"{caption}; costs of the whole year are left out",
        drawing,
        key("money", series, line),
        rows_of=["ledger"],
    )
    note = (
        "Costs of the whole year are left out: annuities, rent, and the fixed cost of "
        f"yards and trucks. budget.xlsx has every heading by {facts.word}."
    )
    return [chart, Words([note])]


def _by_period(facts: Facts, lines: pd.DataFrame) -> pd.DataFrame:
    """Exact money of these lines of the ledger: rows periods, columns accounts."""
    ledger = facts.result.ledger
    wanted = set(zip(lines["account"], lines["line"], strict=True))
    pairs = zip(ledger["account"], ledger["line"], strict=True)
    part = ledger[[pair in wanted for pair in pairs]]
    return by_period(facts, part, "account", "amount")


def _without_savings(cost: pd.DataFrame) -> pd.DataFrame:
    """Take what pairing saves off the haulage, so that no bar is below nothing."""
    if "pairing" not in cost:
        return cost
    haulage = [c for c in ("haulage in", "haulage out") if c in cost]
    whole = cost[haulage].sum(axis=1)
    left = (whole + cost["pairing"]) / whole.where(whole > 0, 1.0)
    drawn = cost.drop(columns="pairing")
    drawn[haulage] = drawn[haulage].mul(left, axis=0)
    return drawn
