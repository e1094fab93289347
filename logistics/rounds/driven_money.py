"""A plan's money as its rounds are driven: what the board votes is what is paid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from logistics.results import money_figures
from logistics.rounds.tables import hire_per_hour, tours
from logistics.scenario import in_list, totals

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds.driving import Driven


def above_plan(result: Result, driven: Sequence[Driven]) -> pd.DataFrame:
    """
    Set the cost of rounds beside the plan's own, by yard and period.

    Returns
    -------
    DataFrame
        yard, period, truck_days, planned, driven [money]: fuel, repair, crew, fares
        and hire. The standing cost of own trucks is in neither.
    """
    rows = []
    for one in driven:
        lanes = result.driven[result.driven["period"] == one.period]
        hire = lanes["hours"] * lanes["truck"].map(hire_per_hour(result, one.period))
        yard = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
        planned = (lanes["money"] + hire).groupby(yard).sum()
        done = tours(one).groupby("yard")["money"].agg(["sum", "size"])
        for code in sorted(set(planned.index) | set(done.index)):
            paid, days = done.loc[code] if code in done.index else (0.0, 0)
            rows.append((code, one.period, days, planned.get(code, 0.0), paid))
    columns = ["yard", "period", "truck_days", "planned", "driven"]
    table = pd.DataFrame(rows, columns=columns)
    return table.astype({"truck_days": float, "planned": float, "driven": float})


def as_driven(result: Result, driven: Sequence[Driven]) -> Result:
    """
    Put what rounds cost above the plan into its ledger, and into its key figures.

    Parameters
    ----------
    result
        A plan.
    driven
        All of its periods, driven.

    Returns
    -------
    Result
        The same plan. Its ledger has a line "above plan" of the account "rounds" for
        every yard and period (below zero where driving is cheaper), and the present
        disposal of feedstock that no truck could fetch; its sum is the year's net
        cost as driven.
    """
    missing = set(result.scenario.periods["period"]) - {one.period for one in driven}
    if missing:
        message = f"periods not driven: {in_list(sorted(missing))}"
        raise ValueError(message)
    table = above_plan(result, driven)
    entries: list[tuple[object, ...]] = [
        ("rounds", "above plan", yard, period, days, "truck-days", paid - planned)
        for yard, period, days, planned, paid in table.itertuples(index=False)
        if paid != planned
    ]
    cost = result.scenario.sources.set_index("source")["disposal_cost_per_t"]
    for one in driven:
        left = one.left[one.left["kind"] == "in"]
        for place, tonnes in totals(left, ["place"], "tonnes"):
            money = tonnes * float(cost[place])
            row = ("left behind", "present disposal", place, one.period, tonnes, "t")
            if money:
                entries.append((*row, money))
    columns = [name for name in result.ledger.columns if name != "rate"]
    more = pd.DataFrame(entries, columns=columns)
    more = more.astype({"quantity": "float64", "amount": "float64"})
    known = more["quantity"].where(more["quantity"] > 0)
    more.insert(6, "rate", more["amount"] / known)
    ledger = result.ledger
    if entries:
        ledger = pd.concat([ledger, more], ignore_index=True)
    haul = float(table["driven"].sum() - table["planned"].sum())
    months = table.groupby("period")[["planned", "driven"]].sum()
    months = months[months["planned"] > 0]
    shares = months["driven"] / months["planned"] - 1
    collected = result.summary["collected_t"]["all"]
    summary = {
        **result.summary,
        **money_figures(ledger, result.scenario, collected),
        "haul_cost": result.summary["haul_cost"] + haul,
        "rounds_above_plan": haul,
        "rounds_share": {
            "year": haul / max(float(months["planned"].sum()), 1e-9),
            "least": float(shares.min()) if len(shares) else 0.0,
            "most": float(shares.max()) if len(shares) else 0.0,
        },
        "rounds_left_t": float(sum(one.left["tonnes"].sum() for one in driven)),
    }
    return replace(result, ledger=ledger, summary=summary)


def haulage_by_period(result: Result) -> pd.DataFrame:
    """
    Set haulage as estimated beside haulage as driven, for a plan of `as_driven`.

    Returns
    -------
    DataFrame
        period, estimate, driven [money]: fuel, repair, crew, fares and hire; no rows
        where the rounds of the plan are not driven.
    """
    ledger = result.ledger
    if "rounds_above_plan" not in result.summary:
        return pd.DataFrame(columns=["period", "estimate", "driven"])
    trips = ledger["account"].isin(["haulage in", "haulage out", "pairing"])
    trips |= ledger["line"] == "hired trucks"
    sums = {
        "estimate": ledger[trips].groupby("period")["amount"].sum(),
        "more": ledger[ledger["account"] == "rounds"].groupby("period")["amount"].sum(),
    }
    table = pd.DataFrame(sums).fillna(0.0)
    order = [p for p in result.scenario.periods["period"] if p in table.index]
    table = table.loc[order].rename_axis("period").reset_index()
    table["driven"] = table["estimate"] + table["more"]
    return table[["period", "estimate", "driven"]]
