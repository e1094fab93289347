"""The same plan at other prices: a book changes its prices, never the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts.budget import Book
from logistics.costs import annuity_factor

if TYPE_CHECKING:
    from logistics.scenario import FinanceSettings

ANNUITY_OF = {"yards_works_annuity": "works", "yards_machine_annuity": "machines"}


def repriced(
    book: Book,
    *,
    fuel: float = 1.0,
    wages: float = 1.0,
    capital: float = 1.0,
    compost: float = 1.0,
    tonnes: float = 1.0,
    discount: float | None = None,
) -> Book:
    """
    Price the same plan otherwise.

    Parameters
    ----------
    book
        Left as it is.
    fuel, wages, capital, compost
        Factors on the price of fuel, pay, works and machines, and compost sold.
    tonnes
        Factor on all that arises, is carried, made and sold; yards and trucks owned
        stay as they are.
    discount
        Another discount rate. [1/yr]
    """
    table = book.parts.copy()
    factors = {
        "fuel": fuel,
        "wages": wages,
        "works": capital,
        "machines": capital,
        "compost": compost,
    }
    table["amount"] *= table["price"].map(factors).fillna(1.0)
    table.loc[table["varies"], "amount"] *= tonnes
    finance = book.finance
    if discount is not None:
        table["amount"] *= _annuity_change(table, book.capital, finance, discount)
        finance = finance.model_copy(update={"discount": discount})
    return replace(
        book,
        parts=table,
        capital=book.capital.assign(cost=book.capital["cost"] * capital),
        today=book.today * tonnes,
        finance=finance,
        work={name: value * tonnes for name, value in book.work.items()},
    )


def entries_repriced(book: Book, factors: Mapping[str, float]) -> Book:
    """
    Price single entries of the ledger otherwise.

    Parameters
    ----------
    book
        Left as it is.
    factors
        By the entry's code in the chart of accounts, such as "fleet_hired_trucks".
    """
    table = book.parts.copy()
    table["amount"] *= table["entry"].map(dict(factors)).fillna(1.0)
    return replace(book, parts=table)


def _annuity_change(
    table: pd.DataFrame, listed: pd.DataFrame, finance: FinanceSettings, discount: float
) -> pd.Series:
    """Factor on each part when the discount rate changes; 1 but for annuities."""
    once = listed.drop_duplicates(["yard", "item"])
    life = once.set_index(["yard", "item"])["life"]
    keys = pd.MultiIndex.from_arrays([table["yard"], table["entry"].map(ANNUITY_OF)])
    years = life.reindex(keys).to_numpy(dtype=float)
    known = np.isfinite(years)
    factor = np.ones(len(table))
    new = annuity_factor(discount, years[known])
    factor[known] = new / annuity_factor(finance.discount, years[known])
    return pd.Series(factor, index=table.index)
