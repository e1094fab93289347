"""
The money of the years ahead: loans, cash, what is short, gains against doing nothing.

Capital is spent, and borrowed, at the beginning of its year; all else falls at its end.
All of it is without inflation. Doing nothing is paying for present disposal of all that
arises.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts.budget import book
from logistics.accounts.loans import with_loans
from logistics.accounts.returns import present_value, rates_of_return
from logistics.model import Floats
from logistics.scenario import totals

if TYPE_CHECKING:
    from logistics.results import Result

NOTHING = 0.5
"""Money less than this is not short. [money]"""
TINY = 1e-9
"""Share of a sum that rounding may leave. [1]"""
PARTS = ["capital", "recurrent", "income", "outside", "salvage", "today"]
WHOLE = ""
"""District of what belongs to none, such as yards that stand idle."""


def years_cash(money: pd.DataFrame, loans: pd.DataFrame) -> pd.DataFrame:
    """
    Add loans and cash to the money of the years.

    Parameters
    ----------
    money
        One row a year: year, capital_limit, capital, carried, recurrent_limit,
        recurrent, income, outside, see `years.WayAhead.money`.
    loans
        Table loans of the scenario.

    Returns
    -------
    DataFrame
        The same with borrowed, interest, repaid, debt (see `with_loans`), cash (what
        the programme takes in, less what it spends: below zero it must be given money),
        cumulative, capital_left and recurrent_left (of the year's limits, interest and
        what is repaid counted as running; missing without a limit). [money]
    """
    years = [int(year) for year in money["year"]]
    lent = with_loans(years, money["capital"].tolist(), loans)
    table = money.merge(lent, on="year", validate="one_to_one")
    service = table["interest"] + table["repaid"]
    table["cash"] = (
        table["income"] + table["borrowed"]
        - table["capital"] - table["recurrent"] - service
    )  # fmt: skip
    table["cumulative"] = table["cash"].cumsum()
    brought = table["carried"].shift(fill_value=0.0)
    own = table["capital"] - table["borrowed"]
    table["capital_left"] = table["capital_limit"] + brought - table["carried"] - own
    running = table["recurrent"] - table["income"] + table["outside"]
    table["recurrent_left"] = table["recurrent_limit"] - running - service
    return table


def cash_short(table: pd.DataFrame) -> pd.DataFrame:
    """
    List the years whose money does not suffice.

    Parameters
    ----------
    table
        See `years_cash`.

    Returns
    -------
    DataFrame
        year, limit ("capital" or "recurrent"), short [money], service (interest and
        what is repaid in that year) [money].
    """
    service = table["interest"] + table["repaid"]
    found = []
    for limit in ("capital", "recurrent"):
        mine = table[["year"]].assign(
            limit=limit,
            short=-table[f"{limit}_left"],
            service=service if limit == "recurrent" else 0.0,
        )
        found.append(mine[mine["short"] > NOTHING])
    return pd.concat(found).sort_values(["year", "limit"]).reset_index(drop=True)


def against_nothing(table: pd.DataFrame, results: Sequence[Result]) -> pd.DataFrame:
    """
    Lay out what is gained against doing nothing, moment by moment.

    Parameters
    ----------
    table
        See `years_cash`.
    results
        The plan of each year.

    Returns
    -------
    DataFrame
        moment (0 is the beginning of the first year, 1 its end, and so on), programme
        (its own money, salvage included), sources (what they no longer pay, less
        fees), district (both), financed (the programme's with its loans; what is still
        owed after the last year is paid off then). [money]
    """
    books = [book(result) for result in results]
    pays = np.array([float(one.pays_disposal) for one in books])
    today = np.array([one.today for one in books])
    earned = table["income"] + table["salvage"] - table["recurrent"] + pays * today
    sources = (1 - pays) * today - table["outside"]
    service = table["interest"] + table["repaid"]
    owed = np.zeros(len(table))
    owed[-1] = float(table["debt"].iloc[-1])
    flow = pd.DataFrame({"moment": np.arange(len(table) + 1)})
    flow["programme"] = _moments(-table["capital"], earned)
    flow["sources"] = _moments(0.0 * today, sources)
    flow["district"] = flow["programme"] + flow["sources"]
    lent = _moments(table["borrowed"], -service - owed)
    flow["financed"] = flow["programme"] + lent
    return flow


def _moments(begins: pd.Series | Floats, ends: pd.Series | Floats) -> Floats:
    """Set money at the beginnings and ends of years on one line of moments."""
    first, last = np.asarray(begins, dtype=float), np.asarray(ends, dtype=float)
    found: Floats = np.append(first, 0.0) + np.append(0.0, last)
    return found


def district_years(
    money: pd.DataFrame, steps: pd.DataFrame, results: Sequence[Result]
) -> pd.DataFrame:
    """
    Give each district its part of the money of the years.

    Parameters
    ----------
    money, steps
        See `years.WayAhead`.
    results
        The plan of each year.

    Returns
    -------
    DataFrame
        year, district, capital, recurrent, income, outside, salvage, today (present
        disposal of what arises there), net (without today), gain (today less net)
        [money]. Sums over districts are those of the years: what has no district
        (replacements, yards that stand idle) is the district "". Salvage is shared by
        what was spent on yards that open, grow or close.
    """
    rows, spent = list[tuple[int, str, str, float]](), dict[str, float]()
    for (_, line), result in zip(money.iterrows(), results, strict=True):
        year = int(line["year"])
        mine = _parts(steps[steps["year"] == year], result)
        for name, part, amount in mine:
            if part == "capital":
                spent[name] = spent.get(name, 0.0) + amount
        whole = sum(spent.values())
        if whole > 0:
            salvage = float(line["salvage"]) / whole
            mine += [(name, "salvage", paid * salvage) for name, paid in spent.items()]
        rows += [(year, *one) for one in mine]
        for part in PARTS[:5]:
            rest = float(line[part]) - sum(v for _, p, v in mine if p == part)
            rest = 0.0 if abs(rest) < TINY * max(1.0, abs(float(line[part]))) else rest
            rows.append((year, WHOLE, part, rest))
    long = pd.DataFrame(rows, columns=["year", "district", "part", "amount"])
    table = long.pivot_table(
        index=["year", "district"], columns="part", values="amount", aggfunc="sum"
    )
    table = table.reindex(columns=PARTS).fillna(0.0).reset_index()
    table.columns.name = None
    paid = table["capital"] + table["recurrent"] + table["outside"]
    table["net"] = paid - table["income"] - table["salvage"]
    table["gain"] = table["today"] - table["net"]
    return table


def _parts(steps: pd.DataFrame, result: Result) -> list[tuple[str, str, float]]:
    """District, part and money of what a year has by district."""
    scenario, entries = result.scenario, book(result).parts
    place = dict(zip(scenario.yards["yard"], scenario.yards["district"], strict=True))
    found = [
        (str(place[yard]), "capital", cost)
        for yard, cost in totals(steps, ["yard"], "capital")
    ]
    kinds = {"recurrent": "recurrent", "revenue": "income", "outside": "outside"}
    for kind, district, amount in totals(entries, ["kind", "district"], "amount"):
        if kind in kinds:
            sign = -1.0 if kind == "revenue" else 1.0
            found.append((str(district), kinds[kind], sign * amount))
    sources = scenario.sources.set_index("source")
    supply = result.supply.set_index("source")["tonnes_per_year"]
    paid = supply * sources["disposal_cost_per_t"].reindex(supply.index)
    home = sources["district"].reindex(supply.index)
    bills = pd.DataFrame({"district": home.tolist(), "paid": paid.tolist()})
    found += [(str(d), "today", c) for d, c in totals(bills, ["district"], "paid")]
    return found


def district_worth(table: pd.DataFrame, discount: float) -> pd.DataFrame:
    """
    Sum each district up.

    Parameters
    ----------
    table
        See `district_years`.
    discount
        Real. [1/yr]

    Returns
    -------
    DataFrame
        district, capital, today (sums, not discounted), gain (present value against
        doing nothing), rates (tuple of the rates of return of that) [money, 1/yr].
    """
    rows = []
    for name, mine in table.groupby("district", sort=True):
        flow = _moments(-mine["capital"], (mine["gain"] + mine["capital"]))
        rows.append(
            (
                str(name),
                float(mine["capital"].sum()),
                float(mine["today"].sum()),
                present_value(flow.tolist(), discount),
                rates_of_return(flow.tolist()),
            )
        )
    return pd.DataFrame(rows, columns=["district", "capital", "today", "gain", "rates"])
