"""Report, the budget: capital, yearly costs and income, and what a unit costs."""

from __future__ import annotations

import pandas as pd

from logistics.scenario import records
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain
from maps.report.plan_facts import ACCOUNTS, Facts, account_name, capital, money
from maps.report.sections.months import months
from maps.shared import amount, headed, names, net_label


def section(facts: Facts) -> Section:
    """Write the budget."""
    pieces: list[Piece] = [
        Words([_in_short(facts)]),
        Heading("One-off capital"),
        _capital(facts),
        Heading("Every year"),
        _costs(facts),
        *_income(facts),
        *months(facts),
        Heading("Cost per unit"),
        _units(facts),
    ]
    return Section("budget", "Budget", pieces)


def _in_short(facts: Facts) -> str:
    """Say cost, income and what is left to be paid."""
    costs = facts.costs["amount"].sum()
    income = -facts.incomes["amount"].sum()
    word = net_label(facts.net, "net cost")
    end = f"leaves a {word} of {money(facts, abs(facts.net))} a year"
    return (
        f"The year costs {money(facts, costs)}; income of {money(facts, income)} "
        f"{end}. The capital below is not added: the year's costs include it as "
        "annuities, which spread works and machines over their lives with interest."
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
    word = net_label(facts.net, "net cost")
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
    net, word = abs(facts.net), net_label(facts.net)
    rows = [
        ("Cost before income, per tonne collected", gross, collected, "t"),
        (f"{word}, per tonne collected", net, collected, "t"),
        ("Cost before income, per tonne of compost", gross, made, "t"),
        (f"{word}, per tonne of compost", net, made, "t"),
        ("Haulage with trucks, per tonne collected", haul, collected, "t"),
        ("Haulage with trucks, per tonne-kilometre", haul, t_km, "t·km"),
    ]
    for name, part, code in (
        ("Fuel, repair, crew and fares to the yards, per t·km", inward, "haulage in"),
        ("The same to the markets, per t·km", outward, "haulage out"),
    ):
        if code in account.index:
            work = float((part["tonnes"] * part["km"]).sum())
            rows.append((name, float(account[code]), work, "t·km"))
    return Table(
        "Unit costs",
        [
            "What",
            f"Money [{facts.unit.name}/yr]",
            "Quantity [1/yr]",
            "Unit",
            f"Cost [{facts.currency}/unit]",
        ],
        [
            (
                name,
                facts.unit.text(value),
                amount(quantity, facts.digits),
                unit,
                facts.unit.each(value / quantity if quantity else None),
            )
            for name, value, quantity, unit in rows
        ],
        note="A tonne-kilometre is a tonne carried one kilometre; empty returns count "
        "in the money, not in the tonne-kilometres.",
    )
