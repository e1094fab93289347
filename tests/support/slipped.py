"""Brackwater with one slip of the keyboard or of the unit in it, and no outline."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pandas as pd

from logistics.scenario import Scenario, change_setting

Slip = Callable[[Scenario], Scenario]
WORLD = {"west": -180.0, "south": -90.0, "east": 180.0, "north": 90.0}


def without_outline(scenario: Scenario) -> Scenario:
    """Let the district be the whole world, as where no edges are given."""
    district = scenario.settings.district.model_copy(update=WORLD)
    settings = scenario.settings.model_copy(update={"district": district})
    return replace(scenario, settings=settings)


def with_rows(scenario: Scenario, name: str, frame: pd.DataFrame) -> Scenario:
    """Return the scenario with another table."""
    return replace(scenario, tables={**scenario.tables, name: frame})


def cell(table: str, column: str, value: object, row: int = 0) -> Slip:
    """Write a value into one cell."""

    def slip(scenario: Scenario) -> Scenario:
        frame = scenario.table(table).copy()
        frame.loc[frame.index[row], column] = value
        return with_rows(scenario, table, frame)

    return slip


def times(table: str, column: str, factor: float, row: int | None = None) -> Slip:
    """Multiply a column, or one cell of it."""

    def slip(scenario: Scenario) -> Scenario:
        frame = scenario.table(table).copy()
        rows = frame.index if row is None else [frame.index[row]]
        frame.loc[rows, column] *= factor
        return with_rows(scenario, table, frame)

    return slip


def setting(name: str, value: object) -> Slip:
    """Write a setting."""
    return lambda scenario: replace(
        scenario, settings=change_setting(scenario.settings, name, value)
    )


def swapped(table: str, row: int | None = None) -> Slip:
    """Swap longitude and latitude of one row, or of all."""

    def slip(scenario: Scenario) -> Scenario:
        frame = scenario.table(table).copy()
        rows = frame.index if row is None else [frame.index[row]]
        frame.loc[rows, ["lon", "lat"]] = frame.loc[rows, ["lat", "lon"]].to_numpy()
        return with_rows(scenario, table, frame)

    return slip


def moved(table: str, lon: float, lat: float, row: int = 0) -> Slip:
    """Put a point elsewhere."""
    return lambda scenario: cell(table, "lat", lat, row)(
        cell(table, "lon", lon, row)(scenario)
    )


def again(table: str, rows: int, *, case: bool = False) -> Slip:
    """Paste the first rows once more, with codes made new or in capitals."""

    def slip(scenario: Scenario) -> Scenario:
        frame = scenario.table(table)
        more = frame.iloc[:rows].copy()
        key = frame.columns[0]
        more[key] = [c.upper() if case else f"{c}_2" for c in more[key]]
        if case:
            more["lon"] += 0.05
        return with_rows(scenario, table, pd.concat([frame, more], ignore_index=True))

    return slip


def policy(share: float) -> Slip:
    """Ask for a share of all feedstock."""

    def slip(scenario: Scenario) -> Scenario:
        row = {"rule": "least_share", "material": "", "district": "", "share": share}
        return with_rows(scenario, "policy", pd.DataFrame([row]))

    return slip


def of(table: str, key: str, code: str, then: Callable[[int], Slip]) -> Slip:
    """Make a slip in the first row with a code in a column."""

    def slip(scenario: Scenario) -> Scenario:
        return then(scenario.table(table)[key].tolist().index(code))(scenario)

    return slip


SLIPS: dict[str, tuple[str, Slip]] = {
    "kg for tonnes, one mill": ("kg_for_tonnes", times("sources", "amount", 1000, 0)),
    "kg for tonnes, a mill 12 times the next": (
        "kg_for_tonnes",
        lambda s: cell("sources", "amount", 12.0 * s.sources["amount"].max())(s),
    ),
    "kg for tonnes, all sources": ("kg_for_tonnes", times("sources", "amount", 1000)),
    "kg for tonnes, all markets": ("kg_for_tonnes", times("markets", "amount", 1000)),
    "nitrogen 0.106": (
        "share_for_percent",
        of("materials", "material", "fish_waste_mixed",
           lambda n: cell("materials", "nitrogen", 0.00106, n)),
    ),
    "salt 0.01": (
        "share_for_percent",
        of("materials", "material", "fish_waste_mixed",
           lambda n: cell("materials", "salt", 0.0001, n)),
    ),
    "ash 0.2": (
        "share_for_percent",
        of("materials", "material", "rice_husk",
           lambda n: cell("materials", "ash", 0.002, n)),
    ),
    "store loss 0.2": (
        "share_for_percent",
        of("materials", "material", "fish_waste_mixed",
           lambda n: cell("materials", "store_loss", 0.002, n)),
    ),
    "least share 0.9": ("share_for_percent", policy(0.009)),
    "inflation 0.04": (
        "share_for_percent", setting("finance.inflation_pct", 0.04)
    ),
    "label nitrogen 0.012": ("share_for_percent", setting("product.n_pct", 0.012)),
    "a source swapped": ("point_astray", swapped("sources", 3)),
    "all markets swapped": ("point_astray", swapped("markets")),
    "a yard at 0, 0": ("point_astray", moved("yards", 0.0, 0.0, 2)),
    "a source without its minus": (
        "point_astray",
        lambda s: times("sources", "lon", -1, 5)(s),
    ),
    "yield ten times": (
        "conversion",
        of("sources", "basis", "cropped",
           lambda n: times("sources", "yield_t_ha", 10, n)),
    ),
    "residue ratio in %": (
        "conversion",
        of("sources", "basis", "cropped",
           lambda n: cell("sources", "residue_ratio", 15.0, n)),
    ),
    "manure of a year a day": (
        "conversion",
        of("sources", "basis", "animals",
           lambda n: cell("sources", "kg_per_head_day", 150.0, n)),
    ),
    "density of husk 1,100": (
        "density",
        of("materials", "material", "rice_husk",
           lambda n: cell("materials", "loose_kg_m3", 1100.0, n)),
    ),
    "body of a cart in litres": (
        "body_volume",
        lambda s: cell("trucks", "payload_t", 0.15)(
            cell("trucks", "body_m3", 180.0)(s)
        ),
    ),
    "a source under another code": ("row_again", again("sources", 1)),
    "all sources pasted twice": ("row_again", again("sources", 49)),
    "a market pasted twice": ("row_again", again("markets", 1)),
    "codes differ in case": ("codes_alike", again("sources", 1, case=True)),
    "compost dearer than fertiliser": (
        "dear_compost", cell("markets", "price_per_t", 450.0)
    ),
    "speed of an earth road 90": (
        "speed",
        of("roads", "class", "earth", lambda n: cell("roads", "speed_kmh", 90.0, n)),
    ),
    "speed factor 2": ("speed", cell("trucks", "speed_factor", 2.0)),
    "straight lines at 100 km/h": ("speed", setting("travel.straight_kmh", 100.0)),
    "loading in hours": ("minutes", cell("trucks", "load_minutes", 0.5)),
    "litres for 10 km": ("fuel", cell("trucks", "fuel_l_per_km_loaded", 1.82)),
}  # fmt: skip
"""Name of a slip to the check that tells of it and how it is made."""
