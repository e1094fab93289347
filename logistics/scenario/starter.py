"""Start a scenario: blank tables with headings, example rows and notes on each column.

Headings, units and meanings are taken from `columns.csv`; the example rows are an
invented place in open ocean that passes the check. In a workbook those of places are
grey and never read.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from math import isnan
from pathlib import Path
from typing import Literal

from logistics.scenario.defaults import COMPLETED, MONTH_DAYS, library
from logistics.scenario.faults import Problem, ScenarioError
from logistics.scenario.schema import (
    Column,
    columns_of,
    number_text,
    settings_columns,
    tables,
)
from logistics.scenario.settings_file import FILE
from logistics.scenario.toml_text import toml_value
from logistics.scenario.workbook import BOOK, allowed, write_book
from logistics.scenario.writing import cell_text, replace_file

Row = Mapping[str, object]

FILL_FIRST = ("sources", "calendar", "yards", "yard_sizes", "markets", "trucks")
"""Tables that a planner fills in, in this order; the others may wait, or stay."""
PLACES = ("sources", "yards", "markets")
"""Tables whose starter rows are of an invented place."""
NOTES = "notes"
NOTE_HEADINGS = ("table", "column", "unit", "default", "required", "meaning")
MATERIALS = ("rice_husk", "fish_waste_mixed", "cattle_manure")
TEMPLATE_SETTINGS: Mapping[str, object] = {
    "name": "Example district (invented, in open ocean)",
    "district.west": -31,
    "district.south": 0,
    "district.east": -30,
    "district.north": 1,
    "mix.cn_basis": "total",
}
SEASONS: Mapping[str, Sequence[float]] = {
    "milling": (14, 10, 6, 5, 4, 4, 6, 8, 10, 11, 11, 11),
    "even": tuple(8.5 if days == 31 else 8.1 for days in MONTH_DAYS),
    "planting": (0, 0, 5, 20, 20, 5, 0, 0, 5, 20, 20, 5),
}
EXAMPLES: Mapping[str, Sequence[Row]] = {
    "sources": (
        {"source": "mill", "name": "Example mill", "material": "rice_husk",
         "lon": -30.52, "lat": 0.58, "basis": "processed", "amount": 7500,
         "waste_pct": 20, "season": "milling", "disposal": "burnt"},
        {"source": "pier", "name": "Example fish pier", "material": "fish_waste_mixed",
         "lon": -30.40, "lat": 0.50, "basis": "processed", "amount": 800,
         "waste_pct": 50, "season": "even", "disposal": "dumped",
         "disposal_cost_per_t": 45},
        {"source": "herd", "name": "Example herd", "material": "cattle_manure",
         "lon": -30.45, "lat": 0.55, "basis": "animals", "amount": 300,
         "kg_per_head_day": 12, "recoverable_pct": 50, "season": "even",
         "disposal": "heaped"},
    ),
    "yards": (
        {"yard": "yard_a", "name": "Example site A", "lon": -30.48, "lat": 0.50,
         "area_m2": 15000, "water_m3_per_day": 60},
        {"yard": "yard_b", "name": "Example site B", "lon": -30.42, "lat": 0.55,
         "area_m2": 12000, "water_m3_per_day": 40},
    ),
    "yard_sizes": (
        {"size": "small", "name": "Small", "site_m2": 4000, "pad_m2": 2500,
         "store_m3": 1500, "compost_store_m3": 1500, "works_cost": 30000,
         "machine_cost": 20000, "fixed_cost_per_year": 6000, "handling_cost_per_t": 5},
        {"size": "large", "name": "Large", "site_m2": 10000, "pad_m2": 6500,
         "store_m3": 5000, "compost_store_m3": 4000, "works_cost": 60000,
         "machine_cost": 40000, "fixed_cost_per_year": 12000, "handling_cost_per_t": 4},
    ),
    "markets": (
        {"market": "farms", "name": "Example farms", "lon": -30.47, "lat": 0.60,
         "basis": "area", "amount": 300, "rate_t_ha": 5, "season": "planting",
         "price_per_t": 28},
    ),
    "trucks": (
        {"truck": "light", "name": "Light truck", "payload_t": 4, "body_m3": 20,
         "tare_t": 3.5, "fuel_l_per_km_loaded": 0.18, "fuel_l_per_km_empty": 0.13,
         "repair_cost_per_km": 0.08, "crew_cost_per_hour": 2.5, "owned": 1,
         "fixed_cost_per_year": 4000, "hire_cost_per_hour": 6},
    ),
}  # fmt: skip


def new_scenario(path: Path, format: Literal["csv", "xlsx"] = "csv") -> list[Path]:
    """
    Write the files of a new scenario.

    Parameters
    ----------
    path
        Folder; made if it is not there. Nothing in it is overwritten.
    format
        csv writes one file a table, xlsx one workbook with a sheet a table, in which
        the example places are not read.

    Returns
    -------
    list of Path
        Files written.

    Raises
    ------
    ScenarioError
        If one of the files is there already.
    ValueError
        If the format is neither csv nor xlsx.
    """
    if format not in {"csv", "xlsx"}:
        message = f"the format is csv or xlsx, not {format!r}"
        raise ValueError(message)
    folder = Path(path)
    named = {f"{name}.csv": name for name in (*tables(), NOTES)}
    names = [FILE, *([BOOK] if format == "xlsx" else named)]
    taken = [n for n in (FILE, BOOK, *named) if (folder / n).exists()]
    if taken or (folder.exists() and not folder.is_dir()):
        why = "already exists" if taken else "is a file, not a folder"
        remedy = "Name a new folder, or move the old files away"
        faults = [
            Problem(n, None, "", None, why, remedy) for n in taken or [folder.name]
        ]
        raise ScenarioError(faults)
    folder.mkdir(parents=True, exist_ok=True)
    sheets = {table: template(table) for table in tables()}
    if format == "xlsx":
        shown = {table: sheets[table][1:] for table in PLACES}
        blank = {table: sheets[table][:1] for table in PLACES}
        write_book(folder / BOOK, sheets | blank, notes(), shown)
    else:
        sheets[NOTES] = notes()
        for name, table in named.items():
            replace_file(folder / name, _csv(sheets[table]))
    replace_file(folder / FILE, settings_template())
    return [folder / name for name in names]


def template(table: str) -> list[list[object]]:
    """
    Return headings and example rows of a table.

    Examples
    --------
    >>> template("policy")
    [['rule', 'material', 'district', 'share_pct']]
    """
    headings = [c.name for c in columns_of(table)]
    rows = [[row.get(name, "") for name in headings] for row in _examples(table)]
    return [list(headings), *rows]


def _examples(table: str) -> Sequence[Row]:
    """Return the example rows; materials, factors and rules are of the library."""
    if table == "calendar":
        return [
            {"season": season, "period": f"m{month:02}", "share_pct": share}
            for season, shares in SEASONS.items()
            for month, share in enumerate(shares, start=1)
        ]
    if table in {"materials", "ranges", *COMPLETED}:
        frame = library(table).frame
        if table == "materials":
            frame = frame[frame["material"].isin(MATERIALS)]
        if table == "ranges":
            ours = [f"material={code}" for code in MATERIALS]
            named = frame["where"].str.startswith("material=")
            frame = frame[~named | frame["where"].isin(ours)]
        return [
            {str(name): _plain(value) for name, value in row.items()}
            for row in frame.to_dict("records")
        ]
    return EXAMPLES.get(table, ())


def _plain(value: object) -> object:
    """Return numbers as they are, all else as a cell's text."""
    blank = isinstance(value, float) and isnan(value)
    number = isinstance(value, float | int) and not isinstance(value, bool)
    return value if number and not blank else cell_text(value)


