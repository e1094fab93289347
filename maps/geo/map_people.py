"""Who lives near the open yards, for the map: heads by distance, and the places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.accounts import heads_within
from logistics.land import peopled_places

if TYPE_CHECKING:
    from logistics.results import Result

MOST_YARDS = 30
"""Open yards up to which the map shows people: it has to stay small."""


def people_by_yard(result: Result) -> dict[str, dict[str, object]]:
    """
    Count who lives near each open yard; nothing where that is not known, or too much.

    Returns
    -------
    dict
        people: homes, the lat, lon, heads and name of every place within the last
        distance of an open yard; near, yard -> distance [m] and heads within it, for
        each distance, and which homes are within the last.
    """
    found, wanted = peopled_places(result.scenario), result.scenario.settings.people
    if not len(found) or len(result.plan.yards) > MOST_YARDS:
        return {}
    heads = found.table["heads"].to_numpy(dtype=float)
    metres = dict(zip(result.scenario.yards["yard"], found.metres.T, strict=True))
    limits = (wanted.near_m, wanted.middle_m, wanted.far_m)
    used = list(map(str, result.plan.yards["yard"]))
    close = {yard: metres[yard] <= wanted.far_m for yard in used}
    shown = np.flatnonzero(
        np.any([*close.values(), np.zeros(len(heads), bool)], axis=0)
    )
    columns = (found.table.iloc[shown][c] for c in ("lat", "lon", "name", "place"))
    homes = [
        [round(lat, 4), round(lon, 4), round(float(heads[at])), str(name or place)]
        for at, lat, lon, name, place in zip(shown, *columns, strict=True)
    ]
    near = {
        yard: [
            [[x, round(heads_within(heads, metres[yard], x))] for x in limits],
            np.flatnonzero(close[yard][shown]).tolist(),
        ]
        for yard in used
    }
    return {"people": {"homes": homes, "near": near}}
