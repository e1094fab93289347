"""Turn the texts of one table into typed values; every unusable cell is a fault."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, cast

import numpy as np
import pandas as pd

from logistics.scenario.currency import scaled
from logistics.scenario.faults import Problem, choose_from, nearest
from logistics.scenario.number_text import (
    CellFault,
    bare_number,
    read_number,
    wanted,
)
from logistics.scenario.raw import RawTable
from logistics.scenario.schema import Column, columns_of
from logistics.scenario.separators import decimal_sign

CODE = re.compile(r"[A-Za-z0-9_]+")
LONGEST_CODE = 40
RESERVED = {
    "all": "everything",
    "compost": "the product",
    "spoils": "all feedstock that spoils",
}
YES = {"yes", "y", "true", "1", "1.0"}
NO = {"no", "n", "false", "0", "0.0"}
NUMBERS = {"number", "percent", "integer", "lon", "lat"}


@dataclass(frozen=True, eq=False)
class Cells:
    """
    One table with typed values.

    Attributes
    ----------
    table, file
        Name of the table; file, sheet or layer for messages.
    frame
        All columns of the table, named and in units as in `columns.csv`.
    rows
        Row number of each line in the file.
    bad
        Cells whose fault is reported, as (position, column).
    filled
        Cells that got a default: column to positions.
    """

    table: str
    file: str
    frame: pd.DataFrame
    rows: list[int]
    bad: frozenset[tuple[int, str]]
    filled: dict[str, list[int]]

    def problem(
        self, position: int, column: str, why: str, remedy: str, value: object = None
    ) -> Problem:
        """Return a fault in one of the table's lines."""
        return Problem(self.file, self.rows[position], column, value, why, remedy)

    def good(self, *columns: str) -> list[int]:
        """Positions of the lines with no fault in the columns named."""
        spoilt = {position for position, name in self.bad if name in columns}
        return [p for p in range(len(self.rows)) if p not in spoilt]


