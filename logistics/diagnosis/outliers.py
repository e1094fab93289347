"""Figures a thousand times off the others of their class: a separator misread."""

from __future__ import annotations

import math
from collections import defaultdict
from statistics import median
from typing import TYPE_CHECKING

from logistics.scenario import Problem, clear_number, columns_of, is_money

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from logistics.scenario import RawTable

FAR = 300.0
"""
How far off the middle of the others a figure is doubted (judgement).

A factor of 100 is ordinary, between a village mill and a town's. A figure misread by a
thousand lies above this unless its true value was three times off the middle already.
"""
FEWEST = 3
"""Rows of a class: with two nobody can say which is wrong."""
THOUSAND = 1000.0
CLASSES: Mapping[tuple[str, str], tuple[tuple[str, ...], ...]] = {
    ("sources", "amount"): (("material", "basis"), ("basis",)),
    ("sources", "yield_t_ha"): (("material",), ()),
    ("sources", "kg_per_head_day"): (("material",),),  # a hen is no cow
    ("sources", "can_hold_t"): (("material",), ()),
    ("markets", "amount"): (("basis",),),
    ("markets", "rate_t_ha"): ((),),
    ("yards", "area_m2"): ((),),
    ("yards", "water_m3_per_day"): ((),),
}
"""Table and column to the columns that make a class; the first that is large counts."""


def outliers(raw: RawTable) -> list[Problem]:
    """
    Warn of figures about a thousand times above or below the others of their class.

    Parameters
    ----------
    raw
        Table of texts. Money of any table is a class by itself, column by column.

    Returns
    -------
    list of Problem
        One a cell, with what it would be if its separator was misread.
    """
    problems: list[Problem] = []
    for column in columns_of(raw.table):
        texts = raw.cells.get(column.name)
        classes = CLASSES.get((raw.table, column.name), ((),) * is_money(column))
        if texts is None or not classes:
            continue
        values = [_positive(text) for text in texts]
        found: dict[int, Problem] = {}
        settled: set[int] = set()
        for keys in classes:
            for rows in _groups(raw, keys, values):
                for n in rows:
                    if n not in settled and (usual := _far_off(n, rows, values)):
                        found[n] = _doubt(raw, n, column.name, values[n], usual)
                settled.update(rows)
        problems += [found[n] for n in sorted(found)]
    return problems


def _groups(
    raw: RawTable, keys: Sequence[str], values: Sequence[float]
) -> Iterator[list[int]]:
    """Yield the rows of every class that is large enough to show what is usual."""
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for n, value in enumerate(values):
        if value:
            own = (raw.cells[key][n] if key in raw.cells else "" for key in keys)
            groups[tuple(own)].append(n)
    yield from (rows for rows in groups.values() if len(rows) >= FEWEST)


def _far_off(n: int, rows: Sequence[int], values: Sequence[float]) -> float:
    """Return the middle of a row's others where the row is far off it, else 0."""
    usual = median(values[other] for other in rows if other != n)
    ratio = values[n] / usual
    return 0.0 if 1 / FAR < ratio < FAR else usual


def _doubt(raw: RawTable, n: int, column: str, value: float, usual: float) -> Problem:
    ratio = value / usual
    steps = math.copysign(max(1, round(abs(math.log(ratio, THOUSAND)))), ratio - 1)
    meant = float(f"{value / THOUSAND**steps:.12g}")
    times = f"{max(ratio, 1 / ratio):,.0f} times {'larger' if ratio > 1 else 'smaller'}"
    why = (
        f"is {times} than the median of similar rows ({usual:,.15g}), so it may mean "
        f"{value:,.15g} or {meant:,.15g}"
    )
    remedy = f"Write {meant:.15g} if a separator was misread; otherwise leave it"
    return Problem(raw.file, raw.rows[n], column, raw.cells[column][n], why, remedy)


def _positive(text: str) -> float:
    """Return the number of a cell, or 0 where there is none above 0."""
    value = clear_number(text)
    return value if 0 < value < math.inf else 0.0
