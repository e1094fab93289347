"""Report, whose money: what the programme and the sources pay, and who gains."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from logistics.accounts import (
    cash_flow,
    rate_of_return,
    who_gains,
    worse_off,
    worth,
)
from logistics.scenario import records
from maps.report.origins import counted, stated, traced
from maps.report.pieces import Cell, Heading, Piece, Table, Words, bdi, listed, plain
from maps.report.plan_facts import Facts, money
from maps.shared import amount, apportion, names

if TYPE_CHECKING:
    from logistics.accounts import Book

MOST_NAMED = 4


def whose(facts: Facts, book: Book) -> list[Piece]:
    """Set the programme's money beside that of the sources."""
    pieces: list[Piece] = [
        Heading("Whose money"),
        _table(facts, book),
        Words([_over_the_years(facts, book)]),
    ]
    worse = _worse(facts)
    return [*pieces, Words([worse])] if worse else pieces


def _table(facts: Facts, book: Book) -> Table:
    """List what each pays today and with the plan; sources by feedstock."""
    table = who_gains(facts.result, book)
    keys = ["who", "material"]
    sums = table.groupby(keys, sort=False, as_index=False)[["today", "plan"]].sum()
    sums = sums[(sums["today"] != 0) | (sums["plan"] != 0)].reset_index(drop=True)
    digits = facts.money_digits
    today = apportion(sums["today"], digits)
    theirs = (sums["who"] == "sources").to_numpy()
    plan = sums["plan"].to_numpy(dtype=float).copy()
    plan[theirs] = apportion(plan[theirs], digits, facts.sources)
    plan[~theirs] = facts.programme
    text = facts.unit.text
    rows = []
    for row, now, then in zip(records(sums), today, plan, strict=True):
        who = "The programme"
        if row["who"] == "sources":
            who = f"Sources of {facts.material_name[row['material']].lower()}"
        rows.append((plain(who), text(now), text(then), text(now - then)))
    now, then = float(today.sum()), float(plan.sum())
    return Table(
        f"Who pays and who gains [{facts.unit.name}/yr]",
        ["Who", "Pays today", "Pays with the plan", "Gains"],
        rows,
        ("Together", text(now), text(then), text(now - then)),
        note="Today: disposal of all that arises. With the plan: the programme's net "
        "cost, with capital as annuities; the sources' fees and disposal of what is "
        "left. What sources are paid for feedstock is no gain here: it makes up for "
        "what the feedstock would have brought elsewhere. What compost saves the farms "
        "is in no sum.",
        rows_of=["gains"],
    )


def _over_the_years(facts: Facts, book: Book) -> str:
    """Say what the years come to, for whom; paid back only where somebody is paid."""
    value, rate = worth(cash_flow(book)), rate_of_return(book)
    finance = book.finance
    rate_said = stated(facts, "finance.discount_pct", finance.discount * 100)
    horizon = stated(facts, "finance.horizon_years", finance.horizon_years)
    years = f"{horizon} years at {rate_said} %"
    programme, sources, district = (
        traced(facts, f"value_{who}", money(facts, value_))
        for who, value_ in (
            ("programme", value.programme),
            ("sources", abs(value.sources)),
            ("district", abs(value.district)),
        )
    )
    own = f"Over {years}, the programme's own money has a present value of {programme}"
    if value.payback is None:
        own += ": it does not pay back what it spends"
    else:
        back = traced(facts, "payback", f"{amount(value.payback, 1)} years")
        own += f": it is paid back after {back}"
    if np.isfinite(rate):
        gained = traced(facts, "rate_of_return", f"{amount(rate * 100, 1)} %")
        own += f", a return of {gained} a year"
    gain = "gain" if value.sources >= 0 else "lose"
    both = "gain" if value.district >= 0 else "loss"
    lacking = (
        " What the programme lacks has to come from fees, grants or a budget: nobody "
        "pays it the gain of the sources."
    )
    return (
        f"{own}. The sources {gain} {sources}. Together this "
        f"is a {both} of {district} to the district."
        f"{lacking if value.programme < 0 else ''}"
    )


def _worse(facts: Facts) -> Cell:
    """Name sources whose fee is above what disposal costs them today."""
    table = worse_off(facts.result)
    if table.empty:
        return ""
    label = names(facts.result, "source")
    table = table.sort_values("more", ascending=False, kind="stable")
    shown = [bdi(label[code]) for code in table["source"].head(MOST_NAMED)]
    rest = len(table) - len(shown)
    if rest:
        shown.append(Markup(counted("worse_off", f"{rest} more")))
    more = traced(facts, "worse_off", money(facts, float(table["more"].sum())))
    return (
        listed(shown) + f" would pay {more} a year more in fees "
        "than disposal costs them today: agree on that before you count on them."
    )
