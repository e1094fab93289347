"""Robust yards on a terminal and in a workbook."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from rich.console import Console
from rich.table import Table

from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    cell_text,
    clean,
    head_text,
    print_table,
    table_unit,
    text_console,
    write_csv,
)
from maps.studies.tables import robust_tables
from maps.tables import write_tables

if TYPE_CHECKING:
    from pathlib import Path

    from logistics.studies import Robust


SHEETS = {
    "worth": "What the choice costs, and what knowing the future would be worth",
    "futures": "What each future costs with these yards and with its own",
    "yards": "Which yards are built, and which each future alone would build",
}
"""Sheet -> what it answers."""


def write_robust(
    found: Robust, title: str, currency: str, names: dict[str, str], out: Path
) -> None:
    """Write robust.xlsx and robust.csv/ into a folder."""
    tables = robust_tables(found, currency, names)
    folder = out / "robust.csv"
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        write_csv(table, folder / f"{name}.csv")
    write_tables(
        tables,
        out / "robust.xlsx",
        title,
        "Yards chosen once for many futures",
        SHEETS,
    )


def show_robust(
    found: Robust,
    currency: str,
    names: dict[str, str],
    console: Console | None = None,
) -> None:
    """Print which yards are right in all futures, and what that is worth."""
    console = text_console(console, wider=40)
    tables = robust_tables(found, clean(currency), names)
    unit = table_unit(tables["futures"], clean(currency))
    for name in ("futures", "yards", "worth"):
        print_table(console, _grid(tables[name], unit))
        console.print()
    console.print(
        "EVPI: what knowing the future before building would save. VSS: what these "
        "yards save compared with those of the plan without changes. Both as far as "
        "proven. You still pay for a yard even in a future that cannot use it. "
        f"{ALL_ESTIMATED}"
    )


def _grid(table: pd.DataFrame, unit: MoneyUnit) -> Table:
    grid = Table(box=None, pad_edge=False)
    numbers = {c for c in table.columns if pd.api.types.is_numeric_dtype(table[c])}
    for head in table.columns:
        words = head not in numbers and head != "value"
        text = head_text(clean(str(head)), unit)
        grid.add_column(text, justify="left" if words else "right")
    for row in table.to_dict("records"):
        what = clean(row.get("figure", ""))
        if what:
            row["figure"] = head_text(what, unit)
        grid.add_row(*(_text(what or clean(h), v, unit) for h, v in row.items()))
    return grid


def _text(head: str, value: object, unit: MoneyUnit) -> str:
    if isinstance(value, str):
        return clean(value)
    size = abs(float(value))  # type: ignore[arg-type]
    return cell_text(head, value, unit, 0 if size >= 100 or size == 0 else 2)
