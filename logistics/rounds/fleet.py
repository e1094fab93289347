"""
Trucks of each type: how many are busy, own or hired, where, and how well used.

The plan counts truck hours of a yard and period; rounds count the trucks that are out
on a day, which is more: a load more may call for another truck.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.costs import hire_rate
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result

SPECK_H = 1e-6


def hours_of_one(result: Result) -> dict[str, float]:
    """Hours that one truck works in every period: its day times working days. [h]"""
    day = result.scenario.settings.work.hours_per_day
    periods = rows_by(result.scenario.periods, "period")
    return {code: float(day * row["working_days"]) for code, row in periods.items()}


def fleet_by_period(result: Result) -> pd.DataFrame:
    """
    Count the trucks that the plan calls for, by type and period.

    Returns
    -------
    DataFrame
        One row a truck type and period: truck, period, hours (driven, loading and
        unloading), own_hours, hired_hours [h], owned (trucks at hand), own_used and
        hired_used (trucks busy all period, own and hired), trucks (whole trucks that
        the hours call for if any truck may serve any yard), use (share of the own
        trucks' hours used; not a number where none are owned), peak (yes in the period
        of the type's most hours).
    """
    one, trucks = hours_of_one(result), rows_by(result.scenario.trucks, "truck")
    lanes, plan = result.driven, result.plan
    hours = lanes.groupby(["truck", "period"], observed=True)["hours"].sum().to_dict()
    hired = plan.hired.groupby(["truck", "period"])["hours"].sum().to_dict()
    rows = []
    for code, truck in trucks.items():
        most = max((hours.get((code, p), 0.0) for p in one), default=0.0)
        for period, each in one.items():
            need = hours.get((code, period), 0.0)
            rent = min(need, hired.get((code, period), 0.0))
            own = need - rent
            owned = float(truck["owned"])
            rows.append(
                (
                    code,
                    period,
                    need,
                    own,
                    rent,
                    int(owned),
                    own / each,
                    rent / each,
                    ceil(need / each - 1e-6),
                    own / (owned * each) if owned > 0 else np.nan,
                    need > SPECK_H and need >= most - SPECK_H,
                )
            )
    columns = ["truck", "period", "hours", "own_hours", "hired_hours", "owned"]
    columns += ["own_used", "hired_used", "trucks", "use", "peak"]
    return pd.DataFrame(rows, columns=columns)


def fleet_by_yard(result: Result) -> pd.DataFrame:
    """
    Say at which yards trucks are busy, where own ones are based, and what is hired.

    Returns
    -------
    DataFrame
        One row a truck type and open yard that it serves or is based at: truck, yard,
        hours [h/yr], busy (trucks busy on the mean of the year's working days), most
        (the same in the yard's busiest period), most_period, based (own trucks that the
        plan has at home there), hired [h/yr].
    """
    one, lanes = hours_of_one(result), result.driven
    yard = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    grouped = lanes.assign(yard=yard).groupby(["truck", "yard", "period"])["hours"]
    table = grouped.sum().reset_index()
    stand = homes(result)
    hired = result.plan.hired.groupby(["truck", "yard"])["hours"].sum().to_dict()
    rows: list[tuple[object, ...]] = []
    for code in rows_by(result.scenario.trucks, "truck"):
        here = table[table["truck"] == code]
        shares = here.groupby("yard")["hours"].sum()
        shares = shares[shares > SPECK_H]
        for place, year in shares.items():
            some = here[here["yard"] == place]
            each = some["hours"] / some["period"].map(one)
            rows.append(
                (
                    code,
                    place,
                    year,
                    year / sum(one.values()),
                    float(each.max()),
                    str(some["period"].iloc[int(each.to_numpy().argmax())]),
                    stand[code].get(str(place), 0),
                    hired.get((code, str(place)), 0.0),
                )
            )
        for place, count in stand[code].items():
            if place not in shares.index:
                rows.append((code, place, 0.0, 0.0, 0.0, "", count, 0.0))
    columns = [
        "truck",
        "yard",
        "hours",
        "busy",
        "most",
        "most_period",
        "based",
        "hired",
    ]
    return pd.DataFrame(rows, columns=columns)


def homes(result: Result) -> dict[str, dict[str, int]]:
    """Own trucks of every type at every yard, as the plan bases them."""
    found: dict[str, dict[str, int]] = {
        code: {} for code in result.scenario.trucks["truck"]
    }
    for row in records(result.plan.bases):
        found[row["truck"]][row["yard"]] = int(row["count"])
    return found


def own_trucks_worth(result: Result) -> pd.DataFrame:
    """
    Hold the cost of one more and one less own truck against hire, type by type.

    An own truck saves its hire in every period in which as much is hired; one less is
    to be hired where all are busy. The plan's flows stay as they are, so this is a
    first answer; `fleet.decide` gives the plan's own.

    Returns
    -------
    DataFrame
        truck, owned, fixed [money/yr], one_more (saved by one more, net [money/yr]),
        one_less (saved by one less, net [money/yr]).
    """
    one, table = hours_of_one(result), fleet_by_period(result)
    day = result.scenario.settings.work.hours_per_day
    rows = []
    for code, truck in rows_by(result.scenario.trucks, "truck").items():
        here = records(table[table["truck"] == code])
        rate, fixed = hire_rate(truck, day), float(truck["fixed_cost_per_year"])
        more = sum(min(row["hired_hours"], one[row["period"]]) for row in here)
        idle = [row["owned"] * one[row["period"]] - row["own_hours"] for row in here]
        less = sum(
            max(0.0, one[row["period"]] - spare)
            for row, spare in zip(here, idle, strict=True)
        )
        owned = int(truck["owned"])
        saved = fixed - rate * less if owned else np.nan
        rows.append((code, owned, fixed, rate * more - fixed, saved))
    return pd.DataFrame(
        rows, columns=["truck", "owned", "fixed", "one_more", "one_less"]
    )
