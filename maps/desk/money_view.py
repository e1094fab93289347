"""The money of a plan on its page: cuts, other prices, the ledger behind a figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.figures import BY_SOURCES, NET, TO_PROGRAMME
from maps.desk.prices import WORDS, Prices
from maps.desk.recall import MONEY
from maps.desk.shelf import NotThere
from maps.disk import read_json

if TYPE_CHECKING:
    import pandas as pd

    from logistics.accounts import Book

BY = {
    "period": "By month",
    "line": "By line",
    "yard": "By yard",
    "district": "By district",
}
"""Cuts of the money, and what their tabs are called."""
KINDS = {
    "revenue": "Revenue",
    "recurrent": "Recurrent",
    "capital_charge": "Capital as a yearly charge",
    "outside": "Paid by the sources",
}
"""Kinds of the chart of accounts in the order of the page, in words."""
HIRE = ("fleet_hired_trucks",)
FEES = ("feedstock_tipping_fee", "sources_fee_paid")
BOUGHT = ("feedstock_purchase",)
NOWHERE = "no place"
PARTS = {
    **dict.fromkeys(("row",), int),
    **dict.fromkeys(("entry", "head", "name", "kind"), str),
    "pay": bool,
    **dict.fromkeys(("price", "yard", "district", "period"), str),
    "varies": bool,
    "amount": float,
}
CAPITAL = {
    **dict.fromkeys(("yard", "district", "size", "item"), str),
    **dict.fromkeys(("cost", "life"), float),
    "stands": bool,
}
PRICES = {"price": str, "name": str, "rise": float, "physical": float}
LEDGER = {
    **dict.fromkeys(("account", "line", "place", "period", "unit"), str),
    **dict.fromkeys(("quantity", "rate", "amount"), float),
}
"""Columns of the tables in a record of money, with what they hold."""


@dataclass(frozen=True, eq=False)
class PlanMoney:
    """
    The money of a plan as its page needs it.

    Attributes
    ----------
    title, currency, fuel_price
        Name of the district, its currency, price of diesel [money/L].
    book, ledger
        See `accounts.Book` and `Result.ledger`.
    periods
        Codes in order.
    names
        Of yards, districts, periods and places by code.
    """

    title: str
    currency: str
    fuel_price: float
    book: Book
    ledger: pd.DataFrame
    periods: tuple[str, ...]
    names: Mapping[str, Mapping[str, str]]


def money_of(folder: Path) -> PlanMoney:
    """
    Open the money of a plan.

    Raises
    ------
    NotThere
        If it has none that can be read.
    """
    path = folder / MONEY
    try:
        if path.is_symlink():
            raise OSError
        return _opened(path, path.stat().st_mtime_ns)
    except (OSError, KeyError, TypeError, ValueError, AttributeError) as fault:
        raise NotThere(MONEY) from fault


@lru_cache(maxsize=4)
def _opened(path: Path, _written: int) -> PlanMoney:
    """Read the record of a plan's money, which may come from another office."""
    import pandas as pd

    from logistics.accounts import Book
    from logistics.scenario import FinanceSettings

    told = read_json(path)
    wanted = {"parts": PARTS, "capital": CAPITAL, "prices": PRICES, "ledger": LEDGER}
    parts, capital, prices, ledger = (
        pd.DataFrame({c: told[name][c] for c in kinds}).astype(kinds)
        for name, kinds in wanted.items()
    )
    if not parts["row"].between(0, len(ledger) - 1).all():
        message = "rows of the ledger that are not there"
        raise ValueError(message)
    return PlanMoney(
        title=str(told["title"]),
        currency=str(told["currency"])[:20],
        fuel_price=float(told["fuel_price"]),
        book=Book(
            parts=parts,
            capital=capital,
            today=float(told["today"]),
            prices=prices.set_index("price"),
            finance=FinanceSettings.model_validate(told["finance"]),
            work={str(k): float(v) for k, v in told["work"].items()},
            pays_disposal=bool(told["pays_disposal"]),
        ),
        ledger=ledger,
        periods=tuple(str(code) for code in told["periods"]),
        names={
            kind: {str(k): str(v) for k, v in told["names"][kind].items()}
            for kind in ("yard", "district", "period", "place")
        },
    )


def priced(money: PlanMoney, prices: Prices) -> Book:
    """Price the same plan otherwise; the plan itself stays as it is."""
    from logistics.accounts import entries_repriced, repriced

    groups = ((HIRE, prices.hire), (FEES, prices.fees), (BOUGHT, prices.bought))
    entries = {code: 1 + pct / 100 for codes, pct in groups for code in codes if pct}
    rate = prices.discount
    return repriced(
        entries_repriced(money.book, entries),
        fuel=1 + prices.fuel / 100,
        wages=1 + prices.wages / 100,
        capital=1 + prices.capital / 100,
        compost=1 + prices.compost / 100,
        discount=None if rate is None else rate / 100,
    )


