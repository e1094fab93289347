"""What page, workbook and tables say of a way, reckoned once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts import (
    against_nothing,
    cash_short,
    discounted_payback,
    district_worth,
    district_years,
    payback,
    present_value,
    rates_of_return,
    years_cash,
)
from logistics.rounds import fleet_by_period
from maps.shared import MoneyUnit, money_unit, names_of

if TYPE_CHECKING:
    from logistics.years import WayAhead

MONEY = ["capital", "recurrent", "income", "net", "cumulative", "capital_limit"]


@dataclass(frozen=True)
class Stand:
    """A yard in a year: its size, and whether it works; blank where there is none."""

    size: str
    works: bool


@dataclass(frozen=True, eq=False)
class WayFacts:
    """
    Figures of a way.

    Attributes
    ----------
    way
        The way itself.
    cash, short, flow
        See `years_cash`, `cash_short` and `against_nothing`.
    districts, worth
        See `district_years` and `district_worth`.
    tonnes
        year, arises, collected, compost; early: of the compost, what is ripe only in
        the year after, where a yard is new [t/yr].
    trucks
        year, owned, own, hired: own trucks, and those busy, own and hired, in the
        period that keeps most busy [trucks].
    by_yard
        Tonnes that each yard takes in, one row a year, one column a yard. [t/yr]
    stands
        By yard: year -> its size and whether it works; only yards that ever stand.
    yard, size, district
        Names by code.
    unit
        What the page counts money in.
    """

    way: WayAhead
    cash: pd.DataFrame
    short: pd.DataFrame
    flow: pd.DataFrame
    districts: pd.DataFrame
    worth: pd.DataFrame
    tonnes: pd.DataFrame
    trucks: pd.DataFrame
    by_yard: pd.DataFrame
    stands: Mapping[str, Mapping[int, Stand]]
    yard: Mapping[str, str]
    size: Mapping[str, str]
    district: Mapping[str, str]
    unit: MoneyUnit

    @property
    def discount(self) -> float:
        """Real. [1/yr]"""
        return float(self.way.scenario.settings.finance.discount)

    def present(self, who: str) -> float:
        """Present value of a column of `flow`. [money]"""
        return present_value(self.flow[who].tolist(), self.discount)

    def rates(self, who: str) -> tuple[float, ...]:
        """Rates of return of a column of `flow`. [1/yr]"""
        return rates_of_return(self.flow[who].tolist())

    def paid_back(self, who: str, *, discounted: bool = False) -> float | None:
        """Years after the first beginning until a column of `flow` is paid back."""
        flow = self.flow[who].tolist()
        return discounted_payback(flow, self.discount) if discounted else payback(flow)


def way_facts(way: WayAhead) -> WayFacts:
    """Reckon what is shown of a way."""
    scenario = way.scenario
    cash = years_cash(way.money, scenario.table("loans"))
    by_yard = _by_yard(way)
    districts = district_years(way.money, way.steps, way.results)
    return WayFacts(
        way=way,
        cash=cash,
        short=cash_short(cash),
        flow=against_nothing(cash, way.results),
        districts=districts,
        worth=district_worth(districts, float(scenario.settings.finance.discount)),
        tonnes=_tonnes(way, by_yard),
        trucks=_trucks(way),
        by_yard=by_yard,
        stands=_stands(way),
        yard=names_of(scenario, "yard"),
        size=names_of(scenario, "size"),
        district=names_of(scenario, "district"),
        unit=money_unit(scenario.settings.currency, cash[MONEY].to_numpy().ravel()),
    )


def _by_yard(way: WayAhead) -> pd.DataFrame:
    """Tonnes that each yard takes in. [t/yr]"""
    found = {}
    for year, result in zip(way.years, way.results, strict=True):
        lanes = result.driven
        found[year] = (
            lanes[lanes["kind"] == "in"].groupby("destination")["tonnes"].sum()
        )
    return pd.DataFrame(found).T.reindex(list(way.years)).fillna(0.0)


def _tonnes(way: WayAhead, by_yard: pd.DataFrame) -> pd.DataFrame:
    """Sum the tonnes of each year up."""
    from logistics.years import early_compost

    return pd.DataFrame(
        {
            "year": list(way.years),
            "arises": [float(r.supply["tonnes_per_year"].sum()) for r in way.results],
            "collected": by_yard.sum(axis=1).tolist(),
            "compost": [float(r.plan.compost["made_t"].sum()) for r in way.results],
            "early": early_compost(way),
        }
    )


def _trucks(way: WayAhead) -> pd.DataFrame:
    """Count trucks in the period of each year that keeps most of them busy."""
    rows = []
    for year, result in zip(way.years, way.results, strict=True):
        table = fleet_by_period(result)
        busy = table.groupby("period", sort=False)[["own_used", "hired_used"]].sum()
        own, hired = max(busy.to_numpy(dtype=float).tolist(), key=sum)
        owned = int(result.scenario.trucks["owned"].sum())
        rows.append((year, owned, own, hired))
    return pd.DataFrame(rows, columns=["year", "owned", "own", "hired"])


def _stands(way: WayAhead) -> dict[str, dict[int, Stand]]:
    """Follow every yard through the years: its plan says what works, steps the rest."""
    yards = way.scenario.yards
    now = dict(zip(yards["yard"], yards["existing_size"], strict=True))
    found: dict[str, dict[int, Stand]] = {}
    for year, result in zip(way.years, way.results, strict=True):
        steps = way.steps[way.steps["year"] == year]
        for yard, step, size in steps[["yard", "step", "size"]].itertuples(index=False):
            now[yard] = "" if step == "closes" else size
        works = dict(result.plan.yard_sizes)
        for yard, size in now.items():
            if size:
                found.setdefault(str(yard), {})[year] = Stand(str(size), yard in works)
    return found
