"""What a map says of each site: its district, the nearest village, the nearest road."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Geod

from logistics.roads import sites

if TYPE_CHECKING:
    from logistics.land import Plane
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]

EARTH = Geod(ellps="WGS84")


def inside_which(lon: Floats, lat: Floats, outlines: pd.DataFrame) -> list[str]:
    """
    Name the outline that each place lies in.

    Parameters
    ----------
    lon, lat
        Places, shape (n,). [degrees]
    outlines
        name, shape [degrees]. Of outlines inside each other the smallest counts.

    Returns
    -------
    list of str
        Blank where a place lies in none.
    """
    found = np.full(len(lon), "", dtype=object)
    shapes = outlines["shape"].to_numpy(dtype=object)
    names = outlines["name"].to_numpy(dtype=object)
    for n in np.argsort(-shapely.area(shapes)) if len(shapes) else ():
        found[shapely.intersects_xy(shapes[n], lon, lat)] = names[n]
    return [str(name) for name in found]


def nearest_place(
    lon: Floats, lat: Floats, places: pd.DataFrame
) -> tuple[list[str], Floats]:
    """
    Return the nearest town or village of each place, and how far it is. [km]

    Parameters
    ----------
    lon, lat
        Places, shape (n,). [degrees]
    places
        name, lon, lat; those without a name are left out.

    Returns
    -------
    tuple
        Names; distances over the ellipsoid, infinite if there are none. [km]
    """
    named = places[places["name"] != ""]
    if named.empty or not len(lon):
        return [""] * len(lon), np.full(len(lon), np.inf)
    x, y = (named[c].to_numpy(dtype=float) for c in ("lon", "lat"))
    names, km = [], np.zeros(len(lon))
    for n, (one, other) in enumerate(zip(lon, lat, strict=True)):
        whole = np.full(len(x), 1.0)
        metres = np.asarray(EARTH.inv(one * whole, other * whole, x, y)[2])
        names.append(str(named["name"].iloc[int(metres.argmin())]))
        km[n] = metres.min() / 1000
    return names, km


def nearest_road(
    lon: Floats, lat: Floats, roads: pd.DataFrame, plane: Plane
) -> pd.DataFrame:
    """
    Snap places to the nearest road, ferries left out.

    Parameters
    ----------
    lon, lat
        Places, shape (n,). [degrees]
    roads
        Table roads.
    plane
        About the places.

    Returns
    -------
    DataFrame
        road (code, blank if there are none), road_m (over the ellipsoid) [m], road_lon,
        road_lat (the nearest point of the road) [degrees]; one row a place.
    """
    driven = roads[roads["class"] != "ferry"]
    none = np.full(len(lon), np.nan)
    if driven.empty or not len(lon):
        return pd.DataFrame(
            {"road": "", "road_m": none, "road_lon": none, "road_lat": none},
            index=range(len(lon)),
        )
    lines = plane.lay(shapely.from_wkt(driven["wkt"].to_numpy(dtype=object)))
    points = np.asarray(shapely.points(*plane.xy(lon, lat)), dtype=object)
    near = shapely.STRtree(lines).query_nearest(points, all_matches=False)[1]
    way = shapely.shortest_line(points, lines[near])
    end = shapely.get_coordinates(shapely.get_point(way, -1))
    at_lon, at_lat = plane.degrees(*end.T)
    metres = np.asarray(EARTH.inv(lon, lat, at_lon, at_lat)[2], dtype=float)
    return pd.DataFrame(
        {
            "road": driven["road"].to_numpy()[near],
            "road_m": metres,
            "road_lon": at_lon,
            "road_lat": at_lat,
        }
    )


def site_facts(
    scenario: Scenario,
    roads: pd.DataFrame,
    places: pd.DataFrame,
    outlines: pd.DataFrame,
    plane: Any,
) -> pd.DataFrame:
    """
    Say of each source, yard and market where it lies.

    Parameters
    ----------
    scenario
        Its sites.
    roads, places, outlines, plane
        See `nearest_road`, `nearest_place` and `inside_which`.

    Returns
    -------
    DataFrame
        table, code, lon, lat, district_outline, place, place_km [km], road, road_m [m],
        road_lon, road_lat.
    """
    all_sites = sites(scenario)
    lon, lat = (all_sites[c].to_numpy(dtype=float) for c in ("lon", "lat"))
    names, km = nearest_place(lon, lat, places)
    table = pd.DataFrame(
        {
            "table": all_sites["table"].to_numpy(),
            "code": [str(site).partition(":")[2] for site in all_sites["site"]],
            "lon": lon,
            "lat": lat,
            "district_outline": inside_which(lon, lat, outlines),
            "place": names,
            "place_km": km,
        }
    )
    return pd.concat([table, nearest_road(lon, lat, roads, plane)], axis=1)
