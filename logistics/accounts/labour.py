"""
Hours of work by yard and period: on the yard by hand or with a loader, and driving.

What a yard needs lies between the two columns: all by hand, or a loader with helpers.
Neither is local; put your own figures into the table factors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import factor_value

if TYPE_CHECKING:
    from logistics.results import Result


def work_table(result: Result) -> pd.DataFrame:
    """
    Count the hours and the people they keep busy.

    Returns
    -------
    DataFrame
        One row a yard and period with work: yard, period, charge_t [t], hand_h and
        loader_h (on the yard), truck_h (driving, loading, unloading; one crew) [h],
        hand_people, loader_people, crews (hours over the hours of the period's
        working days), truck_h_week [h/week], peak (yes in the yard's busiest period).

    Notes
    -----
    Within a period work is taken as even; a week in which much arrives at once is
    busier. A crew is whoever `trucks.crew_cost_per_hour` pays for.
    """
    scenario, lanes = result.scenario, result.driven
    at = lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    driven = lanes.groupby([at.rename("yard"), "period"], observed=True)["hours"].sum()
    charged = result.plan.charges.groupby(["yard", "period"], observed=True)["tonnes"]
    table = pd.DataFrame({"charge_t": charged.sum(), "truck_h": driven}).fillna(0.0)
    table = table.rename_axis(["yard", "period"]).reset_index()
    for way in ("hand", "loader"):
        each = factor_value(scenario.factors, f"yard_{way}_h_per_t")
        table[f"{way}_h"] = table["charge_t"] * each
    periods = scenario.periods.set_index("period")
    day = scenario.settings.work.hours_per_day
    room = table["period"].map(periods["working_days"]).astype(float) * day
    for people, hours in (
        ("hand_people", "hand_h"),
        ("loader_people", "loader_h"),
        ("crews", "truck_h"),
    ):
        table[people] = table[hours] / room
    weeks = table["period"].map(periods["days"]).astype(float) / 7
    table["truck_h_week"] = table["truck_h"] / weeks
    busy = table["hand_h"] + table["truck_h"]
    table["peak"] = busy == busy.groupby(table["yard"]).transform("max")
    order = {code: n for n, code in enumerate(scenario.periods["period"])}
    rank = table["period"].map(order)
    table = table.assign(rank=rank).sort_values(["yard", "rank"], kind="stable")
    columns = ["yard", "period", "charge_t", "hand_h", "loader_h", "truck_h"]
    columns += ["hand_people", "loader_people", "crews", "truck_h_week", "peak"]
    return table[columns].reset_index(drop=True)
