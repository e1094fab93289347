"""Who lives near the open yards, for the map: heads by distance, and the places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.accounts import heads_within
from logistics.land import peopled_places

if TYPE_CHECKING:
    from logistics.results import Result


def people_by_yard(
    result: Result,
) -> dict[str, dict[str, dict[str, list[list[object]]]]]:
    """
    Count who lives near each open yard; no yards where nobody is known.

    Returns
    -------
    dict
        people: yard -> near: distance [m] and heads within it, for each distance;
        homes: lat, lon, heads and name of every place within the last distance.
    """
    found, wanted = peopled_places(result.scenario), result.scenario.settings.people
    if not len(found):
        return {}
    heads = found.table["heads"].to_numpy(dtype=float)
    metres = dict(zip(result.scenario.yards["yard"], found.metres.T, strict=True))
    limits = (wanted.near_m, wanted.middle_m, wanted.far_m)
    known: dict[str, dict[str, list[list[object]]]] = {}
    for yard in map(str, result.plan.yards["yard"]):
        within = found.table[metres[yard] <= wanted.far_m]
        known[yard] = {
            "near": [[x, heads_within(heads, metres[yard], x)] for x in limits],
            "homes": [
                [round(lat, 5), round(lon, 5), float(count), str(name or place)]
                for lat, lon, count, name, place in zip(
                    *(within[c] for c in ("lat", "lon", "heads", "name", "place")),
                    strict=True,
                )
            ],
        }
    return {"people": known}
