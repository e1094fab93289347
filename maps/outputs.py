"""
Every file of a plan, written so that a killed run leaves the old ones whole.

To add an output, write a function from Result and path to nothing and name it in
`OUTPUTS`.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from maps.geo import write_geopackage, write_kml, write_map
from maps.report import write_explain, write_report
from maps.shared import doing, whole_set, write_csv
from maps.tables import tables, write_budget, write_workbook
from maps.years import LAST, plan_of_last_year, way_section, write_way

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.years import WayAhead


def plain(value: object) -> object:
    """
    Turn a value into what JSON holds: plain numbers, text, lists; no NaN.

    >>> plain({"b": float("nan"), "a": (1, 2.5)})
    {'a': [1, 2.5], 'b': None}
    """
    if isinstance(value, Mapping):
        keys = sorted(value, key=str)
        return {str(key): plain(value[key]) for key in keys}
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value, key=str) if isinstance(value, set | frozenset) else value
        return [plain(item) for item in items]
    if hasattr(value, "item") and not isinstance(value, str):
        return plain(value.item())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str | bool | int):
        return value
    return str(value)


def write_summary(result: Result, path: Path) -> None:
    """Write summary.json: sorted keys, plain numbers, no NaN."""
    text = json.dumps(
        plain(result.summary), indent=2, sort_keys=True, allow_nan=False, default=str
    )
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


def write_tables(result: Result, path: Path) -> None:
    """Write every table as <name>.csv into the folder `path`."""
    path.mkdir()
    for name, table in tables(result).items():
        write_csv(table, path / f"{name}.csv")


OUTPUTS: dict[str, Callable[[Result, Path], None]] = {
    "summary.json": write_summary,
    "map.html": write_map,
    "report.html": write_report,
    "explain.html": write_explain,
    "plan.xlsx": write_workbook,
    "budget.xlsx": write_budget,
    "plan.gpkg": write_geopackage,
    "plan.kml": write_kml,
    "plan.csv": write_tables,
}
"""Name of the file or folder -> the function that writes it."""


def write_outputs(result: Result, out_dir: Path) -> None:
    """
    Write every output, all or none; see `maps.shared.whole_set`.

    Parameters
    ----------
    result
        A planned scenario.
    out_dir
        Folder for the outputs; made if it is not there.
    """
    with whole_set(out_dir, "plan") as folder:
        _write_all(OUTPUTS, result, folder)


def write_years(way: WayAhead, out_dir: Path) -> None:
    """
    Write the way of years, and every output of its last year's plan.

    Parameters
    ----------
    way
        Its report has the way there as a section.
    out_dir
        Folder for the outputs; those of the last year go into a folder in it.
    """

    def report(result: Result, path: Path) -> None:
        write_report(result, path, before=[way_section(way)])

    with whole_set(out_dir, "years") as folder:
        with doing("writing the way"):
            write_way(way, folder)
        last = folder / LAST
        last.mkdir()
        _write_all({**OUTPUTS, "report.html": report}, plan_of_last_year(way), last)


def _write_all(
    outputs: Mapping[str, Callable[[Result, Path], None]], result: Result, folder: Path
) -> None:
    for name, write in outputs.items():
        with doing(f"writing {name}"):
            write(result, folder / name)
