"""
Invented regions of any size, for benchmarks.

    python tests/benchmarks/region.py M 1 FOLDER

writes one as a scenario folder. A region has a coast in the west and trunk roads
inland. Mills stand in clusters along the trunk roads, landings along the coast, fields,
herds and markets about villages; seasons, trucks, yards and rates are those of the demo
district Brackwater, with as many more trucks as there are more sources. There are no
roads to draw: distances are straight lines times a detour factor.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from logistics.scenario.scenario import Scenario, read_scenario, write_scenario

BRACKWATER = Path(__file__).resolve().parents[2] / "scenarios" / "brackwater"

SIZES = {
    "S": (100, 30, 60),
    "M": (300, 60, 150),
    "L": (1000, 150, 400),
    "XL": (5000, 1000, 1500),
}
"""Sources, candidate yards, markets."""

KM2_PER_SOURCE = 100.0
KM_PER_DEGREE = 111.2
SHARES = {
    "rice_husk": 0.28,
    "fish_waste_mixed": 0.17,
    "rice_straw": 0.29,
    "cattle_manure": 0.26,
}
"""Shares of the sources, about as in the demo."""


def region(sources: int, yards: int, markets: int, seed: int = 1) -> Scenario:
    """Make a region of so many sources, candidate yards and markets."""
    base = read_scenario(BRACKWATER)
    rng = np.random.default_rng([seed, sources, yards, markets])
    ground = _Ground(rng, np.sqrt(sources * KM2_PER_SOURCE))
    tables = dict(base.tables)
    for name in ("roads", "land", "siting_rules", "policy"):
        tables[name] = tables[name].iloc[:0]
    tables["sources"] = _sources(base, ground, rng, sources)
    tables["yards"] = _yards(base, ground, rng, yards)
    tables["markets"] = _markets(base, ground, rng, markets)
    more = sources / len(base.sources)
    trucks = base.trucks.copy()
    for column in ("owned", "hire_limit"):
        trucks[column] = np.ceil(trucks[column] * more)
    tables["trucks"] = trucks
    far = ground.side / KM_PER_DEGREE + 0.5
    edges = {"west": -30.5, "south": -0.5, "east": -30.0 + far, "north": far}
    district = base.settings.district.model_copy(update=edges)
    settings = base.settings.model_copy(
        update={"name": f"Region of {sources} sources (invented)", "district": district}
    )
    return replace(base, path=None, settings=settings, tables=tables)


class _Ground:
    """Where things are, in kilometres from the south-west corner."""

    def __init__(self, rng: np.random.Generator, side: float) -> None:
        self.rng, self.side = rng, side
        count = max(6, int(side**2 / 350))
        self.villages = rng.uniform(0.03, 0.97, (count, 2)) * side
        trunks = max(2, int(side / 45))
        self.trunk = (np.arange(trunks) + rng.uniform(0.3, 0.7, trunks)) * side / trunks
        clusters = max(3, int(side / 25))
        self.clusters = self.along_trunks(clusters)

    def along_trunks(self, count: int) -> np.ndarray:
        """Points near trunk roads, which run inland from the coast."""
        which = self.rng.integers(len(self.trunk), size=count)
        east = self.rng.uniform(0.08, 0.98, count) * self.side
        bend = 0.04 * self.side * np.sin(east / self.side * 7 + which)
        north = self.trunk[which] + bend + self.rng.normal(0, 1.5, count)
        return np.stack([east, north], axis=1)

    def mills(self, count: int) -> np.ndarray:
        which = self.rng.integers(len(self.clusters), size=count)
        return self.clusters[which] + self.rng.normal(0, 4, (count, 2))

    def landings(self, count: int) -> np.ndarray:
        """Places on the coast, a little denser near its middle."""
        north = self.rng.beta(1.6, 1.6, count) * self.side
        coast = 0.03 * self.side * (1 + np.sin(north / self.side * 9))
        return np.stack([coast + self.rng.exponential(1.0, count), north], axis=1)

    def about_villages(self, count: int) -> np.ndarray:
        which = self.rng.integers(len(self.villages), size=count)
        return self.villages[which] + self.rng.normal(0, 3.5, (count, 2))

    def degrees(self, km: np.ndarray) -> dict[str, np.ndarray]:
        km = np.clip(km, 0, self.side)
        return {
            "lon": np.round(-30 + km[:, 0] / KM_PER_DEGREE, 5),
            "lat": np.round(km[:, 1] / KM_PER_DEGREE, 5),
        }

    def districts(self, km: np.ndarray) -> list[str]:
        """Squares of about 60 km, one district each."""
        cells = np.clip(km, 0, self.side) // 60
        return [f"d{int(x)}_{int(y)}" for x, y in cells]


def _rows_like(
    table: pd.DataFrame, count: int, rng: np.random.Generator
) -> pd.DataFrame:
    """Draw rows of a table, with repetition."""
    return table.iloc[rng.integers(len(table), size=count)].reset_index(drop=True)


def _placed(
    table: pd.DataFrame, key: str, km: np.ndarray, ground: _Ground
) -> pd.DataFrame:
    codes = [f"{key}_{number:04d}" for number in range(len(table))]
    named = {key: codes, "name": [code.replace("_", " ") for code in codes]}
    there = {**ground.degrees(km), "district": ground.districts(km)}
    return table.assign(**named, **there)


def _sources(
    base: Scenario, ground: _Ground, rng: np.random.Generator, count: int
) -> pd.DataFrame:
    places = {
        "rice_husk": ground.mills,
        "fish_waste_mixed": ground.landings,
        "rice_straw": ground.about_villages,
        "cattle_manure": ground.about_villages,
    }
    shares = np.cumsum([0, *SHARES.values()])
    numbers = np.diff(np.round(shares * count).astype(int))
    parts, km = [], []
    for (material, place), number in zip(places.items(), numbers, strict=True):
        like = base.sources[base.sources["material"] == material]
        part = _rows_like(like, number, rng)
        part["amount"] = np.round(part["amount"] * rng.lognormal(0, 0.35, number), 1)
        parts.append(part)
        km.append(place(number))
    table = pd.concat(parts, ignore_index=True)
    return _placed(table, "source", np.concatenate(km), ground)


def _yards(
    base: Scenario, ground: _Ground, rng: np.random.Generator, count: int
) -> pd.DataFrame:
    table = _rows_like(base.yards, count, rng)
    table["existing_size"] = ""
    table["area_m2"] = np.round(table["area_m2"] * rng.uniform(0.5, 1.1, count), -2)
    table["works_factor"] = np.round(rng.uniform(0.85, 1.3, count), 2)
    half = count // 2
    km = np.concatenate(
        [ground.along_trunks(half), ground.about_villages(count - half)]
    )
    return _placed(table, "yard", km, ground)


def _markets(
    base: Scenario, ground: _Ground, rng: np.random.Generator, count: int
) -> pd.DataFrame:
    table = _rows_like(base.markets, count, rng)
    table["amount"] = np.round(table["amount"] * rng.lognormal(-0.2, 0.3, count), 1)
    return _placed(table, "market", ground.about_villages(count), ground)


if __name__ == "__main__":
    size, seed, folder = sys.argv[1:4]
    write_scenario(region(*SIZES[size], seed=int(seed)), Path(folder))
