"""Report, the budget: capital, yearly costs and income, and what a unit costs."""

from __future__ import annotations

import pandas as pd

from logistics.accounts import Book, book, unit_costs
from logistics.scenario import records
from maps.report.origins import traced
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain
from maps.report.plan_facts import ACCOUNTS, Facts, account_name, capital, money
from maps.report.sections.months import months
from maps.report.sections.whose import whose
from maps.shared import amount, headed, names, net_label


def section(facts: Facts) -> Section:
    """Write the budget."""
    known = book(facts.result)
    pieces: list[Piece] = [
        Words([_in_short(facts)]),
        *whose(facts, known),
        Heading("One-off capital"),
        _capital(facts),
        Heading("Every year"),
        _costs(facts),
        *_income(facts),
        *months(facts),
        Heading("Cost per unit"),
        _units(facts, known),
    ]
    return Section("budget", "Budget", pieces)


def _in_short(facts: Facts) -> str:
    """Say cost, income and what is left to be paid."""
    costs = facts.costs["amount"].sum()
    income = -facts.incomes["amount"].sum()
    word = net_label(facts.programme, "net cost")
    own = traced(facts, "programme", money(facts, abs(facts.programme)))
    return (
        f"The year costs the programme {traced(facts, 'costs', money(facts, costs))}; "
        f"income of {traced(facts, 'income', money(facts, income))} leaves it a {word} "
        f"of {own} a year. The capital below is not added: the year's "
        "costs include it as annuities, which spread works and machines over their "
        "lives with interest."
    )


def _capital(facts: Facts) -> Table | Words:
    """List the money to be found before the yards open."""
    table = capital(facts)
    table = table[table.sum(axis=1) > 0]
    if table.empty:
        return Words(["No capital is needed: no yard is built or enlarged."])
    label = names(facts.result, "yard")
    sizes, chosen = names(facts.result, "size"), dict(facts.result.plan.yard_sizes)
    text = facts.unit.text
    rows = [
        (
            plain(label[str(code)]),
            plain(sizes.get(chosen[str(code)], chosen[str(code)])),
            text(row["works"]),
            text(row["machines"]),
            text(row.sum()),
        )
        for code, row in table.iterrows()
    ]
    sums = table.sum()
    return Table(
        f"Capital to be found before the yards open [{facts.unit.name}]",
        ["Yard", "Size", "Works", "Machines", "All"],
        rows,
        (
            "Total",
            "",
            text(sums["works"]),
            text(sums["machines"]),
            text(sums.sum()),
        ),
        words=2,
        across=True,
        note="Trucks already owned are not included; their fixed cost is in the year's "
        "costs.",
        rows_of=["capital"],
    )


def _lines(facts: Facts, lines: pd.DataFrame, caption: str, sign: int) -> Table:
    """List lines of the ledger with their share."""
    lines = headed(lines, facts.result.scenario)
    rows, total = [], float(lines["amount"].sum()) * sign
    for row in records(lines):
        part = row["amount"] * sign / total * 100 if total else float("nan")
        rows.append(
            (
                account_name(row["account"]),
                plain(row["line"]),
                amount(part, 1),
                facts.unit.text(row["amount"] * sign),
            )
        )
    return Table(
        caption,
        ["Account", "Line", "Share [%]", f"Amount [{facts.unit.name}/yr]"],
        rows,
        ("Total", "", "", facts.unit.text(total)),
        words=2,
        rows_of=["ledger"],
    )


def _costs(facts: Facts) -> Table:
    """List the yearly costs."""
    order = list(dict.fromkeys([*ACCOUNTS, *facts.costs["account"]]))
    lines = facts.costs.sort_values(
        "account", key=lambda column: column.map(order.index), kind="stable"
    )
    return _lines(facts, lines, "Yearly costs by line", 1)


def _income(facts: Facts) -> list[Piece]:
    """List the yearly income and the balance."""
    if facts.incomes.empty:
        return [Words(["There is no income."])]
    costs = float(facts.costs["amount"].sum())
    income = -float(facts.incomes["amount"].sum())
    word = net_label(facts.programme, "net cost")
    balance = (
        f"{traced(facts, 'costs', money(facts, costs))} of cost less "
        f"{traced(facts, 'income', money(facts, income))} of income: {word} to the "
        "programme "
        f"{traced(facts, 'programme', money(facts, abs(facts.programme)))} a year."
    )
    table = _lines(facts, facts.incomes, "Yearly income by line", -1)
    return [table, Words([balance])]


UNIT_NAMES = {
    ("a tonne collected", "full"): "Cost before income, per tonne collected",
    ("a tonne collected", "net"): "{net} to the programme, per tonne collected",
    ("a tonne of compost", "full"): "Cost before income, per tonne of compost",
    ("a tonne of compost", "net"): "{net} to the programme, per tonne of compost",
    ("haulage, a tonne collected", "full"): "Haulage with trucks, per tonne collected",
    ("haulage, a tonne-kilometre", "full"): "Haulage with trucks, per tonne-kilometre",
    ("trips to the yards, a tonne-kilometre", "running"): (
        "Fuel, repair, crew and fares to the yards, per t·km"
    ),
    ("trips to the markets, a tonne-kilometre", "running"): (
        "The same to the markets, per t·km"
    ),
}
"""Unit costs of `accounts.unit_costs` that the report lists, and how it calls them."""


def _units(facts: Facts, known: Book) -> Table:
    """List cost per tonne and per tonne-kilometre, as in budget.xlsx."""
    table = {(row["what"], row["basis"]): row for row in records(unit_costs(known))}
    rows = []
    for key, name in UNIT_NAMES.items():
        what = table[key]
        net = key[1] == "net"
        sign = -1 if net and what["money"] < 0 else 1
        if what["quantity"]:
            rows.append(
                (
                    name.format(net=net_label(what["money"])),
                    facts.unit.text(sign * what["money"]),
                    amount(what["quantity"], facts.digits),
                    what["unit"],
                    facts.unit.each(sign * what["cost"]),
                )
            )
    return Table(
        "Unit costs",
        [
            "What",
            f"Money [{facts.unit.name}/yr]",
            "Quantity [1/yr]",
            "Unit",
            f"Cost [{facts.currency}/unit]",
        ],
        rows,
        note="The programme's money: what the sources pay is in none of these. A "
        "tonne-kilometre is a tonne carried one kilometre; empty returns count "
        "in the money, not in the tonne-kilometres.",
        rows_of=["ledger", "supply", "compost", "hauls"],
    )
