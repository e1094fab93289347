"""
The totals of a plan, rounded once, so that every page of the report says the same.

Parts are rounded to fit their total (see `figures`); a total shown is the sum of the
parts shown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.costs import option_annual_cost
from logistics.results import SAVINGS, of_sources
from logistics.scenario import rows_by
from maps.report.pieces import plain, shorten
from maps.shared import (
    MoneyUnit,
    apportion,
    colours,
    digits_for,
    looks,
    money_unit,
    names,
    period_order,
    spread,
)
from maps.tables import Lineage, collection, demand_met, register

if TYPE_CHECKING:
    from logistics.results import Result

LONGEST_HEAD = 24

ACCOUNTS = {
    "yards": "Yards",
    "haulage in": "Haulage to the yards",
    "haulage out": "Haulage to the markets",
    "pairing": "Saved by paired trips",
    "rounds": "Rounds above plan",
    "fleet": "Trucks owned and hired",
    "feedstock": "Feedstock bought, less tipping fees",
    "compost": "Compost",
    "sources": "Tipping fees, paid by the sources",
    "left behind": "Disposal of what is left, as today",
}


@dataclass(frozen=True, eq=False)
class Facts:
    """
    Rounded totals and look-ups shared by the sections of the report.

    Attributes
    ----------
    result, currency
        The plan and its money.
    periods, period_name, material_name, colour
        Codes of the periods in order; names by code; colours by material.
    look
        Number of the texture by material.
    digits, money_digits
        Decimals of tonnes and of money; those of money are below zero for thousands.
    unit
        What the report counts money in.
    materials
        Codes of the feedstocks that arise, in the order of their table.
    year
        Index material: collected, left, lost (while waiting). [t/yr]
    made, delivered, unmet
        Compost, and demand that is not met. [t/yr]
    lines
        Account, line, amount of the ledger, theirs: True where the sources pay.
        [money/yr]
    lineage
        Where each figure comes from, by its code.
    """

    result: Result
    currency: str
    periods: list[str]
    period_name: dict[str, str]
    material_name: dict[str, str]
    colour: dict[str, str]
    look: dict[str, int]
    digits: int
    unit: MoneyUnit
    materials: list[str]
    year: pd.DataFrame
    made: float
    delivered: float
    unmet: float
    lines: pd.DataFrame
    lineage: dict[str, Lineage]

    @property
    def money_digits(self) -> int:
        """Decimals to which money is rounded; below zero for thousands."""
        return self.unit.rounding

    @property
    def months(self) -> list[str]:
        """Names of the periods in order."""
        return [self.period_name[code] for code in self.periods]

    def head(self, material: str) -> str:
        """Name of a feedstock, short enough for the head of a column."""
        return shorten(plain(self.material_name[material]), LONGEST_HEAD)

    @property
    def costs(self) -> pd.DataFrame:
        """Lines that cost the programme money, less what pairing saves of them."""
        return self.lines[~self._brings & ~self.lines["theirs"]]

    @property
    def incomes(self) -> pd.DataFrame:
        """Lines that bring the programme money, as negative amounts."""
        return self.lines[self._brings & ~self.lines["theirs"]]

    @property
    def _brings(self) -> pd.Series:
        lines = self.lines
        return (lines["amount"] < 0) & ~lines["account"].isin(SAVINGS)

    @property
    def net(self) -> float:
        """Net annual cost of programme and sources together. [money/yr]"""
        return float(self.lines["amount"].sum())

    @property
    def programme(self) -> float:
        """Net annual cost to the programme. [money/yr]"""
        return float(self.lines.loc[~self.lines["theirs"], "amount"].sum())

    @property
    def sources(self) -> float:
        """What the sources still pay: fees, and disposal of what is left. [money/yr]"""
        return float(self.lines.loc[self.lines["theirs"], "amount"].sum())

    @property
    def a_tonne(self) -> float:
        """Net cost to the programme of a tonne collected, not rounded. [money/t]"""
        exact = self.result.summary["cost_per_t_collected"]
        return math.nan if exact is None else float(exact)

    @property
    def collected(self) -> float:
        """Feedstock collected. [t/yr]"""
        return float(self.year["collected"].sum())

    @property
    def arises(self) -> float:
        """Feedstock that arises. [t/yr]"""
        return float(self.year.to_numpy().sum())

    @property
    def word(self) -> str:
        """What a period is called: month where there are twelve."""
        return "month" if len(self.periods) == 12 else "period"


def facts(result: Result) -> Facts:
    """Round the totals of a plan."""
    sources = result.scenario.tables["sources"]
    of_source = dict(zip(sources["source"], sources["material"], strict=True))
    table = collection(result)
    table = table.assign(material=table["source"].map(of_source))
    exact = table.groupby("material")[["supply", "collected", "uncollected"]].sum()
    used = set(of_source.values())
    order = result.scenario.tables["materials"]["material"].astype(str)
    materials = [code for code in order if code in used]
    exact = exact.reindex(materials).fillna(0.0)
    lost = exact["supply"] - exact["collected"] - exact["uncollected"]
    digits = digits_for(exact["supply"].sum())
    parts = pd.DataFrame(
        {
            "collected": exact["collected"],
            "left": exact["uncollected"],
            "lost": lost.where(lost.abs() > 1e-6, 0.0),
        },
        index=materials,
    )
    totals = parts.sum().round(digits)
    rest = "lost" if totals["lost"] else "left"
    totals[rest] += round(float(exact["supply"].sum()), digits) - totals.sum()
    year = spread(parts, digits, totals)
    lines = result.ledger.groupby(["account", "line"], sort=False)["amount"]
    money = lines.sum().reset_index()
    money["theirs"] = of_sources(money, result.scenario)
    unit = _unit(result, money["amount"])
    money["amount"] = _rounded(money, unit.rounding)
    asked = demand_met(result)
    unmet = (asked["demand"] - asked["tonnes"]).clip(lower=0).sum()
    return Facts(
        result=result,
        currency=result.scenario.settings.currency,
        periods=period_order(result),
        period_name=names(result, "period"),
        material_name=names(result, "material"),
        colour=colours(result),
        look=looks(result),
        digits=digits,
        unit=unit,
        materials=materials,
        year=year,
        made=round(float(result.plan.compost["made_t"].sum()), digits),
        delivered=round(float(result.plan.deliveries["tonnes"].sum()), digits),
        unmet=round(float(unmet), digits),
        lines=money,
        lineage=register(result),
    )


def _rounded(money: pd.DataFrame, digits: int) -> pd.Series:
    """
    Round the lines so that both the net cost and the programme's own are right.

    What is lost in rounding the two falls on what the sources pay.
    """
    exact, theirs = money["amount"], money["theirs"]
    own = round(float(exact[~theirs].sum()), digits)
    rest = round(float(exact.sum()), digits) - own
    found = pd.Series(apportion(exact[~theirs], digits, own), exact.index[~theirs])
    if theirs.any():
        other = apportion(exact[theirs], digits, rest)
        found = pd.concat([found, pd.Series(other, exact.index[theirs])])
    return found.reindex(exact.index)


def _unit(result: Result, amounts: pd.Series) -> MoneyUnit:
    """Choose what the report counts money in: by all costs, or the capital."""
    currency = plain(result.scenario.settings.currency)
    digits = digits_for(amounts.abs().sum())
    costs = float(amounts[amounts > 0].sum())
    needed = float(_capital(result).to_numpy(dtype=float).sum())
    return money_unit(currency, [costs, needed], digits)


def base_material(feedstocks: pd.Series) -> pd.Series:
    """Give the material of feedstock codes; one with laboratory values names it."""
    return feedstocks.map(lambda code: str(code).partition("__")[0])


def by_period(facts: Facts, table: pd.DataFrame, by: str, value: str) -> pd.DataFrame:
    """Exact sums of a column: rows the periods in order, columns the values of `by`."""
    sums = table.pivot_table(
        index="period", columns=by, values=value, aggfunc="sum", observed=True
    )
    return sums.reindex(facts.periods).fillna(0.0)


def collected_by_period(facts: Facts) -> pd.DataFrame:
    """Exact tonnes collected: rows periods, columns materials. [t]"""
    lanes = facts.result.lanes
    taken = by_period(facts, lanes[lanes["kind"] == "in"], "material", "tonnes")
    return taken.reindex(columns=facts.materials).fillna(0.0)


def intake_by_yard(facts: Facts) -> pd.DataFrame:
    """Round what yards take in: rows yards in use, columns materials. [t/yr]"""
    lanes = facts.result.lanes
    taken = lanes[lanes["kind"] == "in"]
    sums = taken.pivot_table(
        index="destination", columns="material", values="tonnes", aggfunc="sum"
    )
    used = [str(code) for code in facts.result.plan.yards["yard"]]
    exact = sums.reindex(index=used, columns=facts.materials).fillna(0.0)
    order = exact.sum(axis=1).sort_values(ascending=False, kind="stable").index
    totals = facts.year["collected"] if used else None
    return spread(exact.loc[order], facts.digits, totals)


def capital(facts: Facts) -> pd.DataFrame:
    """Round the money to be found: rows yards in use; columns works, machines."""
    table = _capital(facts.result)
    flat = apportion(table.to_numpy(dtype=float).ravel(), facts.money_digits)
    return pd.DataFrame(
        flat.reshape(table.shape), index=table.index, columns=table.columns
    )


def _capital(result: Result) -> pd.DataFrame:
    """Find the money needed: rows yards in use; columns works, machines. [money]"""
    scenario = result.scenario
    yards = rows_by(scenario.tables["yards"], "yard")
    sizes = rows_by(scenario.tables["yard_sizes"], "size")
    discount = scenario.settings.finance.discount
    rows = {}
    for code, chosen in result.plan.yard_sizes:
        size, yard = sizes[chosen], yards[code]
        built = sizes.get(str(yard["existing_size"]))
        cost = option_annual_cost(yard, size, discount, built)
        rows[code] = {"works": cost.works, "machines": cost.machines}
    return pd.DataFrame.from_dict(rows, orient="index", columns=["works", "machines"])


def account_name(code: str) -> str:
    """Name an account."""
    return ACCOUNTS.get(code, plain(code).capitalize())


def money(facts: Facts, value: float) -> str:
    """Write money with its unit."""
    return facts.unit.said(value)
