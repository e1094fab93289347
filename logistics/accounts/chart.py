"""
The ledger cut for a budget: by heading, yard, district and month, without a rest.

Every row of the ledger becomes one or more parts that add up to it; each part keeps
the number of its row, so that every figure of a budget leads back to the ledger.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.results import entry_code
from logistics.scenario import in_list, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

NO_YARD = ""
AT_YARD = ("yards", "haulage in", "haulage out", "pairing", "rounds")
COLUMNS = [
    "row",
    "entry",
    "head",
    "name",
    "kind",
    "pay",
    "price",
    "yard",
    "district",
    "period",
    "varies",
    "amount",
]
TYPES = {
    **{name: "str" for name in COLUMNS},
    "row": "int64",
    "pay": "bool",
    "varies": "bool",
    "amount": "float64",
}


def parts(result: Result) -> pd.DataFrame:
    """
    Cut the ledger of a plan into parts.

    Parameters
    ----------
    result
        A planned scenario.

    Returns
    -------
    DataFrame
        row (of the ledger, from 0), entry, head, name, kind (see table accounts),
        pay (True for wages), price (class), yard, district, period, varies (with the
        tonnes), amount [money/yr]. Amounts add up to the ledger, row by row.

    Notes
    -----
    What is booked at a source, market or truck goes to yards by tonnes or hours; the
    district is that of the place where the money falls: the yard's for yards and
    trucks, the source's and the market's else. Yearly amounts are spread over the
    periods by days.
    """
    ledger = result.ledger.rename_axis("row").reset_index()
    ledger["entry"] = [
        entry_code(account, line)
        for account, line in zip(ledger["account"], ledger["line"], strict=True)
    ]
    ledger["varies"] = ledger["period"] != "year"
    table = _by_yard(ledger, result)
    table["district"] = _districts(table, result.scenario)
    table = _by_period(table, result.scenario)
    table = _by_price(table, result.scenario)[COLUMNS].reset_index(drop=True)
    return table.astype(TYPES)


def _by_yard(ledger: pd.DataFrame, result: Result) -> pd.DataFrame:
    """Give every row its yard, or split it among the yards that it serves."""
    account = ledger["account"]
    here = account.isin(AT_YARD) | (ledger["line"] == "left over")
    hauls, deliveries = result.plan.hauls, result.plan.deliveries
    lanes = result.driven
    at = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    hours = lanes.assign(yard=at).rename(columns={"truck": "place"})
    split = [
        (
            account.isin(["feedstock", "sources"]),
            hauls.rename(columns={"source": "place"}),
            "tonnes",
        ),
        (
            ledger["line"] == "sale",
            deliveries.rename(columns={"market": "place"}),
            "tonnes",
        ),
        (ledger["line"] == "hired trucks", hours, "hours"),
        (
            ledger["line"] == "owned trucks",
            hours.assign(period="year"),
            "hours",
        ),
    ]
    done = [ledger[here].assign(yard=ledger.loc[here, "place"])]
    rest = ~here
    for rows, weights, value in split:
        done.append(_split(ledger[rows], weights, value))
        rest &= ~rows
    done.append(ledger[rest].assign(yard=NO_YARD))
    table = joined(done)
    return table.sort_values("row", kind="stable", ignore_index=True)


def joined(tables: list[pd.DataFrame]) -> pd.DataFrame:
    """Put tables with the same columns one below the other; empty ones may be odd."""
    filled = [table for table in tables if len(table)]
    return pd.concat(filled or tables[:1], ignore_index=True)


def _split(rows: pd.DataFrame, weights: pd.DataFrame, value: str) -> pd.DataFrame:
    """Split amounts over yards by a weight of the same place and period."""
    keys = ["place", "period"]
    each = weights.groupby([*keys, "yard"], as_index=False, observed=True)[value].sum()
    whole = each.groupby(keys, observed=True)[value].transform("sum")
    each = each[whole > 0].assign(share=(each[value] / whole)[whole > 0])
    table = rows.merge(each[[*keys, "yard", "share"]], on=keys, how="left")
    table["yard"] = table["yard"].fillna(NO_YARD)
    table["amount"] *= table["share"].fillna(1.0)
    return table.drop(columns="share")


def _districts(table: pd.DataFrame, scenario: Scenario) -> pd.Series:
    """District of the place where the money falls."""
    of_yard = scenario.yards.set_index("yard")["district"]
    of_source = scenario.sources.set_index("source")["district"]
    of_market = scenario.markets.set_index("market")["district"]
    found = table["yard"].map(of_yard)
    at_source = table["account"].isin(["feedstock", "sources", "left behind"])
    found = found.where(~at_source, table["place"].map(of_source))
    found = found.where(table["line"] != "sale", table["place"].map(of_market))
    return found.fillna("").astype(str)


def _by_period(table: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """Spread yearly amounts over the periods by days."""
    yearly = ~table["varies"]
    days = scenario.periods[["period", "days"]]
    share = days.assign(share=days["days"] / days["days"].sum())[["period", "share"]]
    spread = table[yearly].drop(columns="period").merge(share, how="cross")
    spread["amount"] *= spread["share"]
    return joined([table[~yearly], spread.drop(columns="share")])


def _by_price(table: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """Take pay and fuel out of every amount; the rest keeps its price class."""
    chart = rows_by(scenario.accounts, "entry")
    unknown = set(table["entry"]) - set(chart)
    if unknown:
        message = f"not in the chart of accounts: {in_list(sorted(unknown))}; "
        message += "add rows to accounts.csv"
        raise KeyError(message)
    for column in ("head", "name", "kind"):
        table[column] = [chart[entry][column] for entry in table["entry"]]
    wage = pd.Series([chart[e]["wage"] for e in table["entry"]], index=table.index)
    fuel = pd.Series([chart[e]["fuel"] for e in table["entry"]], index=table.index)
    rest = pd.Series([chart[e]["price"] for e in table["entry"]], index=table.index)
    made = []
    for share, price in ((wage, "wages"), (fuel, "fuel"), (1 - wage - fuel, rest)):
        part = table.assign(
            price=price, amount=table["amount"] * share, pay=isinstance(price, str)
        )
        part["pay"] = (part["price"] == "wages") & part["pay"]
        made.append(part[share > 0])
    return joined(made).sort_values("row", kind="stable", ignore_index=True)


def cut(table: pd.DataFrame, *by: str) -> pd.DataFrame:
    """
    Sum parts by columns; `rows` names the rows of the ledger behind each figure.

    Returns
    -------
    DataFrame
        The columns, amount [money/yr], rows such as "1-4 9".
    """
    groups = table.groupby(list(by), sort=False)
    sums = groups["amount"].sum().reset_index()
    sums["rows"] = [row_words(rows) for _, rows in groups["row"]]
    return sums


def row_words(rows: pd.Series) -> str:
    """
    Name rows of the ledger as its sheet counts them: the first is row 2.

    Examples
    --------
    >>> row_words(pd.Series([0, 1, 2, 7]))
    '2-4 9'
    """
    found: list[list[int]] = []
    for row in sorted(set(rows.tolist())):
        if found and found[-1][1] == row + 1:
            found[-1][1] = row + 2
        else:
            found.append([row + 2, row + 2])
    return " ".join(str(a) if a == b else f"{a}-{b}" for a, b in found)