def used(money: PlanMoney) -> list[str]:
    """Prices that this plan has any money in, in the order of the sliders."""
    parts = money.book.parts
    paid = set(parts.loc[parts["amount"] != 0, "price"])
    entries = set(parts.loc[parts["amount"] != 0, "entry"])
    there = {
        "fuel": "fuel" in paid,
        "wages": "wages" in paid,
        "hire": bool(entries.intersection(HIRE)),
        "capital": bool(paid & {"works", "machines"}),
        "compost": "compost" in paid,
        "fees": bool(entries.intersection(FEES)),
        "bought": bool(entries.intersection(BOUGHT)),
        "discount": bool(paid & {"works", "machines"}),
    }
    return [name for name in WORDS if there[name]]


def figures_of(money: PlanMoney, other: Book) -> list[dict[str, Any]]:
    """Give the sums that officials ask for first: as planned, and at other prices."""
    plan, each = money.book, f"{money.currency}/yr"
    tonnes = plan.work.get("collected", 0.0)
    rows = [
        (NET, plan.net, other.net, each),
        (TO_PROGRAMME, plan.programme, other.programme, each),
        (BY_SOURCES, plan.kind("outside"), other.kind("outside"), each),
    ]
    if tonnes > 0:
        per = f"{money.currency}/t"
        rows.append(
            (f"{NET} per tonne collected", plan.net / tonnes, other.net / tonnes, per)
        )
    return [
        {"label": label, "was": was, "now": now, "unit": unit}
        for label, was, now, unit in rows
    ]


def labels(money: PlanMoney, by: str) -> list[tuple[str, str]]:
    """Codes and names of the columns of a cut."""
    if by == "line":
        return []
    there = set(money.book.parts[by])
    known = money.names[by]
    named = sorted(there, key=lambda code: (not code, known.get(code, code)))
    order = money.periods if by == "period" else named
    return [(c, known.get(c, c) or NOWHERE) for c in order if c in there]


def cut_of(money: PlanMoney, other: Book, by: str) -> dict[str, Any]:
    """
    Cut the money of a plan: headings down, months, yards or districts across.

    Returns
    -------
    dict
        by; columns (code, name); rows (head, name, kind, kind_words, cells, all, was);
        totals: cells and was_cells by column, all, was. [money/yr], income below zero.
    """
    found = labels(money, by)
    codes = [code for code, _ in found]
    keys = ["kind", "head", "name"]
    now, plan = other.parts, money.book.parts
    sums = now.groupby(keys, sort=False)["amount"].sum()
    before = plan.groupby(keys, sort=False)["amount"].sum()
    cells: dict[Any, float] = {}
    across: dict[str, list[float]] = {"cells": [], "was_cells": []}
    if codes:
        cells = now.groupby([*keys, by], sort=False)["amount"].sum().to_dict()
        for name, table in (("cells", now), ("was_cells", plan)):
            whole = table.groupby(by)["amount"].sum().reindex(codes).fillna(0.0)
            across[name] = [float(x) for x in whole]
    order = sorted(sums.index, key=lambda key: ([*KINDS, key[0]].index(key[0]), key))
    rows = [
        {
            "kind": kind,
            "kind_words": KINDS.get(kind, kind),
            "head": head,
            "name": name,
            "cells": [float(cells.get((kind, head, name, c), 0.0)) for c in codes],
            "all": float(sums[kind, head, name]),
            "was": float(before[kind, head, name]),
        }
        for kind, head, name in order
    ]
    return {
        "by": by,
        "columns": [{"code": code, "name": name} for code, name in found],
        "rows": rows,
        "totals": {
            **across,
            "all": float(sums.sum()),
            "was": float(before.sum()),
        },
    }


def rows_behind(
    money: PlanMoney, other: Book, where: Mapping[str, str]
) -> list[dict[str, Any]]:
    """
    List the rows of the ledger that a figure is made of, the largest first.

    Parameters
    ----------
    money, other
        The plan's money, and the same at other prices.
    where
        Columns of the parts and the values that they must have, such as head, name,
        period, yard or district; none for the whole.

    Returns
    -------
    list
        row (as the sheet counts: the first is 2), account, line, place, period,
        quantity, unit, rate, amount (of the whole row), part (what of it is in the
        figure), now (the same at other prices).
    """
    parts = money.book.parts
    mask = parts["row"] >= 0
    for column, value in where.items():
        mask &= parts[column] == value
    share = parts[mask].groupby("row")["amount"].sum()
    now = other.parts[mask].groupby("row")["amount"].sum()
    places, periods = money.names["place"], money.names["period"]
    found = []
    for row in share.sort_values(key=abs, ascending=False).index:
        line = money.ledger.iloc[row]
        found.append(
            {
                "row": int(row) + 2,
                "account": str(line["account"]),
                "line": str(line["line"]),
                "place": places.get(str(line["place"]), str(line["place"])),
                "period": periods.get(str(line["period"]), str(line["period"])),
                "quantity": float(line["quantity"]),
                "unit": str(line["unit"]),
                "rate": float(line["rate"]),
                "amount": float(line["amount"]),
                "part": float(share[row]),
                "now": float(now[row]),
            }
        )
    return found
