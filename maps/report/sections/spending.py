"""Report, what must be spent in which period and from which heading."""

from __future__ import annotations

import pandas as pd

from logistics.accounts import book
from maps.report.origins import traced
from maps.report.pieces import Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts, capital, money
from maps.shared import apportion, spread

AT_ONCE = 6
"""Periods side by side in one table; the rest follows below."""


def section(facts: Facts) -> Section:
    """Write the page of spending by period and heading."""
    table = spending(facts)
    title = f"Spending {facts.word} by {facts.word}"
    if table.empty:
        return Section("spending", title, [Words(["Nothing is spent."])])
    pieces: list[Piece] = [Words(_in_short(facts, table))]
    for start in range(0, len(table.columns), AT_ONCE):
        pieces.append(_part(facts, table.iloc[:, start : start + AT_ONCE]))
    pieces.append(
        Words(
            [
                "Yearly charges for works and machines are left out, because they are "
                "not payments; so is what others pay for feedstock left behind. Yearly "
                "sums such as rent, yard pay and trucks owned are spread by days. "
                "Headings come from the table accounts. Sales are not deducted here. "
                "budget.xlsx traces every figure back to the ledger."
            ]
        )
    )
    return Section("spending", title, pieces)


def spending(facts: Facts) -> pd.DataFrame:
    """
    Round recurrent spending so that it adds up: rows headings, columns periods.

    Returns
    -------
    DataFrame
        Index: code and name of the heading in the chart of accounts. [money]
    """
    parts = book(facts.result).parts
    paid = parts[parts["kind"] == "recurrent"]
    exact = paid.pivot_table(
        index=["head", "name"], columns="period", values="amount", aggfunc="sum"
    )
    exact = exact.reindex(columns=facts.periods).fillna(0.0)
    digits = facts.money_digits
    totals = pd.Series(apportion(exact.sum(), digits), index=exact.columns)
    return spread(exact, digits, totals)


def _in_short(facts: Facts, table: pd.DataFrame) -> list[str]:
    """Say what is needed before, in the year, and in the dearest period."""
    first = capital(facts).sum()
    sums = table.sum()
    dearest = str(sums.idxmax())
    year = traced(facts, "spending", money(facts, float(sums.sum())))
    most = traced(facts, f"spending/{dearest}", money(facts, float(sums.max())))
    lines = [
        f"The year needs {year} of recurrent money, most in "
        f"{plain(facts.period_name[dearest])}: {most}."
    ]
    if first.sum() > 0:
        need = traced(facts, "capital", money(facts, float(first.sum())))
        works, machines = (
            traced(facts, item, money(facts, float(first[item])))
            for item in ("works", "machines")
        )
        lines.insert(
            0,
            f"Before the yards open, {need} of capital must be found: {works} for "
            f"works and {machines} for machines; contingencies come on top "
            "(budget.xlsx).",
        )
    return lines


def _part(facts: Facts, table: pd.DataFrame) -> Table:
    """List some periods side by side with the sum over them."""
    text = facts.unit.text
    labels = [plain(facts.period_name[str(code)]) for code in table.columns]
    sums = table.sum()
    rows = [
        (
            plain(f"{code} {name}"),
            *(text(value) for value in row),
            text(row.sum()),
        )
        for (code, name), (_, row) in zip(table.index, table.iterrows(), strict=True)
    ]
    return Table(
        f"Spending from {labels[0]} to {labels[-1]} [{facts.unit.name}]",
        ["Heading", *labels, "Together"],
        rows,
        (
            "All",
            *(text(value) for value in sums),
            text(sums.sum()),
        ),
        across=True,
        kind="wide",
        rows_of=["spending"],
    )
