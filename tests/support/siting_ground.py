"""A district about a point, laid out in metres east and north of it."""

import numpy as np
import pandas as pd
from pyproj import Geod
from support.places import SMALL

from logistics.scenario.defaults import library
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import Scenario, read_scenario
from logistics.scenario.settings import change_setting

GEOD = Geod(ellps="WGS84")
BASE = read_scenario(SMALL)
LON, LAT = -30.5, 0.5


def at(east_m, north_m, lon=LON, lat=LAT):
    """Point so many metres east and north, by two geodesics."""
    x, y, _ = GEOD.fwd(lon, lat, 90, east_m)
    x, y, _ = GEOD.fwd(x, y, 0, north_m)
    return x, y


def point(east_m, north_m, **middle):
    return "POINT ({:.9f} {:.9f})".format(*at(east_m, north_m, **middle))


def square(east_m, north_m, half_m, **middle):
    """Polygon WKT of a square about a point."""
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]
    ring = [at(east_m + a * half_m, north_m + b * half_m, **middle) for a, b in corners]
    return "POLYGON ((" + ", ".join(f"{x:.9f} {y:.9f}" for x, y in ring) + "))"


def line(*points, **middle):
    ends = [at(*p, **middle) for p in points]
    return "LINESTRING (" + ", ".join(f"{x:.9f} {y:.9f}" for x, y in ends) + ")"


def land(*rows):
    """Table land of (kind, name, wkt)."""
    kinds, names, wkts = zip(*rows, strict=True) if rows else ((), (), ())
    codes = [f"land_{k}" for k in range(len(rows))]
    columns = {"land": codes, "name": names, "kind": kinds, "wkt": wkts}
    return pd.DataFrame({k: pd.array(list(v), dtype="str") for k, v in columns.items()})


def yards(*rows, **columns):
    """Table yards of (code, lon, lat, area_m2), the rest as in the first base row."""
    first = BASE.yards.iloc[[0] * len(rows)].reset_index(drop=True)
    codes, lons, lats, areas = zip(*rows, strict=True)
    return first.assign(
        yard=list(codes), name=[f"Yard {c}" for c in codes], lon=lons, lat=lats
    ).assign(area_m2=np.array(areas, dtype=float), **columns)


def rules(**values):
    """Library rules named, with other values; all rules if none is named."""
    table = library("siting_rules").frame
    if not values:
        return table.copy()
    table = table[table["rule"].isin(values)].reset_index(drop=True)
    return table.assign(value=table["rule"].map(values).astype(float))


def district(land_table, yard_table, rule_table=None, screen="refuse") -> Scenario:
    scenario = with_table(with_table(BASE, "land", land_table), "yards", yard_table)
    if rule_table is not None:
        scenario = with_table(scenario, "siting_rules", rule_table)
    return scenario.__class__(
        scenario.path,
        change_setting(scenario.settings, "siting.screen", screen),
        scenario.tables,
        scenario.defaults_used,
    )