def notes() -> list[list[object]]:
    """
    Return the sheet that explains every column.

    Examples
    --------
    >>> notes()[1][:3]
    ['materials', 'material', 'text of letters, digits and _']
    """
    lines: list[list[object]] = [list(NOTE_HEADINGS)]
    for table in tables():
        for c in columns_of(table):
            needed = "yes" if c.required else ""
            unit, default = allowed(c), c.default
            lines.append([table, c.name, unit, default, needed, c.meaning])
    return lines


def settings_template() -> str:
    """
    Return `scenario.toml` with every setting explained; most are commented out.

    Examples
    --------
    >>> "# cn_low = 20" in settings_template()
    True
    """
    lines = ["# Settings of the scenario. Lines that begin with # are not read:"]
    lines.append("# to change a default, remove the # and write your value.")
    group = ""
    for name, c in settings_columns().items():
        head, _, tail = name.rpartition(".")
        if head != group:
            lines += ["", f"[{head}]"]
            group = head
        told = f" [{allowed(c)}]" if c.kind not in {"text", "integer"} or c.unit else ""
        lines += ["", f"# {c.meaning}{told}"]
        if name in TEMPLATE_SETTINGS:
            lines.append(f"{tail} = {toml_value(TEMPLATE_SETTINGS[name])}")
        else:
            lines.append(f"# {tail} = {_default_text(c)}".rstrip())
    return "\n".join(lines) + "\n"


def _default_text(c: Column) -> str:
    if not c.default:
        return '""' if c.kind in {"text", "code"} else "(no default: no limit)"
    if c.kind in {"text", "choice"}:
        return toml_value(c.default)
    return number_text(float(c.default))


def _csv(lines: Sequence[Sequence[object]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(lines)
    return text.getvalue()
