"""
The budget of a plan: what it spends on what, once and every year, and per tonne.

A `Book` holds the ledger in parts with what else the money needs: capital by item and
life, price classes, quantities of work. Re-pricing a book changes its prices, never the
plan behind it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts.chart import cut, joined, parts
from logistics.costs import annuity_factor, option_annual_cost
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import FinanceSettings

ANNUITY_OF = {"yards_works_annuity": "works", "yards_machine_annuity": "machines"}
UNIT_PER_LINE = 1.0
"""Rounding that printed sums may be off by, a line: district estimates as printed are
off by one (Uganda, district Budget Estimates 2018/19, read). [money]"""


@dataclass(frozen=True, eq=False)
class Book:
    """
    A plan's money, ready to be cut and re-priced.

    Attributes
    ----------
    parts
        See `accounts.parts`.
    capital
        yard, district, item ("works" or "machines"), cost [money], life [yr].
    today
        Present disposal of all that arises, without the plan. [money/yr]
    prices
        By price class: name, rise [1/yr], physical (contingency, share).
    finance
        Discount rate, basis, inflation, horizon.
    work
        Quantities of a year: collected [t], compost [t], tonne_km, vehicle_km [km],
        litres [L], hours [h], trips.
    """

    parts: pd.DataFrame
    capital: pd.DataFrame
    today: float
    prices: pd.DataFrame
    finance: FinanceSettings
    work: dict[str, float]

    @property
    def net(self) -> float:
        """Net annual cost, capital as annuities. [money/yr]"""
        return float(self.parts["amount"].sum())

    def kind(self, kind: str) -> float:
        """Sum of one kind of the chart of accounts. [money/yr]"""
        return float(self.parts.loc[self.parts["kind"] == kind, "amount"].sum())


def book(result: Result) -> Book:
    """Open the book of a plan."""
    scenario, lanes = result.scenario, result.driven
    cost = scenario.sources.set_index("source")["disposal_cost_per_t"]
    supply = result.supply.set_index("source")["tonnes_per_year"]
    work = {name: float(lanes[name].sum()) for name in ("vehicle_km", "hours", "trips")}
    work |= {
        "collected": float(lanes.loc[lanes["kind"] == "in", "tonnes"].sum()),
        "compost": float(result.plan.compost["made_t"].sum()),
        "tonne_km": float((lanes["tonnes"] * lanes["km"]).sum()),
        "litres": float(lanes["fuel_l"].sum()),
    }
    return Book(
        parts=parts(result),
        capital=capital(result),
        today=float((supply * cost.reindex(supply.index)).sum()),
        prices=scenario.prices.set_index("price")[["name", "rise", "physical"]],
        finance=scenario.settings.finance,
        work=work,
    )


def capital(result: Result) -> pd.DataFrame:
    """
    List what has to be bought before the yards open.

    Returns
    -------
    DataFrame
        yard, district, size, item, cost [money], life [yr]; nothing that stands.
    """
    scenario = result.scenario
    yards = rows_by(scenario.yards, "yard")
    sizes = rows_by(scenario.yard_sizes, "size")
    rows = []
    for code, chosen in result.plan.yard_sizes:
        yard, size = yards[code], sizes[chosen]
        built = sizes.get(yard["existing_size"])
        cost = option_annual_cost(yard, size, 0.0, built)  # at 0 %: cost over life
        place = (code, yard["district"], chosen)
        for item, share, life in (
            ("works", cost.works_annuity, size["works_life_years"]),
            ("machines", cost.machine_annuity, size["machine_life_years"]),
        ):
            if share > 0:
                rows.append((*place, item, share * life, float(life)))
    columns = ["yard", "district", "size", "item", "cost", "life"]
    return pd.DataFrame(rows, columns=columns).astype({"cost": float, "life": float})


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


def _annuity_change(
    table: pd.DataFrame, bought: pd.DataFrame, finance: FinanceSettings, discount: float
) -> pd.Series:
    """Factor on each part when the discount rate changes; 1 but for annuities."""
    life = bought.set_index(["yard", "item"])["life"]
    keys = pd.MultiIndex.from_arrays([table["yard"], table["entry"].map(ANNUITY_OF)])
    years = life.reindex(keys).to_numpy(dtype=float)
    known = np.isfinite(years)
    factor = np.ones(len(table))
    new = annuity_factor(discount, years[known])
    factor[known] = new / annuity_factor(finance.discount, years[known])
    return pd.Series(factor, index=table.index)


def unit_costs(book: Book) -> pd.DataFrame:
    """
    Reckon the cost of a tonne and a tonne-kilometre.

    Returns
    -------
    DataFrame
        what, basis ("recurrent only" or "full", with capital as annuities), money
        [money/yr], quantity, unit, cost [money/unit], rows of the ledger. Costs are
        before income and without what others bear.
    """
    table = book.parts
    running = table["kind"] == "recurrent"
    full = running | (table["kind"] == "capital_charge")
    haul = table["entry"].str.startswith(("haulage", "fleet"))
    own = table["entry"] == "fleet_owned_trucks"
    carried = "haulage, a tonne-kilometre"
    units = [
        ("a tonne collected", "recurrent only", running, "collected", "t"),
        ("a tonne collected", "full", full, "collected", "t"),
        ("a tonne of compost", "recurrent only", running, "compost", "t"),
        ("a tonne of compost", "full", full, "compost", "t"),
        (
            "haulage, a tonne-kilometre",
            "recurrent only",
            haul & ~own,
            "tonne_km",
            "t·km",
        ),
        (carried, "full", haul, "tonne_km", "t·km"),
    ]
    rows = []
    for what, basis, mask, name, unit in units:
        money, quantity = float(table.loc[mask, "amount"].sum()), book.work[name]
        each = money / quantity if quantity else float("nan")
        behind = cut(table[mask].assign(all=""), "all")["rows"]
        lines = behind.iloc[0] if len(behind) else ""
        rows.append((what, basis, money, quantity, unit, each, lines))
    columns = ["what", "basis", "money", "quantity", "unit", "cost", "rows"]
    return pd.DataFrame(rows, columns=columns)


def estimates(book: Book) -> pd.DataFrame:
    """
    Lay the first year out as district estimates: revenue, pay, non-pay, development.

    Returns
    -------
    DataFrame
        section, head, name, amount [money] (spending above 0, revenue below), rows of
        the ledger; development is the capital of the first year with its physical
        contingency as a line of its own, and has no rows.
    """
    table = book.parts
    wanted = [
        ("A revenue", table["kind"] == "revenue"),
        ("B wage recurrent", (table["kind"] == "recurrent") & table["pay"]),
        ("C non-wage recurrent", (table["kind"] == "recurrent") & ~table["pay"]),
    ]
    made = []
    for section, mask in wanted:
        lines = cut(table[mask], "head", "name")
        made.append(lines.assign(section=section).sort_values("head"))
    bought = book.capital.groupby("item", sort=False)["cost"].sum()
    share = book.prices["physical"].reindex(bought.index)
    extra = float((bought * share).sum())
    development = [
        ("", f"{str(item).capitalize()}, new yards", float(cost))
        for item, cost in zip(bought.index, bought, strict=True)
    ]
    if extra:
        development.append(("", "Physical contingency", extra))
    last = pd.DataFrame(development, columns=["head", "name", "amount"])
    made.append(last.assign(section="D development", rows=""))
    return joined(made)[["section", "head", "name", "amount", "rows"]]


def adds_up(lines: list[float], printed: float, unit: float = UNIT_PER_LINE) -> bool:
    """
    Say whether printed lines add up to a printed total but for rounding.

    Examples
    --------
    >>> adds_up([14_510_694, 7_362_439, 6_801_752, 1_226_320], 29_901_204)
    True
    >>> adds_up([10.0, 20.0], 35.0)
    False
    """
    return abs(sum(lines) - printed) <= unit * len(lines)


def identities(book: Book, ledger: pd.DataFrame) -> pd.DataFrame:
    """
    Check that every cut of the money gives the same total.

    Returns
    -------
    DataFrame
        check, left, right, tolerance [money], passed.
    """
    net = float(ledger["amount"].sum())
    fine = 1e-9 * max(1.0, float(ledger["amount"].abs().sum()))
    table = book.parts
    checks = [
        (f"parts by {by} add up to the ledger", cut(table, by)["amount"].sum(), net)
        for by in ("head", "kind", "price", "yard", "district", "period", "row")
    ]
    charge = sum(
        row["cost"] * float(annuity_factor(book.finance.discount, row["life"]))
        for row in records(book.capital)
    )
    checks.append(
        ("capital at its annuity is the charge", charge, book.kind("capital_charge"))
    )
    found = [
        (name, float(left), right, fine, abs(left - right) <= fine)
        for name, left, right in checks
    ]
    for section, lines in estimates(book).groupby("section"):
        rounded = [float(round(x)) for x in lines["amount"]]
        total = float(round(lines["amount"].sum()))
        name = f"estimates, {section}: rounded lines and total"
        slack = UNIT_PER_LINE * len(rounded)
        found.append((name, sum(rounded), total, slack, adds_up(rounded, total)))
    columns = ["check", "left", "right", "tolerance", "passed"]
    return pd.DataFrame(found, columns=columns)
