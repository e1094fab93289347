"""Towns and villages: those of the table places, and those drawn in land."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import shapely

if TYPE_CHECKING:
    from logistics.scenario import Scenario

RANKS = ("city", "town", "suburb", "village", "hamlet")
"""Ranks of places, the weightiest first."""


def with_places(scenario: Scenario) -> pd.DataFrame:
    """
    Return the table land with the rows of the table places as villages.

    A town or village is a point in both; as a name on a map, and for the siting rules
    about villages, it makes no difference which table it stands in.

    Returns
    -------
    DataFrame
        Columns of land; places come last, the weightiest first.
    """
    places, land = scenario.places, scenario.land
    if places.empty:
        return land
    order = places["rank"].map({rank: n for n, rank in enumerate(RANKS)})
    some = places.iloc[order.to_numpy().argsort(kind="stable")]
    points = shapely.points(some["lon"].to_numpy(float), some["lat"].to_numpy(float))
    more = pd.DataFrame(
        {
            "land": some["place"].to_numpy(),
            "name": some["name"].to_numpy(),
            "kind": "village",
            "wkt": shapely.to_wkt(points, rounding_precision=7),
        }
    )
    return pd.concat([land, more], ignore_index=True) if len(land) else more
