"""Figures outside what handbooks and practice know, see `usual_ranges.csv`."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from logistics.diagnosis.finding import Finding, finding, of_row
from logistics.scenario import (
    Problem,
    columns_of,
    flat_settings,
    library,
    plain_number,
    settings_columns,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from logistics.scenario import Scenario

FILE = Path(__file__).with_name("usual_ranges.csv")
ANY = "*"
DENSITY_FACTOR = 4.0
"""
How far a density may lie from the library's of the same feedstock.

Judgement: bales are two to three times as dense as loose straw.
"""
OF = {"sources": "material", "roads": "class"}
"""Column of a table that chooses the range; others have one range for all rows."""
RATIOS = {"t_per_m3": ("payload_t", "body_m3")}
"""Figures of two columns, the one divided by the other; the second is the doubted."""
POWERS = (10.0, 100.0, 1000.0)
UNITS = {
    "minutes": ((60.0, "if {typed} are hours"),),
    "fuel": ((0.1, "if {typed} are for 10 km"), (0.01, "if {typed} are for 100 km")),
    "speed": (),
}
"""What else a figure may have been typed in: factor to ours, and words."""


class Usual(NamedTuple):
    """What is usual in a column, for one kind of row."""

    check: str
    low: float
    high: float
    source: str


@cache
def usual_ranges() -> dict[tuple[str, str], dict[str, Usual]]:
    """Return the ranges: table and column to kind of row to range."""
    found: dict[tuple[str, str], dict[str, Usual]] = {}
    with FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            usual = Usual(
                row["check"], float(row["low"]), float(row["high"]), row["source"]
            )
            found.setdefault((row["table"], row["column"]), {})[row["of"]] = usual
    return found


def out_of_range(scenario: Scenario) -> list[Finding]:
    """
    Doubt yields, densities, body volumes, speeds and the like out of their range.

    Returns
    -------
    list of Finding
        One a cell or setting; 0 and blanks are not doubted.
    """
    found: list[Finding] = []
    for (table, column), ranges in usual_ranges().items():
        if table == "settings":
            found += _of_setting(scenario, column, ranges[ANY])
        else:
            found += _of_column(scenario, table, column, ranges)
    return found


def _of_setting(scenario: Scenario, name: str, usual: Usual) -> Iterator[Finding]:
    value = flat_settings(scenario.settings)[name]
    if value and not usual.low <= value <= usual.high:
        words = _words(value, usual, settings_columns()[name].unit)
        problem = Problem("scenario.toml", None, name, value, *words)
        yield finding(usual.check, (name,), problem)


def _of_column(
    scenario: Scenario, table: str, column: str, ranges: dict[str, Usual]
) -> Iterator[Finding]:
    frame = scenario.tables[table]
    upper, lower = RATIOS.get(column, (column, ""))
    percent = column.endswith("_pct")
    values = frame[upper.removesuffix("_pct")] * (100 if percent else 1)
    shown = column
    if lower:
        values, shown = values / frame[lower], lower
    unit = {c.name: c.unit for c in columns_of(table)}.get(column, "t/m3")
    kinds = _kinds(scenario, table)
    for place, value in enumerate(values.tolist()):
        usual = ranges.get(kinds[place]) or ranges.get(ANY)
        if usual is None or not value > 0:
            continue
        usual = _of_library(scenario, table, column, place) or usual
        value = float(f"{value:.12g}")
        if usual.low <= value <= usual.high:
            continue
        words = _words(value, usual, unit)
        typed = value
        if lower:
            typed = float(frame[lower].iloc[place])
            words = _of_two(typed, value, usual, upper)
        yield of_row(usual.check, scenario, table, place, shown, (typed, *words))


def _kinds(scenario: Scenario, table: str) -> list[str]:
    """Return what chooses the range of each row."""
    frame = scenario.tables[table]
    if table == "materials":
        return ["structure" if yes else "other" for yes in frame["structure"]]
    return frame[OF[table]].tolist() if table in OF else [ANY] * len(frame)


def _of_library(
    scenario: Scenario, table: str, column: str, place: int
) -> Usual | None:
    """Return the range about the library's density of the same feedstock."""
    if table != "materials":
        return None
    known = library("materials").frame.set_index("material")
    code = scenario.materials["material"].iloc[place]
    if code not in known.index:
        return None
    middle = float(known.loc[code, column])
    low, high = middle / DENSITY_FACTOR, middle * DENSITY_FACTOR
    return Usual("density", low, high, f"a factor of {DENSITY_FACTOR:g} of the library")


def _words(value: float, usual: Usual, unit: str) -> tuple[str, str]:
    """Say what is usual, and what the figure would be with another unit."""
    low, high = (plain_number(float(f"{x:.4g}")) for x in (usual.low, usual.high))
    why = f"is out of the usual {low} to {high} [{unit}]" if unit else (
        f"is out of the usual {low} to {high}"
    )  # fmt: skip
    others = [(x, "if that is meant") for p in POWERS for x in (1 / p, p)]
    for factor, words in UNITS.get(usual.check, others):
        meant = float(f"{value * factor:.12g}")
        if usual.low <= meant <= usual.high:
            when = words.format(typed=plain_number(value))
            return why, f"Write {plain_number(meant)} {when}"
    return why, f"Check the unit{f', which is {unit}' if unit else ''}"


def _of_two(typed: float, value: float, usual: Usual, upper: str) -> tuple[str, str]:
    why = (
        f"gives {value:.3g} t/m3 with its {upper}, out of the usual "
        f"{usual.low:g} to {usual.high:g}"
    )
    litres = value * 1000
    if usual.low <= litres <= usual.high:
        cubic = plain_number(float(f"{typed / 1000:.12g}"))
        return why, f"Write {cubic} if {plain_number(typed)} are litres"
    return why, f"Check both: {upper} is in tonnes, body_m3 in cubic metres"