def _tidy_code(text: str) -> str:
    """Return the code that a planner most likely meant."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "_", plain).strip("_")[:LONGEST_CODE]


def _code(text: str, column: Column) -> str:
    if not CODE.fullmatch(text):
        better = _tidy_code(text)
        why = "is not a code: a code may have only letters, digits and _"
        remedy = f"Write {better!r}" if better else "Write letters, digits and _ only"
        raise CellFault(why, f"{remedy}, in every table that uses it", better)
    if len(text) > LONGEST_CODE:
        why = f"is longer than the {LONGEST_CODE} characters a code may have"
        raise CellFault(why, "Shorten it in every table that uses it", text)
    if column.table == "materials" and column.key:
        if text in RESERVED:
            why = f"cannot be a code, because this word means {RESERVED[text]}"
            raise CellFault(why, f"Write 'my_{text}'", text)
        if "__" in text:
            why = "has two _ in a row, which is reserved for codes made by the program"
            raise CellFault(why, f"Write {re.sub('__+', '_', text)!r}", text)
    return text


def _text(text: str, column: Column) -> str:
    return text


def _yes_no(text: str, column: Column) -> bool:
    word = text.casefold()
    if word not in YES | NO:
        raise CellFault(why="is neither yes nor no", remedy="Write yes or no")
    return word in YES


def _choice(text: str, column: Column) -> str:
    word = text.casefold().replace(" ", "_")
    if word not in column.choices:
        why, remedy = "is not one of the choices", choose_from(word, column.choices)
        raise CellFault(why, remedy, nearest(word, column.choices) or None)
    return word


def _list(text: str, column: Column) -> tuple[str, ...]:
    return tuple(dict.fromkeys(re.findall(r"[^\s,;]+", text)))


@cache
def _unbounded(column: Column) -> Column:
    return replace(column, low=None, high=None)


def _degrees(text: str, column: Column, sign: str = "") -> float:
    """Read a coordinate; limits are checked with the point, to tell swapped ones."""
    return read_number(text, _unbounded(column), sign)


READ: dict[str, Callable[..., object]] = {
    "code": _code,
    "text": _text,
    "number": read_number,
    "percent": read_number,
    "integer": read_number,
    "lon": _degrees,
    "lat": _degrees,
    "yes_no": _yes_no,
    "choice": _choice,
    "list": _list,
    "line": _text,
    "shape": _text,
}


def blank_value(column: Column) -> object:
    """
    Return what a blank cell without a default holds.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> blank_value(column("materials", "keep_hours"))
    nan
    """
    if column.kind in NUMBERS:
        return np.nan
    return {"yes_no": False, "list": ()}.get(column.kind, "")


def read_value(text: str, column: Column) -> object:
    """
    Read one filled cell; raise a CellFault if it cannot be used.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> read_value("4.5", column("trucks", "payload_t"))
    4.5
    """
    return READ[column.kind](text, column)


def typed(values: Sequence[object], column: Column) -> Any:
    """Return a column as an array of the right dtype, also when it has no rows."""
    if column.kind in NUMBERS:
        return np.array(cast("list[float]", list(values)), dtype="float64")
    if column.kind == "yes_no":
        return np.array(cast("list[bool]", list(values)), dtype="bool")
    if column.kind == "list":
        array = np.empty(len(values), dtype="object")
        array[:] = values
        return array
    return pd.array(cast("list[str]", list(values)), dtype="str")


def read_cells(raw: RawTable, scale: float = 1.0) -> tuple[Cells, list[Problem]]:
    """
    Give every cell of a raw table its type, and blank ones their default.

    Parameters
    ----------
    raw
        Table of texts.
    scale
        Units of the currency for one of the built-in money figures.

    Returns
    -------
    Cells
        Typed table; a faulty cell holds a blank, or the likely value.
    list of Problem
        One fault for each unusable cell.
    """
    bad = set(raw.bad)
    filled: dict[str, list[int]] = {}
    problems: list[Problem] = []
    series = {}
    sign = decimal_sign_of(raw, scale)
    for column in (scaled(one, scale) for one in columns_of(raw.table)):
        texts = raw.cells.get(column.name, [""] * len(raw.rows))
        blank = blank_value(column)
        default = read_value(column.default, column) if column.default else blank
        read = READ[column.kind]
        values: list[object] = []
        for position, text in enumerate(texts):
            value = blank
            if (position, column.name) in bad:
                pass
            elif text:
                try:
                    if (
                        column.kind in NUMBERS
                        and (position, column.name) not in raw.stored
                    ):
                        value = read(text, column, sign)
                    else:
                        value = read(text, column)
                except CellFault as fault:
                    bad.add((position, column.name))
                    value = blank if fault.instead is None else fault.instead
                    problems.append(
                        Problem(
                            raw.file,
                            raw.rows[position],
                            raw.shown(position, column.name),
                            text,
                            fault.why,
                            fault.remedy,
                        )
                    )  # fmt: skip
            elif column.default:
                value = default
                filled.setdefault(column.name, []).append(position)
            elif column.required:
                bad.add((position, column.name))
                if column.name not in raw.missing:
                    problems.append(_blank(raw, position, column))
            values.append(value)
        series[column.name] = typed(values, column)
    frame = pd.DataFrame(series, index=pd.RangeIndex(len(raw.rows)))
    table = Cells(raw.table, raw.file, frame, raw.rows, frozenset(bad), filled)
    return table, problems


def decimal_sign_of(raw: RawTable, scale: float) -> str:
    """Return the decimal sign that the numbers typed as text show; empty if none."""
    typed_in = (
        (bare_number(text), scaled(column, scale))
        for column in columns_of(raw.table)
        if column.kind in NUMBERS
        for position, text in enumerate(raw.cells.get(column.name, ()))
        if ("." in text or "," in text) and (position, column.name) not in raw.stored
    )
    return decimal_sign(typed_in)


def _blank(raw: RawTable, position: int, column: Column) -> Problem:
    """Return the fault of a required cell that is blank."""
    if column.kind in NUMBERS:
        remedy = wanted(column)
    else:
        noun = "a code" if column.kind == "code" else "it"
        remedy = f"Write {noun}: {column.meaning}"
    row = raw.rows[position]
    return Problem(raw.file, row, column.name, None, "is blank", remedy)
