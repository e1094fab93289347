"""
Ten years of a plan's money: replacement, contingencies, present value, payback.

Two sums of money are kept apart. The programme's is what somebody spends and earns: it
alone can be paid back and have a return. The sources gain what they no longer pay for
disposal, less fees; nobody pays that to the programme. Both together are what the
district gains.

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
from numpy.typing import NDArray

from logistics.accounts.budget import Book
from logistics.accounts.repricing import repriced
from logistics.accounts.returns import HIGHEST, payback, rates_of_return
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
    "sources",
]
COSTS, INCOME = FLOW[:7], FLOW[7:10]


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
        the end, in a straight line), disposal_saved (present disposal that the
        programme itself pays today; nothing where sources pay it). Then sources (what
        they gain: disposal they no longer pay, less fees), net (of the programme:
        income less costs), district (net and sources), factor (discount), value (of
        net), value_sources, value_district.
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
    flow["net"] = flow[INCOME].sum(axis=1) - flow[COSTS].sum(axis=1)
    flow["district"] = flow["net"] + flow["sources"]
    flow["factor"] = (1 + discount) ** -year.astype(float)
    flow["value"] = flow["net"] * flow["factor"]
    flow["value_sources"] = flow["sources"] * flow["factor"]
    flow["value_district"] = flow["district"] * flow["factor"]
    return flow.rename_axis("year").reset_index()


def _buy(
    flow: pd.DataFrame, book: Book, grown: dict[str, np.ndarray], years: int
) -> None:
    """
    Enter capital, replacement, their contingencies and what is left at the end.

    What stands already is first paid for when its life is over; until then it has cost
    the plan nothing, and has no unused life to give back.
    """
    prices = rows_by(book.prices.reset_index(), "price")
    for row in records(book.capital):
        item, cost, life = row["item"], row["cost"], row["life"]
        extra = cost * prices[item]["physical"]
        dates = [0.0]
        while dates[-1] + life < years - 1e-9:
            dates.append(dates[-1] + life)
        paid = dates[1:] if row["stands"] else dates
        for when in paid:
            at = ceil(when - 1e-9)
            flow.loc[at, "replacement" if when else "capital"] += cost
            flow.loc[at, "physical"] += extra
            flow.loc[at, "rise"] += (cost + extra) * (grown[item][at] - 1)
        left = 1 - (years - dates[-1]) / life if paid else 0.0
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
            flow.loc[1:, "sources"] -= amount * factor
    bill = "disposal_saved" if book.pays_disposal else "sources"
    flow.loc[1:, bill] += book.today * grown["goods"][1:]


@dataclass(frozen=True)
class Worth:
    """
    What a cash flow comes to.

    Attributes
    ----------
    programme, sources, district
        Net present value of the programme's own money, of what the sources gain, and
        of both together. [money]
    payback
        Year, with a fraction, in which the programme's own money has paid back its
        capital; None if not within the horizon. [yr]
    """

    programme: float
    sources: float
    district: float
    payback: float | None


def worth(flow: pd.DataFrame) -> Worth:
    """Sum a cash flow up."""
    return Worth(
        float(flow["value"].sum()),
        float(flow["value_sources"].sum()),
        float(flow["value_district"].sum()),
        payback(flow["net"].tolist()),
    )


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
        case, net (annual cost of the district) [money/yr], more [money/yr], programme
        and district (net present values) [money].
    """
    rows = []
    for name, change in CASES:
        other = repriced(book, **change)
        value = worth(cash_flow(other))
        more = other.net - book.net
        rows.append((name, other.net, more, value.programme, value.district))
    columns = ["case", "net", "more", "programme", "district"]
    return pd.DataFrame(rows, columns=columns)


SWITCHES = {
    "fuel": "price of fuel",
    "wages": "pay",
    "tonnes": "tonnes",
    "capital": "pads, works and machines",
    "compost": "price of compost",
}


RATE = "discount rate itself"


def switching(book: Book) -> pd.DataFrame:
    """
    Find the change that makes a net present value nothing.

    Returns
    -------
    DataFrame
        what, programme, district: change at which the programme's own money, and the
        district's, is worth nothing [share; missing if no change does]; for the
        discount rate the rate itself [1/yr].
    """

    def value(**change: float) -> NDArray[np.float64]:
        found = worth(cash_flow(repriced(book, **change)))
        return np.array([found.programme, found.district])

    rows: list[tuple[str, float, float]] = []
    base = value()
    for name, words in SWITCHES.items():
        slope = value(**{name: 2.0}) - base  # every one of them is a straight line
        flat = np.abs(slope) <= 1e-9 * np.maximum(1.0, np.abs(base))
        change = np.where(flat, np.nan, -base / np.where(flat, 1.0, slope))
        change = np.where(change >= -1, change, np.nan)
        rows.append((words, *change.tolist()))
    rows.append((RATE, rate_of_return(book), rate_of_return(book, "district")))
    return pd.DataFrame(rows, columns=["what", "programme", "district"])


def rate_of_return(book: Book, column: str = "net") -> float:
    """
    Discount rate, without inflation, at which a cash flow is worth nothing.

    Parameters
    ----------
    book
        A plan's money.
    column
        "net", the programme's own money: its return. "district": a rate that nobody
        is paid.

    Returns
    -------
    float
        From 0 to 10; missing where there is none, or more than one. [1/yr]
    """
    found = rates_of_return(cash_flow(book)[column].tolist())
    inflation = rates(book.finance)[1](0.0)
    real = [(1 + rate) / (1 + inflation) - 1 for rate in found]
    wanted = [rate for rate in real if 0 <= rate <= HIGHEST]
    return wanted[0] if len(wanted) == 1 else float("nan")
