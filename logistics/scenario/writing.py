"""Turn a scenario back into texts and files."""

from collections.abc import Iterable, Mapping
from math import isnan
from pathlib import Path
from typing import Any

import pandas as pd

from logistics.scenario.accepted import Accepted, accepted_text
from logistics.scenario.currency import SETTING as SCALE
from logistics.scenario.currency import crew_pay, money_scale
from logistics.scenario.defaults import library, months, row_keys
from logistics.scenario.schema import SETTINGS, Column, columns_of, tables
from logistics.scenario.settings import Settings, flat_settings
from logistics.scenario.settings_file import FILE, settings_text

PERCENT_DIGITS = 13


def write_files(
    path: Path,
    settings: Settings,
    frames: Mapping[str, pd.DataFrame],
    defaults_used: pd.DataFrame,
    accepted: Iterable[Accepted] = (),
) -> None:
    """
    Write settings and tables as a folder of CSV files.

    Parameters
    ----------
    path
        Folder; made if it is not there.
    settings
        Settings.
    frames
        Typed tables with shares for percentages.
    defaults_used
        Defaults in use; those still untouched stay blank.
    accepted
        Warnings that are accepted.
    """
    path.mkdir(parents=True, exist_ok=True)
    for table in tables():
        used = defaults_used[defaults_used["table"] == table]
        scale = settings.finance.money_scale
        written = outside(table, frames[table], used, scale)
        target = path / f"{table}.csv"
        if len(written):
            replace_file(target, written.to_csv(index=False, lineterminator="\n"))
        elif target.exists():
            target.unlink()
    untouched = set(defaults_used.loc[defaults_used["table"] == SETTINGS, "column"])
    values = flat_settings(settings)
    shown = {n: value for n, value in values.items() if n != SCALE}
    pay = crew_pay([cell_text(v) for v in frames["trucks"]["crew_cost_per_hour"]])
    found = money_scale(shown, pay).value if SCALE in untouched else 1.0
    text = settings_text(values, untouched, found) + accepted_text(accepted)
    replace_file(path / FILE, text)


def outside(
    table: str, frame: pd.DataFrame, used: pd.DataFrame, scale: float = 1.0
) -> pd.DataFrame:
    """Return a table as texts for a file, untouched defaults blank or left out."""
    texts = {c.name: _texts(c, frame[c.inside].tolist()) for c in columns_of(table)}
    keys = row_keys(table, frame)
    place = {key: position for position, key in enumerate(keys)}
    whole = set()
    for key, name, value in used[["key", "column", "value"]].itertuples(index=False):
        position = place.get(key)
        if position is None:
            continue
        if not name:
            whole.add(position)
        elif texts[name][position] == cell_text(value):
            texts[name][position] = ""
    written = pd.DataFrame(texts, dtype="str")
    supplied = _supplied(table, scale) if whole else written
    if table == "periods" and whole:
        return written.iloc[:0] if written.equals(supplied) else written
    lines = set(supplied.itertuples(index=False, name=None))
    rows = list(written.itertuples(index=False, name=None))
    kept = [p not in whole or rows[p] not in lines for p in range(len(written))]
    return written[kept]


def _supplied(table: str, scale: float) -> pd.DataFrame:
    """Return as texts what fills the gap if a whole table is absent."""
    cells = months() if table == "periods" else library(table, scale)
    texts = {
        c.name: [cell_text(value) for value in cells.frame[c.name].tolist()]
        for c in columns_of(table)
    }
    return pd.DataFrame(texts, dtype="str")


def _texts(column: Column, values: list[Any]) -> list[str]:
    if column.kind == "percent":
        values = [float(f"{value * 100:.{PERCENT_DIGITS}g}") for value in values]
    return [cell_text(value) for value in values]


def cell_text(value: Any) -> str:
    """Write a cell: exact numbers, yes and no, codes of a list with spaces."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        if isnan(value):
            return ""
        return str(int(value)) if float(value).is_integer() else repr(float(value))
    if isinstance(value, tuple):
        return " ".join(value)
    return str(value)


def replace_file(target: Path, text: str) -> None:
    """Write a file so that a killed or failed run leaves the old one whole."""
    draft = target.with_name(target.name + ".part")
    try:
        draft.write_text(text, encoding="utf-8")
        draft.replace(target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise
