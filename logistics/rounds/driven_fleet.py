"""Trucks that the rounds of a period send out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds.driving import Driven


def fleet_driven(result: Result, driven: Driven) -> pd.DataFrame:
    """
    Count the trucks that the rounds of a period send out.

    Returns
    -------
    DataFrame
        One row a truck type, own or hired, and yard, and one a type for all yards
        (yard ""): truck, whose ("owned", "hired"), yard, most (out on one day), mean
        (a working day), truck_days, trips_day (trips of a truck and day), hours [h],
        use (share of their working time that the trucks sent out are out; for own
        trucks of all yards: of the working time of all that are owned), km.
    """
    from logistics.rounds.tables import tours

    table = tours(driven)
    day = result.scenario.settings.work.hours_per_day
    periods = rows_by(result.scenario.periods, "period")
    days = max(1, round(float(periods[driven.period]["working_days"])))
    trucks = rows_by(result.scenario.trucks, "truck")
    rows: list[tuple[object, ...]] = []
    for (code, whose), some in table.groupby(["type", "whose"], sort=True):
        owned = float(trucks[str(code)]["owned"]) if whose == "owned" else 0.0
        for place, here in [("", some), *some.groupby("yard", sort=True)]:
            out = here.groupby("day").size()
            count = len(here)
            room = owned * days if not place and owned else count
            rows.append(
                (
                    code,
                    whose,
                    place,
                    int(out.max()),
                    count / days,
                    count,
                    float(here["trips"].sum()) / count,
                    float(here["hours"].sum()),
                    float(here["hours"].sum()) / (room * day),
                    float(here["km"].sum()),
                )
            )
    columns = ["truck", "whose", "yard", "most", "mean", "truck_days", "trips_day"]
    return pd.DataFrame(rows, columns=[*columns, "hours", "use", "km"])
