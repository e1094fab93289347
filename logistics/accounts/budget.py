"""
The budget of a plan: what it spends on what, once and every year, and per tonne.

A `Book` holds the ledger in parts with what else the money needs: capital by item and
life, price classes, quantities of work.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts.chart import cut, joined, parts
from logistics.costs import annuity_factor, option_annual_cost
from logistics.results import entry_code, once_a_result
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import FinanceSettings, Scenario

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
        See `capital`: yard, district, size, item, cost [money], life [yr], stands.
    today, pays_disposal
        Present disposal of all that arises, without the plan [money/yr]; whether the
        programme pays for it (by the chart of accounts), or the sources do.
    prices
        By price class: name, rise [1/yr], physical (contingency, share).
    finance
        Discount rate, basis, inflation, horizon.
    work
        Quantities of a year: collected [t], compost [t], tonne_km (and of it
        tonne_km_in, tonne_km_out), vehicle_km [km], litres [L], hours [h], trips.
    """

    parts: pd.DataFrame
    capital: pd.DataFrame
    today: float
    prices: pd.DataFrame
    finance: FinanceSettings
    work: dict[str, float]
    pays_disposal: bool = False

    @property
    def net(self) -> float:
        """Net annual cost of the district, capital as annuities. [money/yr]"""
        return float(self.parts["amount"].sum())

    @property
    def programme(self) -> float:
        """Net annual cost to the programme, capital as annuities. [money/yr]"""
        return self.net - self.kind("outside")

    def kind(self, kind: str) -> float:
        """Sum of one kind of the chart of accounts. [money/yr]"""
        return float(self.parts.loc[self.parts["kind"] == kind, "amount"].sum())

    def entry(self, entry: str) -> float:
        """Sum of one entry of the chart of accounts. [money/yr]"""
        return float(self.parts.loc[self.parts["entry"] == entry, "amount"].sum())


@once_a_result
def book(result: Result) -> Book:
    """Open the book of a plan."""
    scenario, lanes = result.scenario, result.driven
    cost = scenario.sources.set_index("source")["disposal_cost_per_t"]
    supply = result.supply.set_index("source")["tonnes_per_year"]
    work = {name: float(lanes[name].sum()) for name in ("vehicle_km", "hours", "trips")}
    t_km, inward = lanes["tonnes"] * lanes["km"], lanes["kind"] == "in"
    work |= {
        "collected": float(lanes.loc[inward, "tonnes"].sum()),
        "compost": float(result.plan.compost["made_t"].sum()),
        "tonne_km": float(t_km.sum()),
        "tonne_km_in": float(t_km[inward].sum()),
        "tonne_km_out": float(t_km[~inward].sum()),
        "litres": float(lanes["fuel_l"].sum()),
    }
    return Book(
        parts=parts(result),
        capital=capital(result),
        today=float((supply * cost.reindex(supply.index)).sum()),
        prices=scenario.prices.set_index("price")[["name", "rise", "physical"]],
        finance=scenario.settings.finance,
        work=work,
        pays_disposal=_pays_disposal(scenario),
    )


def _pays_disposal(scenario: Scenario) -> bool:
    """Whether the chart of accounts has the programme pay for present disposal."""
    chart = rows_by(scenario.accounts, "entry")
    return (
        str(chart[entry_code("left behind", "present disposal")]["kind"]) != "outside"
    )


def capital(result: Result) -> pd.DataFrame:
    """
    List what is bought before the yards open, and what stands and is renewed.

    Returns
    -------
    DataFrame
        yard, district, size, item, cost [money], life [yr], stands: True for machines
        of an existing yard, first paid for when their life, counted from the start of
        the plan, is over. Works that stand outlast the plan and are left out.
    """
    scenario = result.scenario
    yards = rows_by(scenario.yards, "yard")
    sizes = rows_by(scenario.yard_sizes, "size")
    rows = []
    for code, chosen in result.plan.yard_sizes:
        yard, size = yards[code], sizes[chosen]
        built = sizes.get(yard["existing_size"])
        cost = option_annual_cost(yard, size, scenario.settings.finance.discount, built)
        place = (code, yard["district"], chosen)
        machine_life = float(size["machine_life_years"])
        rows += [
            (*place, "works", cost.works, float(size["works_life_years"]), False),
            (*place, "machines", cost.machines, machine_life, False),
            (*place, "machines", cost.renewed, machine_life, True),
        ]
    columns = ["yard", "district", "size", "item", "cost", "life", "stands"]
    table = pd.DataFrame([row for row in rows if row[4] > 0], columns=columns)
    return table.astype({"cost": float, "life": float, "stands": bool})


def bought(table: pd.DataFrame) -> pd.DataFrame:
    """Rows of a capital list that are paid for before the yards open."""
    return table[~table["stands"]]


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
    needed = bought(book.capital).groupby("item", sort=False)["cost"].sum()
    share = book.prices["physical"].reindex(needed.index)
    extra = float((needed * share).sum())
    development = [
        ("", f"{str(item).capitalize()}, new and enlarged yards", float(cost))
        for item, cost in zip(needed.index, needed, strict=True)
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
