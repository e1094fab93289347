"""The money of a plan, counted afresh from its tonnes, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

import pandas as pd

from logistics.costs import hire_rate, option_annual_cost
from logistics.results.plan_amounts import TOLERANCE
from logistics.scenario import period_prices, records, rows_by, totals

if TYPE_CHECKING:
    from logistics.model import Plan
    from logistics.scenario import Scenario

Entry = tuple[str, str, str, str, float, str, float]
COLUMNS = [
    "account",
    "line",
    "place",
    "period",
    "quantity",
    "unit",
    "amount",
]


def ledger(
    scenario: Scenario,
    plan: Plan,
    lanes: pd.DataFrame,
    paired_trips: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """
    Count the money of a plan without its objective.

    Parameters
    ----------
    scenario, plan
        Prices and tonnes.
    lanes
        Trips and their money, see `haulage.lane_table`.
    paired_trips
        What paired trips save, see `haulage.paired_trip_table`.

    Returns
    -------
    DataFrame
        account, line, place (code), period ("year" where it is not monthly),
        quantity, unit, rate [money/unit], amount [money/yr]; above 0 is cost,
        below 0 is income. The amounts add up to the net annual cost of the programme
        and its sources together; `of_sources` marks what the sources pay.
    """
    entries = [
        *_yards(scenario, plan),
        *_handling(scenario, plan),
        *_haulage(lanes),
        *(() if paired_trips is None else _pairing(paired_trips)),
        *_fleet(scenario, plan),
        *_sources(scenario, plan),
        *_compost(scenario, plan),
    ]
    table = pd.DataFrame(entries, columns=COLUMNS)
    table = table.astype({"quantity": "float64", "amount": "float64"})
    table = table[table["amount"] != 0].reset_index(drop=True)
    table.insert(6, "rate", table["amount"] / table["quantity"])
    return table


def _yards(scenario: Scenario, plan: Plan) -> Iterator[Entry]:
    """Capital as annuities, rent and fixed running cost of every open yard."""
    yards, sizes = rows_by(scenario.yards, "yard"), rows_by(scenario.yard_sizes, "size")
    discount = scenario.settings.finance.discount
    for code, chosen in zip(plan.yards["yard"], plan.yards["size"], strict=True):
        yard, size = yards[code], sizes[chosen]
        cost = option_annual_cost(
            yard, size, discount, sizes.get(yard["existing_size"])
        )
        site = float(size["site_m2"])
        yield "yards", "works annuity", code, "year", 1, "year", cost.works_annuity
        yield "yards", "machine annuity", code, "year", 1, "year", cost.machine_annuity
        yield "yards", "land rent", code, "year", site, "m2", cost.land_rent
        yield "yards", "fixed running cost", code, "year", 1, "year", cost.fixed


def _handling(scenario: Scenario, plan: Plan) -> Iterator[Entry]:
    """Handle and wet every charge."""
    yards, sizes = rows_by(scenario.yards, "yard"), rows_by(scenario.yard_sizes, "size")
    size_of = dict(zip(plan.yards["yard"], plan.yards["size"], strict=True))
    turning = scenario.settings.process.turning_water_m3_per_t
    for code, period, tonnes in totals(plan.charges, ["yard", "period"]):
        each = sizes[size_of[code]]["handling_cost_per_t"]
        price = yards[code]["water_price_per_m3"]
        water = tonnes * turning
        yield "yards", "handling", code, period, tonnes, "t", tonnes * each
        yield "yards", "turning water", code, period, water, "m3", water * price
    for code, period, tonnes in plan.water.itertuples(index=False):
        price = yards[code]["water_price_per_m3"]
        yield "yards", "mixing water", code, period, tonnes, "m3", tonnes * price


def _haulage(lanes: pd.DataFrame) -> Iterator[Entry]:
    """Fuel, repair, crew and fares by yard and period, in and out apart."""
    yard = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    groups = lanes.assign(yard=yard).groupby(["kind", "yard", "period"], sort=False)
    columns = ["trips", "vehicle_km", "hours", "fuel_l"]
    sums = groups[[*columns, "fuel", "repair", "crew", "fare"]].sum().reset_index()
    lines = (
        ("fuel", "fuel_l", "L"),
        ("repair", "vehicle_km", "km"),
        ("crew", "hours", "h"),
        ("fare", "trips", "trips"),
    )
    for row in records(sums):
        account = f"haulage {row['kind']}"
        place = (row["yard"], row["period"])
        for line, quantity, unit in lines:
            yield account, line, *place, row[quantity], unit, row[line]


def _pairing(paired_trips: pd.DataFrame) -> Iterator[Entry]:
    """Fuel, repair, crew and fares that paired trips save, by yard and period."""
    lines = (
        ("fuel saved", "fuel", "fuel_l", "L"),
        ("repair saved", "repair", "km", "km"),
        ("crew saved", "crew", "hours", "h"),
        ("fare saved", "fare", "trips", "trips"),
    )
    sums = paired_trips.groupby(["yard", "period"], sort=False).sum(numeric_only=True)
    for row in records(sums.reset_index()):
        place = (row["yard"], row["period"])
        for line, money, quantity, unit in lines:
            yield "pairing", line, *place, row[quantity], unit, -row[money]


def _fleet(scenario: Scenario, plan: Plan) -> Iterator[Entry]:
    """Owned trucks for the year, hired trucks by the hour."""
    trucks = rows_by(scenario.trucks, "truck")
    day = scenario.settings.work.hours_per_day
    for code, truck in trucks.items():
        count = float(truck["owned"])
        amount = count * truck["fixed_cost_per_year"]
        yield "fleet", "owned trucks", code, "year", count, "trucks", amount
    for code, period, hours in totals(plan.hired, ["truck", "period"], "hours"):
        amount = hours * hire_rate(trucks[code], day)
        yield "fleet", "hired trucks", code, period, hours, "h", amount


def _sources(scenario: Scenario, plan: Plan) -> Iterator[Entry]:
    """
    Feedstock bought, fees, subsidies, and present disposal of what is left.

    A fee moves money from a source to the programme: the programme earns it, the
    source pays it, and the district is no richer. What a collected tonne saves the
    district is what its disposal costs today, whoever gets how much of that. A
    subsidy comes from outside of the district, and makes it richer.
    """
    sources, prices = rows_by(scenario.sources, "source"), _prices(scenario, "source")
    paid = scenario.settings.finance.subsidy_per_t
    for code, period, tonnes in totals(plan.hauls, ["source", "period"]):
        bought, fee = prices[code, period], sources[code]["tipping_fee_per_t"]
        yield "feedstock", "purchase", code, period, tonnes, "t", tonnes * bought
        yield "feedstock", "tipping fee", code, period, tonnes, "t", -tonnes * fee
        yield "feedstock", "subsidy", code, period, tonnes, "t", -tonnes * paid
        yield "sources", "fee paid", code, period, tonnes, "t", tonnes * fee
    for code, period, tonnes in plan.uncollected.itertuples(index=False):
        amount = tonnes * sources[code]["disposal_cost_per_t"]
        yield "left behind", "present disposal", code, period, tonnes, "t", amount


def _compost(scenario: Scenario, plan: Plan) -> Iterator[Entry]:
    """Sales by market, and compost that no market takes."""
    prices = _prices(scenario, "market")
    for code, period, tonnes in totals(plan.deliveries, ["market", "period"]):
        amount = -tonnes * prices[code, period]
        yield "compost", "sale", code, period, tonnes, "t", amount
    each = scenario.settings.finance.leftover_cost_per_t
    for code, period, tonnes in totals(plan.compost, ["yard", "period"], "leftover_t"):
        yield "compost", "left over", code, period, tonnes, "t", tonnes * each


def _prices(
    scenario: Scenario, key: Literal["source", "market"]
) -> dict[tuple[str, str], float]:
    """Price by place and period. [money/t]"""
    table: Literal["sources", "markets"] = "sources" if key == "source" else "markets"
    found = period_prices(scenario, table)
    places = [str(code) for code in scenario.table(table)[key]]
    periods = [str(code) for code in scenario.periods["period"]]
    return {
        (place, period): float(found[n, t])
        for n, place in enumerate(places)
        for t, period in enumerate(periods)
    }


def entry_code(account: str, line: str) -> str:
    """
    Code of a line of the ledger in the chart of accounts.

    Examples
    --------
    >>> entry_code("haulage in", "fuel")
    'haulage_in_fuel'
    """
    return f"{account}_{line}".replace(" ", "_")


def of_sources(table: pd.DataFrame, scenario: Scenario) -> pd.Series:
    """
    Mark the rows that the sources pay; the programme pays or earns all others.

    Parameters
    ----------
    table
        account and line, as in the ledger.
    scenario
        Its chart of accounts says who pays: kind "outside" is not the programme.
    """
    kinds = scenario.accounts.set_index("entry")["kind"]
    pairs = zip(table["account"], table["line"], strict=True)
    codes = [entry_code(str(account), str(line)) for account, line in pairs]
    found = pd.Series(codes, index=table.index, dtype="str").map(kinds)
    return found.eq("outside")


SAVINGS = ("pairing", "rounds")
"""Accounts that may be below zero and are then no income: costs that are not paid."""


def money_figures(
    table: pd.DataFrame, scenario: Scenario, collected: float
) -> dict[str, float | None]:
    """
    Sum a ledger up: the net cost, whose it is, and what a tonne collected costs.

    Parameters
    ----------
    table, scenario
        The ledger; its chart of accounts says who pays.
    collected
        Feedstock collected. [t/yr]

    Returns
    -------
    dict
        total_cost (of programme and sources), programme_cost, sources_pay, gross_cost
        and income (of the programme) [money/yr]; cost_per_t_collected: programme_cost
        over the tonnes collected, None where there are none [money/t].
    """
    own = table[~of_sources(table, scenario)]
    cost, programme = net_cost(table), net_cost(own)
    earned = own.loc[~own["account"].isin(SAVINGS), "amount"].clip(upper=0)
    income = float(earned.sum())
    return {
        "total_cost": cost,
        "programme_cost": programme,
        "sources_pay": cost - programme,
        "gross_cost": programme - income,
        "income": income,
        "cost_per_t_collected": programme / collected if collected else None,
    }


def budget(table: pd.DataFrame) -> pd.DataFrame:
    """Sum the ledger by account and line: account, line, amount [money/yr]."""
    rows = totals(table, ["account", "line"], "amount")
    return pd.DataFrame(rows, columns=["account", "line", "amount"])


def agreement(table: pd.DataFrame, counted: float) -> pd.DataFrame:
    """
    Compare the ledger with the net cost counted from the instance.

    Parameters
    ----------
    table, counted
        Ledger, and the net annual cost by `audit.net_cost`. [money/yr]

    Returns
    -------
    DataFrame
        One row as those of `audit.audit`; the breach is a share of all money moved.
    """
    moved = max(1.0, float(table["amount"].abs().sum()))
    worst = abs(net_cost(table) - counted) / moved
    row = ("money in the ledger", 1, worst, TOLERANCE, worst <= TOLERANCE)
    return pd.DataFrame(
        [row], columns=["check", "rows", "worst", "tolerance", "passed"]
    )


def net_cost(table: pd.DataFrame) -> float:
    """Net annual cost: the sum of the ledger. [money/yr]"""
    return float(table["amount"].sum())
