"""
Ten years of a plan's money: replacement, contingencies, present value, payback.

Prices and rates are either real (without inflation) or nominal (with it), never mixed:
`finance.basis` chooses for all of them at once. The discount rate and the rises of
prices are given without inflation; the nominal basis puts inflation into each. Present
values are the same either way.

Capital is spent at the end of year 0, all else at the end of its year.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.optimize import brentq

from logistics.accounts.budget import Book, repriced
from logistics.scenario import records, rows_by, totals

if TYPE_CHECKING:
    from logistics.scenario import FinanceSettings

FLOW = [
    "capital",
    "replacement",
    "physical",
    "wages",
    "fuel",
    "other",
    "rise",
    "revenue",
    "residual",
    "disposal_saved",
]
COSTS = FLOW[:7]


def nominal(real: float, inflation: float) -> float:
    """
    Put inflation into a real rate.

    Examples
    --------
    >>> round(nominal(0.10, 0.04), 4)
    0.144
    """
    return (1 + real) * (1 + inflation) - 1


def rates(finance: FinanceSettings) -> tuple[float, Callable[[float], float]]:
    """Return the discount rate, and what turns a real rise into one of that basis."""
    inflation = finance.inflation if finance.basis == "nominal" else 0.0
    return nominal(finance.discount, inflation), lambda rise: nominal(rise, inflation)


def cash_flow(book: Book) -> pd.DataFrame:
    """
    Lay out the years of a plan.

    Parameters
    ----------
    book
        A plan's money; the horizon and the basis are its finance settings.

    Returns
    -------
    DataFrame
        One row a year from 0, all in money of the basis. Costs at the prices of year
        0: capital, replacement, physical (contingency on both), wages, fuel, other;
        rise (price contingency: what rising prices add to all these). Income at the
        prices of its year: revenue, residual (unused life of works and machines at
        the end, in a straight line), disposal_saved (against leaving everything as
        it is today). Then net (of the programme: without disposal_saved),
        net_today (against today), factor (discount), value and value_today.
    """
    years = int(book.finance.horizon_years)
    discount, rising = rates(book.finance)
    year = np.arange(years + 1)
    grown = {
        str(price): (1 + rising(float(rise))) ** year
        for price, rise in zip(book.prices.index, book.prices["rise"], strict=True)
    }
    flow = pd.DataFrame(0.0, index=year, columns=FLOW)
    _buy(flow, book, grown, years)
    _run(flow, book, grown)
    costs, income = flow[COSTS].sum(axis=1), flow[["revenue", "residual"]].sum(axis=1)
    flow["net"] = income - costs
    flow["net_today"] = flow["net"] + flow["disposal_saved"]
    flow["factor"] = (1 + discount) ** -year.astype(float)
    flow["value"] = flow["net"] * flow["factor"]
    flow["value_today"] = flow["net_today"] * flow["factor"]
    return flow.rename_axis("year").reset_index()


def _buy(
    flow: pd.DataFrame, book: Book, grown: dict[str, np.ndarray], years: int
) -> None:
    """Enter capital, replacement, their contingencies and what is left at the end."""
    prices = rows_by(book.prices.reset_index(), "price")
    for row in records(book.capital):
        item, cost, life = row["item"], row["cost"], row["life"]
        extra = cost * prices[item]["physical"]
        bought = [0.0]
        while bought[-1] + life < years - 1e-9:
            bought.append(bought[-1] + life)
        for when in bought:
            at = ceil(when - 1e-9)
            flow.loc[at, "replacement" if when else "capital"] += cost
            flow.loc[at, "physical"] += extra
            flow.loc[at, "rise"] += (cost + extra) * (grown[item][at] - 1)
        left = 1 - (years - bought[-1]) / life
        flow.loc[years, "residual"] += left * (cost + extra) * grown[item][years]


def _run(flow: pd.DataFrame, book: Book, grown: dict[str, np.ndarray]) -> None:
    """Enter what is spent and earned every year but year 0."""
    for kind, price, amount in totals(book.parts, ["kind", "price"], "amount"):
        factor = grown[price][1:]
        if kind == "recurrent":
            column = price if price in ("wages", "fuel") else "other"
            flow.loc[1:, column] += amount
            flow.loc[1:, "rise"] += amount * (factor - 1)
        elif kind == "revenue":
            flow.loc[1:, "revenue"] -= amount * factor
        elif kind == "outside":
            flow.loc[1:, "disposal_saved"] -= amount * factor
    flow.loc[1:, "disposal_saved"] += book.today * grown["goods"][1:]


@dataclass(frozen=True)
class Worth:
    """
    What a cash flow comes to.

    Attributes
    ----------
    programme, against_today
        Net present value of the programme's own money, and of that with the present
        disposal it saves. [money]
    payback
        Year, with a fraction, in which the sums against today pay back the capital;
        None if not within the horizon. [yr]
    """

    programme: float
    against_today: float
    payback: float | None


def worth(flow: pd.DataFrame) -> Worth:
    """Sum a cash flow up."""
    return Worth(
        float(flow["value"].sum()),
        float(flow["value_today"].sum()),
        payback(flow["net_today"].tolist()),
    )


def payback(net: list[float]) -> float | None:
    """
    Year in which what came in has paid for what went out.

    Examples
    --------
    >>> payback([-100.0, 40.0, 40.0, 40.0])
    2.5
    >>> payback([-100.0, 40.0]) is None
    True
    """
    owed = 0.0
    for year, flow in enumerate(net):
        if owed < 0 <= owed + flow:
            return year - 1 + -owed / flow
        owed += flow
    return 0.0 if owed >= 0 and min(net) >= 0 else None


CASES: tuple[tuple[str, dict[str, float]], ...] = (
    ("as planned", {}),
    ("fuel −50 %", {"fuel": 0.5}),
    ("fuel −20 %", {"fuel": 0.8}),
    ("fuel +20 %", {"fuel": 1.2}),
    ("fuel +50 %", {"fuel": 1.5}),
    ("pay +20 %", {"wages": 1.2}),
    ("tonnes −20 %", {"tonnes": 0.8}),
    ("pads, works and machines +30 %", {"capital": 1.3}),
    ("price of compost −20 %", {"compost": 0.8}),
    ("discount rate 6 %", {"discount": 0.06}),
    ("discount rate 10 %", {"discount": 0.10}),
    ("discount rate 12 %", {"discount": 0.12}),
)


def sensitivity(book: Book) -> pd.DataFrame:
    """
    Price the plan under each of `CASES`; the plan itself stays.

    Returns
    -------
    DataFrame
        case, net (annual cost) [money/yr], more [money/yr], programme and
        against_today (net present values) [money].
    """
    rows = []
    for name, change in CASES:
        other = repriced(book, **change)
        value = worth(cash_flow(other))
        more = other.net - book.net
        rows.append((name, other.net, more, value.programme, value.against_today))
    columns = ["case", "net", "more", "programme", "against_today"]
    return pd.DataFrame(rows, columns=columns)


SWITCHES = {
    "fuel": "price of fuel",
    "wages": "pay",
    "tonnes": "tonnes",
    "capital": "pads, works and machines",
    "compost": "price of compost",
}


def switching(book: Book) -> pd.DataFrame:
    """
    Find the change that makes the net present value against today nothing.

    Returns
    -------
    DataFrame
        what, change [share; missing if no change does], for the discount rate the
        rate itself [1/yr].
    """

    def value(**change: float) -> float:
        return worth(cash_flow(repriced(book, **change))).against_today

    rows: list[tuple[str, float]] = []
    base = value()
    for name, words in SWITCHES.items():
        slope = value(**{name: 2.0}) - base  # every one of them is a straight line
        change = -base / slope if abs(slope) > 1e-9 * max(1.0, abs(base)) else np.nan
        rows.append((words, change if change >= -1 else np.nan))
    rows.append(("discount rate itself", _rate_of_return(lambda d: value(discount=d))))
    return pd.DataFrame(rows, columns=["what", "change"])


def _rate_of_return(value: Callable[[float], float]) -> float:
    """Discount rate at which the value is nothing; missing where none is found."""
    low, high = 0.0, 10.0
    if value(low) * value(high) >= 0:
        return float("nan")
    return float(brentq(value, low, high, xtol=1e-9))
