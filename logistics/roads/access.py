"""
Where sites join the roads: the nearest point of the nearest road a truck may drive.

A road that is closed in some periods, or too weak for some trucks, leaves its sites
with a second join for these. A join may be used whenever its road may be driven: who
can reach the far road in the rains can do so in the dry season too. Nobody boards a
ferry at sea.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.roads.geometry import Access, Segments, nearest_road
from logistics.scenario import Problem

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Joins:
    """
    Joins of all sites, length j.

    Attributes
    ----------
    site
        Row of the site.
    access
        Place of the join and its distance from the site.
    nearest_km
        From each site to the nearest road that some truck may drive in some period;
        infinite if there is none. [km]
    any_km
        From each site to the nearest road of all, ferries left out. [km]
    """

    site: Integers
    access: Access
    nearest_km: Floats
    any_km: Floats


def joins(
    pieces: Segments,
    on_land: Bools,
    drivable: Iterable[Bools],
    lon: Floats,
    lat: Floats,
    limit_km: float,
) -> Joins:
    """
    Find the joins that some truck needs in some period.

    Parameters
    ----------
    pieces
        Pieces of road.
    on_land
        Whether a road is no ferry, one a road.
    drivable
        For each state of the roads, whether a road may be driven.
    lon, lat
        Sites, decimal degrees.
    limit_km
        Roads further away are not joined. [km]
    """
    first = _nearest(pieces, on_land, lon, lat)
    nearest = np.full(len(lon), np.inf)
    found = []
    for state in drivable:
        allowed = on_land & state
        segment, along, km = first.segment.copy(), first.along.copy(), first.km.copy()
        lost = np.flatnonzero(~allowed[pieces.road[segment]] | np.isinf(km))
        other = _nearest(pieces, allowed, lon[lost], lat[lost])
        segment[lost], along[lost], km[lost] = other.segment, other.along, other.km
        nearest = np.minimum(nearest, km)
        near = np.flatnonzero(km <= limit_km)
        found.append(np.column_stack([near, segment[near], along[near], km[near]]))
    none = np.empty((0, 4))
    site, segment, along, km = np.unique(np.concatenate([none, *found]), axis=0).T
    access = Access(segment.astype(np.int64), along, km)
    return Joins(site.astype(np.int64), access, nearest, first.km)


def _nearest(pieces: Segments, allowed: Bools, lon: Floats, lat: Floats) -> Access:
    """As `nearest_road`, but infinitely far where no road is allowed."""
    chosen = allowed[pieces.road]
    if chosen.any() and len(lon):
        return nearest_road(pieces, chosen, lon, lat)
    nothing = np.zeros(len(lon))
    return Access(nothing.astype(np.int64), nothing, nothing + np.inf)


def far_sites(places: pd.DataFrame, found: Joins, limit_km: float) -> list[Problem]:
    """
    Name the sites that nobody can reach at all.

    Parameters
    ----------
    places
        Sites: site ("kind:code"), table, row, lon.
    found
        Their joins.
    limit_km
        travel.access_limit_km. [km]
    """
    problems = []
    rows = places[["site", "table", "row", "lon"]].itertuples(index=False, name=None)
    for (site, table, row, lon), km, any_km in zip(
        rows, found.nearest_km, found.any_km, strict=True
    ):
        if km <= limit_km:
            continue
        road = "road" if km == any_km else "road open to any truck at any time"
        where = f"{km:.1f} km from the nearest {road}"
        if np.isinf(km):
            where = f"where no {road} leads"
        problems.append(
            Problem(
                file=f"{table}.csv",
                row=int(row) + 2,
                column="lon",
                value=float(lon),
                why=f"puts {site.replace(':', ' ')} {where}; "
                f"travel.access_limit_km is {limit_km:g}",
                remedy="Correct lon and lat, draw the missing road in roads, "
                "or raise travel.access_limit_km",
            )
        )
    return problems
