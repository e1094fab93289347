"""
Random districts for trying what the plan says of haulage on rounds that are driven.

Each is a small region (`benchmarks/region.py`) with its own size, roads or none, how
long its fish waste keeps, trucks, prices and loading times. The same seed gives the
same district.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "benchmarks"))

from region import KM_PER_DEGREE, region

from logistics.scenario.scenario import Scenario

KEEPS_H = (8, 12, 16, 24, 48, 72, 110, 150)
"""Hours that the fish waste of a district may keep."""
ROAD_KM = 6.0
"""Mesh of the roads drawn. [km]"""


def random_district(seed: int) -> Scenario:
    """Make the district of a seed: 10 to 30 sources, 4 to 9 candidates."""
    rng = np.random.default_rng([17, seed])
    sources = int(rng.integers(10, 31))
    made = region(sources, int(rng.integers(4, 10)), int(rng.integers(6, 16)), seed)
    tables = dict(made.tables)
    sizes = int(rng.integers(1, 3))
    tables["yard_sizes"] = made.yard_sizes.iloc[:sizes].copy()
    tables["trucks"] = _trucks(made.trucks, rng)
    materials = made.materials.copy()
    fish = materials["material"] == "fish_waste_mixed"
    materials.loc[fish, "keep_hours"] = float(rng.choice(KEEPS_H))
    tables["materials"] = materials
    farther = float(rng.uniform(0.5, 1.1))
    for name in ("sources", "yards", "markets"):
        table = tables[name].copy()
        table["lon"] = -30 + (table["lon"] + 30) * farther
        table["lat"] = table["lat"] * farther
        tables[name] = table
    east, north = (
        max(float(tables[name][c].max()) for name in ("sources", "yards", "markets"))
        for c in ("lon", "lat")
    )
    tables["sources"]["amount"] *= float(rng.uniform(0.5, 1.5))
    if rng.random() < 0.5:
        tables["roads"] = _roads(rng, east + 30, north)
    work = made.settings.work.model_copy(
        update={"hours_per_day": float(rng.choice([7, 8, 9, 10]))}
    )
    named = {"name": f"Random district {seed} (invented)", "work": work}
    return replace(made, tables=tables, settings=made.settings.model_copy(update=named))


def _trucks(trucks: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Other loads, minutes, prices and numbers of the same types."""
    table, count = trucks.copy(), len(trucks)
    for column in ("payload_t", "body_m3"):
        table[column] = np.round(table[column] * rng.uniform(0.8, 1.25, count), 2)
    for column in ("load_minutes", "unload_minutes", "wash_minutes"):
        table[column] = np.round(table[column] * rng.uniform(0.7, 1.3, count))
    for column in ("crew_cost_per_hour", "hire_cost_per_hour"):
        table[column] = np.round(table[column] * rng.uniform(0.7, 1.5), 2)
    table["owned"] = rng.integers(0, 4, count).astype(float)
    table["hire_limit"] = np.nan
    return table


def _roads(rng: np.random.Generator, east: float, north: float) -> pd.DataFrame:
    """Draw a crooked mesh of roads over the district, in degrees from -30, 0."""
    step = ROAD_KM / KM_PER_DEGREE
    nx, ny = int(np.ceil(east / step)) + 1, int(np.ceil(north / step)) + 1
    knots = np.stack(np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"), axis=-1)
    knots = (knots + rng.uniform(-0.25, 0.25, knots.shape)) * step
    rows = []
    for x in range(nx):
        for y in range(ny):
            for dx, dy in ((1, 0), (0, 1)):
                if x + dx < nx and y + dy < ny:
                    a, b = knots[x, y], knots[x + dx, y + dy]
                    line = ", ".join(f"{p[0] - 30:.5f} {p[1]:.5f}" for p in (a, b))
                    kind = "paved_main" if (x * dy + y * dx) % 3 == 0 else "gravel"
                    rows.append((f"r{x}_{y}_{dx}", kind, f"LINESTRING ({line})"))
    table = pd.DataFrame(rows, columns=["road", "class", "wkt"])
    flags = {"name": "", "bridge": False, "oneway": False, "level": 0.0}
    free = {"wait_minutes": 0.0, "fare_per_trip": 0.0}
    blank = {"speed_kmh": np.nan, "max_gross_t": np.nan}
    return table.assign(**flags, **free, **blank, closed_periods=[()] * len(table))
