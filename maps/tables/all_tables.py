"""
The output tables, in the order in which workbook and folder show them.

To add a table, write a function from Result to DataFrame whose headings carry their
units and whose docstring says what a row is, and name it here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pandas as pd

from logistics.results import once_a_result
from maps.shared import assumptions, defaults_used
from maps.tables import accounts as accounttables
from maps.tables import backhaul as pairtables
from maps.tables import flows as flowtables
from maps.tables import lineage as lineagetables
from maps.tables import money as moneytables
from maps.tables import people as peopletables
from maps.tables import ranges as rangetables
from maps.tables import run as runtables
from maps.tables import siting as sitingtables
from maps.tables import trucks as fleettables

if TYPE_CHECKING:
    from logistics.results import Result

TABLES: dict[str, Callable[[Result], pd.DataFrame]] = {
    "yards": flowtables.yards,
    "hauls": flowtables.hauls,
    "mixes": flowtables.mixes,
    "deliveries": flowtables.deliveries,
    "compost": flowtables.compost,
    "stock": flowtables.stock,
    "supply": flowtables.supply,
    "uncollected": flowtables.uncollected,
    "nutrients": accounttables.nutrients,
    "limited": accounttables.limited,
    "standards": accounttables.standards,
    "coverage": accounttables.coverage,
    "emissions": accounttables.emissions,
    "emission_range": accounttables.emission_range,
    "work": accounttables.work,
    "fleet": fleettables.fleet,
    "fleet_bases": fleettables.fleet_bases,
    "fleet_worth": fleettables.fleet_worth,
    "paired": pairtables.paired,
    "paired_by_period": pairtables.paired_by_period,
    "budget": moneytables.budget,
    "ledger": moneytables.ledger,
    "capital": moneytables.capital,
    "spending": moneytables.spending,
    "gains": moneytables.gains,
    "over_the_years": moneytables.over_the_years,
    "unit_costs": moneytables.unit_costs,
    "worse_off": moneytables.dearer,
    "districts": moneytables.districts,
    "money_range": rangetables.money_range,
    "range_ends": rangetables.range_ends,
    "people": peopletables.people,
    "exposure": peopletables.exposure,
    "fairness": peopletables.fairness,
    "distances": peopletables.by_district,
    "shortages": moneytables.shortages,
    "worth": moneytables.worth,
    "audit": moneytables.audit,
    "run": runtables.run_details,
    "screening": sitingtables.screening,
    "assumptions": assumptions,
    "defaults_used": defaults_used,
}
"""Name of the table (its file and sheet) -> the function that makes it."""


def lineage(result: Result) -> pd.DataFrame:
    """Where each figure comes from: its formula over the other sheets, its inputs."""
    return lineagetables.lineage_table(result, _planned(result))


LINEAGE = "lineage"
TABLES[LINEAGE] = lineage


def _planned(result: Result) -> dict[str, pd.DataFrame]:
    """Make every table but the one that is reckoned from the others."""
    return {name: make(result) for name, make in TABLES.items() if name != LINEAGE}


def tables(result: Result) -> dict[str, pd.DataFrame]:
    """Make every output table; the order is that of `TABLES`."""
    return dict(_tables(result))


@once_a_result
def _tables(result: Result) -> dict[str, pd.DataFrame]:
    made = _planned(result)
    return {**made, LINEAGE: lineagetables.lineage_table(result, made)}
