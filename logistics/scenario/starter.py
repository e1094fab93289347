"""Start a scenario: blank tables with headings, example rows and notes on each column.

Headings, units and meanings are taken from `columns.csv`; the example rows are an
invented place in open ocean that passes the check.
"""

import csv
import io
import math
from collections.abc import Mapping, Sequence
from math import isnan
from pathlib import Path
from typing import Literal

from logistics.scenario.defaults import COMPLETED, MONTH_DAYS, library
from logistics.scenario.faults import Problem, ScenarioError
from logistics.scenario.paper import ROW_POINTS, set_page
from logistics.scenario.pick_lists import add_pick_list, add_seasons
from logistics.scenario.schema import (
    Column,
    column,
    columns_of,
    number_text,
    settings_columns,
    tables,
)
from logistics.scenario.settings_file import FILE, toml_value
from logistics.scenario.writing import cell_text, replace_file

Row = Mapping[str, object]

BOOK = "tables.xlsx"
FILL_FIRST = ("sources", "calendar", "yards", "yard_sizes", "markets", "trucks")
"""Tables that a planner fills in, in this order; the others may wait, or stay."""
NOTES = "notes"
WIDEST = 46.0
"""Of a column; longer cells go over several lines. [digits]"""
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
        csv writes one file a table, xlsx one workbook with a sheet a table.

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
    sheets = {table: template(table) for table in tables()} | {NOTES: notes()}
    if format == "xlsx":
        _write_book(folder / BOOK, sheets)
    else:
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
            unit, default = _unit(c), c.default
            lines.append([table, c.name, unit, default, needed, c.meaning])
    return lines


def _unit(c: Column) -> str:
    """Return the unit, or what may be written where there is none."""
    words = {
        "code": "text of letters, digits and _",
        "yes_no": "yes or no",
        "choice": " or ".join(c.choices),
        "list": "codes separated by spaces",
        "line": "WKT line",
        "shape": "WKT",
    }
    return words.get(c.kind, c.unit or c.kind)


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
        told = f" [{_unit(c)}]" if c.kind not in {"text", "integer"} or c.unit else ""
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


def _write_book(target: Path, sheets: Mapping[str, Sequence[Sequence[object]]]) -> None:
    """Write a workbook: headings in bold, frozen, with a comment on each column."""
    import xlsxwriter

    draft = target.with_name(target.name + ".part")
    font = {"font_name": "Arial", "font_size": 10, "font_scheme": "none"}
    with xlsxwriter.Workbook(draft, {"default_format_properties": font}) as book:
        bold = book.add_format({"bold": True})
        wrap = book.add_format({"text_wrap": True, "valign": "top"})
        for name, lines in sheets.items():
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            widths = _widths(lines)
            heights = [_points(line, widths) for line in lines]
            for place, width in enumerate(widths):
                sheet.set_column(place, place, width, wrap)
            for row, line in enumerate(lines):
                if heights[row] > ROW_POINTS:
                    sheet.set_row(row, heights[row])
                for place, value in enumerate(line):
                    if value != "":
                        sheet.write(row, place, value, wrap if row else bold)
            if name != NOTES:
                for place, heading in enumerate(lines[0]):
                    c = column(name, str(heading))
                    sheet.write_comment(0, place, f"{c.meaning}\n{_unit(c)}")
                    add_pick_list(sheet, place, c)
            set_page(sheet, widths, heights, "Tables of the district", whole=True)
        add_seasons(book, list(SEASONS))
    draft.replace(target)


def _widths(lines: Sequence[Sequence[object]]) -> list[float]:
    """Widths of columns that show their headings and most of their cells. [digits]"""
    return [
        min(WIDEST, max(10.0, *(len(str(cell)) * 1.1 + 2.0 for cell in cells)))
        for cells in zip(*lines, strict=True)
    ]


def _points(line: Sequence[object], widths: Sequence[float]) -> float:
    """Height of a row whose longest cells go over several lines. [points]"""
    most = max(
        math.ceil(len(str(value)) * 1.15 / width)
        for value, width in zip(line, widths, strict=True)
    )
    return max(ROW_POINTS, most * 12.5 + 2.5)
