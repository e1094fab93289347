"""What the map adds about sites: travel time to a yard, and worth of a tonne more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from maps.geo.map_pack import signs
from maps.shared import names, period_order

if TYPE_CHECKING:
    from logistics.results import Result

STEP_MINUTES = 5
"""Travel times are rounded up to this many minutes."""
LONGEST = 44
"""Steps from which on a time is only called long, so that each takes one sign."""
MOST_TIMES = 60_000
"""Times kept; a larger plan keeps the slowest state of the roads alone."""
WORTH_UNIT = {
    "cost": ("{currency} saved", "{currency} lost"),
    "uncollected": ("t more", "t less"),
    "co2e": ("kg CO2e saved", "kg CO2e more"),
}
"""By goal: what a tonne more is worth, and what it is called where it is a loss."""


def reach(result: Result) -> dict[str, Any] | None:
    """
    Driving time from every source to every yard in use, one way, without loading.

    Returns
    -------
    dict or None
        truck it holds for (the first of the table); yards in use; ``states``: for each
        state of the roads one text of signs a yard, a sign a source: 0 out of reach,
        else steps of `STEP_MINUTES`; ``of``: the state of each period. None if travel
        is not known.
    """
    travel, trucks = result.travel, result.scenario.tables["trucks"]
    if not hasattr(travel, "pick") or trucks.empty:
        return None
    truck = str(trucks["truck"].iloc[0])
    yards = [str(code) for code in result.plan.yards["yard"]]
    sources = [str(code) for code in result.scenario.tables["sources"]["source"]]
    start, end = travel.index("source", sources), travel.index("yard", yards)
    of = [travel.state_of[truck, period] for period in period_order(result)]
    kept = list(dict.fromkeys(of))
    hours = {state: travel.states[state].hours[np.ix_(start, end)] for state in kept}
    if len(kept) * len(yards) * len(sources) > MOST_TIMES:
        slowest = np.maximum.reduce([hours[state] for state in kept])
        hours, kept, of = {0: np.asarray(slowest)}, [0], [0] * len(of)
    return {
        "truck": names(result, "truck")[truck],
        "step": STEP_MINUTES,
        "longest": LONGEST,
        "yards": yards,
        "states": [[signs(_steps(column)) for column in hours[s].T] for s in kept],
        "of": [kept.index(state) for state in of],
    }


def _steps(hours: Any) -> list[int]:
    """Hours as steps from 1 on, rounded up; 0 where no way leads."""
    steps = np.ceil(np.round(hours * 60 / STEP_MINUTES, 6)).clip(1, LONGEST)
    return [int(x) for x in np.where(np.isfinite(hours), steps, 0)]


def worth(result: Result, kind: str, codes: list[str]) -> dict[str, list[float]]:
    """
    Say what one tonne more at a site would save, by period. [goal/t]

    Parameters
    ----------
    kind
        ``supply`` for sources or ``demand`` for markets.
    codes
        Sites wanted; each gets a list, 0 where a tonne more changes nothing.
    """
    table = result.plan.worth
    table = table[table["kind"] == kind]
    value = table.groupby(["where", "when"])["value"].sum()
    known = {(str(w), str(p)): float(v) for (w, p), v in value.items()}  # type: ignore
    return {
        code: [round(known.get((code, p), 0.0), 3) for p in period_order(result)]
        for code in codes
    }


def worth_units(result: Result) -> tuple[str, str]:
    """Name the unit of the worth of a tonne more, as a gain and as a loss."""
    settings = result.scenario.settings
    gain, loss = WORTH_UNIT[settings.goal.minimise]
    currency = settings.currency
    return gain.format(currency=currency), loss.format(currency=currency)
