"""Report, the budget by period: costs by account, and income."""

from __future__ import annotations

import pandas as pd

from maps.report.axes import extremes
from maps.report.charts import Series, bars, key
from maps.report.pieces import Chart, Piece, Table, Words, plain
from maps.report.plan_facts import ACCOUNTS, Facts, account_name
from maps.shared import spread

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
    """Chart and table of costs and income by period, by account."""
    ledger = facts.result.ledger
    if ledger.empty:
        return [Words(["No money is spent or earned."])]
    sides = []
    for lines, sign in ((facts.costs, 1), (facts.incomes, -1)):
        pairs = set(zip(lines["account"], lines["line"], strict=True))
        mask = [p in pairs for p in zip(ledger["account"], ledger["line"], strict=True)]
        part = ledger[mask]
        exact = part.pivot_table(
            index="period", columns="account", values="amount", aggfunc="sum"
        )
        exact = exact.reindex([*facts.periods, "year"]).fillna(0.0) * sign
        totals = lines.groupby("account")["amount"].sum() * sign
        other = totals.reindex(exact.columns).fillna(0.0)
        sides.append((exact, spread(exact, facts.money_digits, other)))
    (cost, cost_shown), (income, income_shown) = sides
    order = [c for c in dict.fromkeys([*ACCOUNTS, *cost.columns]) if c in cost.columns]
    cost, cost_shown = cost[order], cost_shown[order]
    unit = facts.unit
    drawn = _without_savings(cost) / unit.factor
    series = [
        Series(
            account_name(code), drawn[code].tolist()[:-1], ACCOUNT_COLOURS[k % 8], k % 8
        )
        for k, code in enumerate(drawn.columns)
        if drawn[code].iloc[:-1].abs().sum() > 0
    ]
    whole = (income.sum(axis=1) / unit.factor).tolist()[:-1]
    line = [Series("Income", whole, "#2a211a")]
    title = f"Costs and income by {facts.word}"
    spent = (cost.sum(axis=1) / unit.factor).tolist()[:-1]
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
    )
    return [chart, _month_table(facts, cost_shown, income_shown, caption)]


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


def _month_table(
    facts: Facts, cost: pd.DataFrame, income: pd.DataFrame, caption: str
) -> Table:
    """List costs by account and income by period, and what is not of a month."""
    text = facts.unit.text
    earned = income.sum(axis=1)
    labels = [*[plain(name) for name in facts.months], "Of the whole year"]
    rows = []
    for label, code in zip(labels, cost.index, strict=True):
        rows.append(
            (
                label,
                *(text(value) for value in cost.loc[code]),
                text(cost.loc[code].sum()),
                text(earned[code]),
            )
        )
    sums = cost.sum()
    return Table(
        caption,
        [
            facts.word.capitalize(),
            *(account_name(str(code)) for code in cost.columns),
            "All costs",
            "Income",
        ],
        rows,
        (
            "Year",
            *(text(value) for value in sums),
            text(sums.sum()),
            text(earned.sum()),
        ),
        kind="wide",
        note="Of the whole year: annuities, rent, fixed cost of yards and trucks.",
    )
