"""Starter folder for a new scenario: example tables to overwrite, and notes."""

from __future__ import annotations

import csv
import io
from importlib import resources
from pathlib import Path

from logistics.schema import LIBRARY, Column, columns_of, settings_columns, tables

EXAMPLE = resources.files("maps") / "starter_tables"

HEAD = """\
# Notes on these tables

The rows are an invented example: replace them with your own and keep the headings.
Every table may also be a sheet of one XLSX workbook or a layer of one GeoPackage.
Coordinates are decimal degrees; east and north are positive. Percentages are
percentages: write 76, not 0.76. Codes are letters, digits and _.

The tables roads, land, policy, periods and factors may be left out: without roads,
distances are straight lines times a factor; without periods, the year has its twelve
months m01 to m12.

Then run `loamhaul check` and `loamhaul plan` on this folder.
"""


def limits(column: Column) -> str:
    """
    Say which values a column takes.

    >>> limits(columns_of("materials")[2])
    '0 to 100'
    """
    if column.choices:
        return ", ".join(column.choices)
    if column.low is None or column.high is None:
        return {"yes_no": "yes, no"}.get(column.kind, column.kind)
    return f"{column.low:,.10g} to {column.high:,.15g}"


def notes() -> str:
    """Describe every column and setting of `columns.csv`, as Markdown."""
    parts = [(name, list(columns_of(name))) for name in tables()]
    parts.append(("scenario.toml", list(settings_columns().values())))
    lines = [HEAD]
    for table, columns in parts:
        lines += [f"## {table}", "", "| column | unit | values | if blank | meaning |"]
        lines.append("|---|---|---|---|---|")
        for column in columns:
            blank = "must be given" if column.required else column.default or "none"
            cells = [column.name, column.unit, limits(column), blank, column.meaning]
            lines.append(f"| {' | '.join(cells)} |")
        lines.append("")
    return "\n".join(lines)


def materials(used: set[str]) -> str:
    """Rows of the library for the feedstocks of the example, as CSV."""
    text = (LIBRARY / "materials.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(row for row in rows if row["material"] in used)
    return out.getvalue()


def write_starter(folder: Path) -> None:
    """
    Write the starter tables, scenario.toml and NOTES.md.

    Parameters
    ----------
    folder
        Folder to make, empty if it exists.
    """
    files = {
        file.name: file.read_text(encoding="utf-8")
        for file in sorted(EXAMPLE.iterdir(), key=lambda item: item.name)
        if file.name.endswith((".csv", ".toml"))
    }
    sources = csv.DictReader(io.StringIO(files["sources.csv"]))
    files["materials.csv"] = materials({row["material"] for row in sources})
    files["NOTES.md"] = notes()
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
