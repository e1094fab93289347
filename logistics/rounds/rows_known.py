"""Rows of a scenario's tables by code, looked up once however often they are asked."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.scenario import Scenario

KEYS = {
    "sources": "source",
    "yards": "yard",
    "markets": "market",
    "trucks": "truck",
    "periods": "period",
}


@lru_cache(maxsize=16)
def rows_of(scenario: Scenario, table: str) -> dict[str, dict[str, Any]]:
    """Give the rows of a table, such as "trucks", by their code; not to be changed."""
    return rows_by(scenario.tables[table], KEYS[table])
