"""
The sheet `lineage`: every figure with its formula and the inputs it rests on.

From a figure one comes to the rows of a table of the plan, from there to the inputs
and to the defaults among them, which the sheets `defaults_used` and `assumptions` list
with their sources.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import in_list
from maps.tables.lineage_figures import register
from maps.tables.lineage_record import ALL, Lineage

if TYPE_CHECKING:
    from logistics.results import Result

VALUE, HOW = "value [unit beside it]", "how it is reckoned"


@dataclass(frozen=True)
class InputGroup:
    """A group of inputs: tables, and settings by the beginning of their names."""

    words: str
    tables: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()


BASES = {
    "supply": InputGroup("amounts at the sources", ("sources",)),
    "calendar": InputGroup("seasons", ("calendar", "periods")),
    "materials": InputGroup("values of the feedstocks", ("materials",)),
    "roads": InputGroup(
        "roads, distances and speeds", ("roads", "periods"), ("travel.",)
    ),
    "trucks": InputGroup(
        "trucks and their working time", ("trucks",), ("work.", "haul.")
    ),
    "yards": InputGroup(
        "sites and sizes of yards", ("yards", "yard_sizes", "siting_rules")
    ),
    "composting": InputGroup(
        "mixing and composting", (), ("mix.", "process.", "windrow.", "cover.")
    ),
    "markets": InputGroup("markets", ("markets",), ("product.",)),
    "prices": InputGroup("prices", ("period_prices",), ("finance.",)),
    "gases": InputGroup("emission factors", ("factors",)),
    "crops": InputGroup("crops and fertilisers", ("crops", "fertilisers")),
    "people": InputGroup("places with people", ("people",), ("people.",)),
    "ranges": InputGroup("ranges", ("ranges",)),
    "search": InputGroup(
        "goal and limits", ("policy",), ("goal.", "policy.", "solve.")
    ),
    "defaults": InputGroup("all inputs"),
    "assumptions": InputGroup("the input itself"),
}
"""Code of a group of inputs, as the register of figures names it."""
BESIDE = ("gases", "crops", "people", "ranges", "defaults", "assumptions")
PLANNED = tuple(name for name in BASES if name not in BESIDE)
"""What every decision of the plan rests on."""


def defaults_of(used: pd.DataFrame) -> dict[str, int]:
    """Count the defaults in use of each group of inputs, and of the whole plan."""
    table, column = used["table"].astype(str), used["column"].astype(str)
    counts, planned = {}, pd.Series(data=False, index=used.index)
    for name, basis in BASES.items():
        inside = table.isin(list(basis.tables))
        if basis.settings:
            inside |= (table == "settings") & column.str.startswith(basis.settings)
        counts[name] = int(inside.sum())
        if name in PLANNED:
            planned |= inside
    return {**counts, "defaults": len(used), ALL: int(planned.sum())}


def rests_on(lineage: Lineage) -> str:
    """Say which inputs a figure rests on."""
    return in_list(
        BASES[name].words if name in BASES else name for name in lineage.rests
    )


def lineage_table(result: Result, tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """
    Reckon every figure of the register from the tables of the plan.

    Parameters
    ----------
    result
        A plan.
    tables
        Its tables by name, as they are written.

    Returns
    -------
    DataFrame
        code, figure, value, unit, how it is reckoned, rests on, defaults among them.
    """
    counts = defaults_of(result.scenario.defaults_used)
    rows = [
        (
            each.code,
            each.name,
            each.formula.value(tables),
            each.unit,
            each.formula.words(),
            rests_on(each),
            sum(counts[name] for name in each.rests),
        )
        for each in _known(result, tables)
    ]
    heads = [
        "code",
        "figure",
        VALUE,
        "unit",
        HOW,
        "rests on",
        "defaults among these [values]",
    ]
    return pd.DataFrame(rows, columns=heads)


def formulas(result: Result, tables: Mapping[str, pd.DataFrame]) -> list[str]:
    """Write the formula of every figure for a workbook with all tables as sheets."""
    return [f"={each.formula.cell(tables)}" for each in _known(result, tables)]


def _known(result: Result, tables: Mapping[str, pd.DataFrame]) -> list[Lineage]:
    """List the figures that this plan has; some have no ranges, or no payback."""
    values = register(result).values()
    return [each for each in values if pd.notna(each.formula.value(tables))]
