"""
How a figure is reckoned from the tables of a plan: one formula in three tongues.

A formula is a sum over rows of a table, or a few of them joined by + - * /. It can be
read as words, reckoned from the tables, and written as the formula of a spreadsheet.
"""

from __future__ import annotations

import math
import operator
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar

import pandas as pd
from xlsxwriter.utility import xl_range_abs

Tables = Mapping[str, pd.DataFrame]
Condition = tuple[str, str, str | float]
"""Column, one of the signs of `SIGNS`, and what it is compared with."""

SIGNS: dict[str, Callable[[pd.Series, str | float], pd.Series]] = {
    "=": operator.eq,
    "<>": operator.ne,
    ">": operator.gt,
    "<": operator.lt,
}
SAID = {"=": "=", "<>": "≠", ">": "above", "<": "below"}
JOINTS: dict[str, Callable[[float, float], float]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": lambda a, b: a / b if b else math.nan,
}


class Formula(ABC):
    """What the terms have in common: they can be joined."""

    @abstractmethod
    def value(self, tables: Tables) -> float:
        """Reckon it from the tables."""

    @abstractmethod
    def words(self) -> str:
        """Say it in words."""

    @abstractmethod
    def cell(self, tables: Tables) -> str:
        """Write it for a spreadsheet that has each table on a sheet of its name."""

    def tables(self) -> tuple[str, ...]:
        """Name the tables it is reckoned from, in order."""
        return ()

    def __add__(self, other: Formula) -> Joined:
        """Add."""
        return Joined(self, "+", other)

    def __sub__(self, other: Formula) -> Joined:
        """Take off."""
        return Joined(self, "-", other)

    def __mul__(self, other: Formula) -> Joined:
        """Multiply."""
        return Joined(self, "*", other)

    def __truediv__(self, other: Formula) -> Joined:
        """Divide; by nothing it is not known."""
        return Joined(self, "/", other)


@dataclass(frozen=True)
class Number(Formula):
    """A number that stands for itself, such as 100 for percent."""

    of: float

    def value(self, tables: Tables) -> float:
        """Return it."""
        return self.of

    def words(self) -> str:
        """Write it."""
        return f"{self.of:g}"

    def cell(self, tables: Tables) -> str:
        """Write it."""
        return f"{self.of:.15g}"


@dataclass(frozen=True)
class Rows(Formula):
    """
    Rows of a table, summed, counted or looked up.

    Attributes
    ----------
    table, column
        What is summed; a blank column counts rows.
    where
        Conditions that a row must meet, all of them.
    times
        A second column that each row is multiplied with; blank for none.
    how
        "sum", "most" (largest, of numbers above 0), or "look" (value of the one row).
    """

    table: str
    column: str = ""
    where: tuple[Condition, ...] = ()
    times: str = ""
    how: str = "sum"

    HOWS: ClassVar[dict[str, str]] = {
        "sum": "sum of",
        "most": "largest",
        "look": "",
    }

    def value(self, tables: Tables) -> float:
        """Reckon it; 0 where no row meets the conditions, not known if not a number."""
        table = tables[self.table]
        for column, sign, wanted in self.where:
            table = table[SIGNS[sign](_comparable(table[column], wanted), wanted)]
        if not self.column:
            return float(len(table))
        values = pd.to_numeric(table[self.column], errors="coerce")
        if self.times:
            values = values * pd.to_numeric(table[self.times], errors="coerce")
        if self.how == "look":
            return float(values.iloc[0]) if len(values) else math.nan
        if self.how == "most":
            return float(values.max()) if len(values) else 0.0
        return float(values.sum())

    def words(self) -> str:
        """Say it: which column of which table, over which rows."""
        what = f"{self.HOWS[self.how]} {self.column}" if self.column else "rows"
        if self.times:
            what += f" × {self.times}"
        rows = " and ".join(f"{c} {SAID[sign]} {_said(v)}" for c, sign, v in self.where)
        return f"{what.strip()} in {self.table}" + (f" where {rows}" if rows else "")

    def cell(self, tables: Tables) -> str:
        """Write it, comparing texts letter by letter: a name may hold * or ?."""
        table = tables[self.table]
        if table.empty:
            return "0"

        def span(column: str) -> str:
            at = list(table.columns).index(column)
            return f"'{self.table}'!{xl_range_abs(1, at, len(table), at)}"

        if self.how == "look":
            (column, _, wanted), *_ = self.where
            return f"INDEX({span(self.column)},MATCH({_cell(wanted)},{span(column)},0))"
        parts = [f"({span(c)}{sign}{_cell(v)})" for c, sign, v in self.where]
        if not self.column:
            return (
                f"SUMPRODUCT({'*'.join(['1', *parts])})"
                if parts
                else (f"ROWS({span(str(table.columns[0]))})")
            )
        parts += [span(c) for c in (self.column, self.times) if c]
        inner = "*".join(parts)
        return (
            f"SUMPRODUCT(MAX({inner}))"
            if self.how == "most"
            else (f"SUMPRODUCT({inner})" if len(parts) > 1 else f"SUM({inner})")
        )

    def tables(self) -> tuple[str, ...]:
        """Name the table."""
        return (self.table,)


@dataclass(frozen=True)
class Joined(Formula):
    """Two formulas and the sign between them."""

    left: Formula
    sign: str
    right: Formula

    def value(self, tables: Tables) -> float:
        """Reckon both and join them."""
        return JOINTS[self.sign](self.left.value(tables), self.right.value(tables))

    def words(self) -> str:
        """Say both."""
        sign = {"/": "÷", "*": "×", "-": "−"}.get(self.sign, self.sign)
        left, right = (_inside(part, self.sign) for part in (self.left, self.right))
        return f"{left} {sign} {right}"

    def cell(self, tables: Tables) -> str:
        """Write both in brackets."""
        left, right = self.left.cell(tables), self.right.cell(tables)
        return f"({left}{self.sign}{right})"

    def tables(self) -> tuple[str, ...]:
        """Name the tables of both, each once."""
        return tuple(dict.fromkeys((*self.left.tables(), *self.right.tables())))


def _inside(part: Formula, sign: str) -> str:
    """Put a sum into brackets where it is multiplied or divided."""
    joined = isinstance(part, Joined) and (sign in "*/" or part.sign in "*/")
    return f"({part.words()})" if joined else part.words()


def _comparable(column: pd.Series, wanted: str | float) -> pd.Series:
    """Make a column comparable with a text or a number; a blank cell is no text."""
    if isinstance(wanted, str):
        return column.astype(object).where(column.notna(), "").astype(str)
    return pd.to_numeric(column, errors="coerce")


def _said(value: str | float) -> str:
    if isinstance(value, str):
        return value or "blank"
    return f"{value:g}"


def _cell(value: str | float) -> str:
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return f"{value:.15g}"
