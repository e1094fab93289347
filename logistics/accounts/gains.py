"""Who pays, who gains: the programme and the sources, today and with the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts.budget import Book
from logistics.results import of_sources

if TYPE_CHECKING:
    from logistics.results import Result

PROGRAMME = "the programme"
COLUMNS = ["who", "district", "material", "today", "plan", "gain"]


def who_gains(result: Result, book: Book) -> pd.DataFrame:
    """
    Set what each pays today beside what it pays with the plan.

    Returns
    -------
    DataFrame
        who ("the programme" first, then "sources"), district, material, today (present
        disposal of all that arises), plan, gain [money/yr]. Today the sources pay,
        unless the chart of accounts lets the programme pay for disposal. The programme
        then pays its net cost, capital as annuities; sources pay fees, and disposal
        of what is left. The gains add up to `Book.today` less the net annual cost.

    Notes
    -----
    What is paid for feedstock is no gain of a source: it is taken to make up for what
    the feedstock would have brought elsewhere, or for the trouble of giving it.
    """
    sources = result.scenario.sources.set_index("source")
    ledger, theirs = result.ledger, of_sources(result.ledger, result.scenario)
    paid = ledger[theirs].groupby("place")["amount"].sum()
    supply = result.supply.set_index("source")["tonnes_per_year"]
    cost = sources["disposal_cost_per_t"]
    bills = (supply * cost.reindex(supply.index)).reindex(sources.index).fillna(0.0)
    each = pd.DataFrame(
        {
            "who": "sources",
            "district": sources["district"].fillna("").astype(str),
            "material": sources["material"].astype(str),
            "today": 0.0 if book.pays_disposal else bills,
            "plan": paid.reindex(sources.index).fillna(0.0),
        }
    )
    keys = ["who", "district", "material"]
    groups = each.groupby(keys, sort=False, as_index=False)[["today", "plan"]].sum()
    own = book.today if book.pays_disposal else 0.0
    first = pd.DataFrame(
        [(PROGRAMME, "", "", own, book.programme)], columns=COLUMNS[:5]
    )
    table = pd.concat([first, groups], ignore_index=True)
    return table.assign(gain=table["today"] - table["plan"])[COLUMNS]


def worse_off(result: Result) -> pd.DataFrame:
    """
    List sources whose fee is above what disposal costs them today.

    Returns
    -------
    DataFrame
        source, fee, today [money/t], tonnes [t/yr] (collected), more [money/yr] (what
        the source loses by the plan).
    """
    sources = result.scenario.sources.set_index("source")
    tonnes = result.plan.hauls.groupby("source")["tonnes"].sum()
    fee, today = sources["tipping_fee_per_t"], sources["disposal_cost_per_t"]
    table = pd.DataFrame(
        {
            "fee": fee,
            "today": today,
            "tonnes": tonnes.reindex(sources.index).fillna(0.0),
        }
    )
    table["more"] = (table["fee"] - table["today"]) * table["tonnes"]
    return table[table["more"] > 0].rename_axis("source").reset_index()
