"""Homes as a screen shows them: many small ones become few shapes, for drawing only."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely

from logistics.ground.thinning import merged_homes, thinned
from logistics.land import Plane

MOST_POINTS = 4_000
"""Corners of homes up to which all are drawn as they are."""
GAP_M, DETAIL_M = 40.0, 30.0
"""Half the gap between homes that is closed, and the detail kept. [m]"""
MOST_GROUPS = 400
"""Groups of homes that are drawn, the largest."""


def for_a_screen(land: pd.DataFrame) -> pd.DataFrame:
    """
    Return the table land with homes joined to groups, if there are very many.

    A map of thousands of houses is a large file in which none can be seen. The table
    itself, and all rules, keep every home.

    Parameters
    ----------
    land
        name, kind, wkt.

    Returns
    -------
    DataFrame
        The same table, or one with other rows of the kind `dwellings`.
    """
    homes = land["kind"] == "dwellings"
    shapes = shapely.from_wkt(land.loc[homes, "wkt"].to_numpy(dtype=object))
    if shapely.get_num_coordinates(shapes).sum() <= MOST_POINTS:
        return land
    middle = shapely.get_coordinates(shapely.centroid(shapes))
    plane = Plane(*middle.T)
    groups = thinned(
        merged_homes(shapely.get_parts(plane.lay(shapes)), GAP_M), DETAIL_M
    )
    largest = np.argsort(-shapely.area(groups), kind="stable")[:MOST_GROUPS]
    drawn = shapely.transform(groups[largest], plane.degrees, interleaved=False)
    table = pd.DataFrame(
        {
            "land": [f"homes_{n}" for n in range(1, len(drawn) + 1)],
            "name": "",
            "kind": "dwellings",
            "wkt": shapely.to_wkt(drawn, rounding_precision=5),
        }
    )
    return pd.concat([land[~homes], table], ignore_index=True)
