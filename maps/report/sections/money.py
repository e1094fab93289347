"""Report, the budget: capital, yearly costs and income, and what a unit costs."""

from __future__ import annotations

import pandas as pd

from logistics.scenario import records
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain
from maps.report.plan_facts import ACCOUNTS, Facts, account_name, capital, money
from maps.report.sections.months import months
from maps.shared import amount, names

PER_UNIT_DIGITS = 2


def section(facts: Facts) -> Section:
    """Write the budget."""
    pieces: list[Piece] = [
        Words([_in_short(facts)]),
        Heading("Capital, once"),
        _capital(facts),
        Heading("Every year"),
        _costs(facts),
        *_income(facts),
        *months(facts),
        Heading("What a unit costs"),
        _units(facts),
    ]
    return Section("budget", "Budget", pieces)


def _in_short(facts: Facts) -> str:
    """Say cost, income and what is left to be paid."""
    costs = facts.costs["amount"].sum()
    income = -facts.incomes["amount"].sum()
    end = (
        f"leaves a net cost of {money(facts, facts.net)} a year"
        if facts.net >= 0
        else f"leaves a surplus of {money(facts, -facts.net)} a year"
    )
    return (
        f"The year costs {money(facts, costs)}; income of {money(facts, income)} "
        f"{end}. The capital below is not added to that: the year bears it as "
        "annuities, works and machines spread over their lives with interest."
    )


def _capital(facts: Facts) -> Table | Words:
    """List the money to be found before the yards open."""
    table = capital(facts)
    table = table[table.sum(axis=1) > 0]
    if table.empty:
        return Words(["No capital is needed: no new yard is built and none enlarged."])
    label = names(facts.result, "yard")
    sizes, chosen = names(facts.result, "size"), dict(facts.result.plan.yard_sizes)
    digits = facts.money_digits
    rows = [
        (
            plain(label[str(code)]),
            plain(sizes.get(chosen[str(code)], chosen[str(code)])),
            amount(row["works"], digits),
            amount(row["machines"], digits),
            amount(row.sum(), digits),
        )
        for code, row in table.iterrows()
    ]
    sums = table.sum()
    return Table(
        f"Capital to be found before the yards open [{facts.currency}]",
        ["Yard", "Size", "Works", "Machines", "All"],
        rows,
        (
            "Total",
            "",
            amount(sums["works"], digits),
            amount(sums["machines"], digits),
            amount(sums.sum(), digits),
        ),
        words=2,
        across=True,
        note="Trucks already owned are not in it; their fixed cost is in the year.",
    )


def _lines(facts: Facts, lines: pd.DataFrame, caption: str, sign: int) -> Table:
    """List lines of the ledger with their share."""
    rows, total = [], float(lines["amount"].sum()) * sign
    for row in records(lines):
        part = row["amount"] * sign / total * 100 if total else float("nan")
        rows.append(
            (
                account_name(row["account"]),
                plain(row["line"]),
                amount(part, 1),
                amount(row["amount"] * sign, facts.money_digits),
            )
        )
    return Table(
        caption,
        ["Account", "Line", "Share [%]", f"Amount [{facts.currency}/yr]"],
        rows,
        ("Total", "", "", amount(total, facts.money_digits)),
        words=2,
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
    word = "net cost" if facts.net >= 0 else "surplus"
    balance = (
        f"{money(facts, costs)} of cost less {money(facts, income)} of income: "
        f"{word} {money(facts, abs(facts.net))} a year."
    )
    table = _lines(facts, facts.incomes, "Yearly income by line", -1)
    return [table, Words([balance])]


TRUCKING = ("haulage", "pairing", "fleet")


def _units(facts: Facts) -> Table:
    """List cost per tonne and per tonne-kilometre."""
    lanes = facts.result.lanes
    inward = lanes[lanes["kind"] == "in"]
    outward = lanes[lanes["kind"] == "out"]
    gross = float(facts.costs["amount"].sum())
    account = facts.lines.groupby("account")["amount"].sum()
    haul = float(sum(v for k, v in account.items() if str(k).startswith(TRUCKING)))
    t_km = float((lanes["tonnes"] * lanes["km"]).sum())
    collected, made = facts.collected, facts.made
    rows = [
        ("Cost before income, a tonne collected", gross, collected, "t"),
        ("Net cost, a tonne collected", facts.net, collected, "t"),
        ("Cost before income, a tonne of compost", gross, made, "t"),
        ("Net cost, a tonne of compost", facts.net, made, "t"),
        ("Haulage with trucks, a tonne collected", haul, collected, "t"),
        ("Haulage with trucks, a tonne-kilometre", haul, t_km, "t·km"),
    ]
    for name, part, code in (
        ("Fuel, repair, crew and fares to the yards, a t·km", inward, "haulage in"),
        ("The same to the markets, a t·km", outward, "haulage out"),
    ):
        if code in account.index:
            work = float((part["tonnes"] * part["km"]).sum())
            rows.append((name, float(account[code]), work, "t·km"))
    return Table(
        "Unit costs",
        [
            "What",
            f"Money [{facts.currency}/yr]",
            "Quantity [1/yr]",
            "Unit",
            f"Cost [{facts.currency}/unit]",
        ],
        [
            (
                name,
                amount(value, facts.money_digits),
                amount(quantity, facts.digits),
                unit,
                amount(value / quantity if quantity else None, PER_UNIT_DIGITS),
            )
            for name, value, quantity, unit in rows
        ],
        note="A tonne-kilometre is a tonne carried one kilometre; empty returns are in "
        "the money, not in the tonne-kilometres.",
    )
