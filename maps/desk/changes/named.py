"""Names of a scenario's places and kinds, read without what only plans need."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.scenario import Scenario

TABLE_OF = {
    "source": "sources",
    "market": "markets",
    "yard": "yards",
    "material": "materials",
    "period": "periods",
    "truck": "trucks",
    "size": "yard_sizes",
}
"""Kinds with a table of codes and names."""


def named(scenario: Scenario, kind: str) -> dict[str, str]:
    """
    Return code -> name; the code itself where there is none.

    Parameters
    ----------
    scenario
        A scenario without faults.
    kind
        A key of `TABLE_OF`, "district" or "road".
    """
    if kind == "district":
        return {code: code for code in _districts(scenario)}
    if kind == "road":
        return {str(code): str(code) for code in scenario.roads["road"] if code}
    table = scenario.tables[TABLE_OF[kind]]
    pairs = zip(table[kind], table["name"], strict=True)
    return apart({str(code): str(name) or str(code) for code, name in pairs})


def _districts(scenario: Scenario) -> list[str]:
    """Codes of the districts in which a source, market or yard lies."""
    every = [
        str(code)
        for table in ("sources", "markets", "yards")
        for code in scenario.tables[table]["district"]
    ]
    return [code for code in dict.fromkeys(every) if code]


def apart(known: dict[str, str]) -> dict[str, str]:
    """
    Put the code behind every name that more than one code bears.

    >>> apart({"a": "Mill", "b": "Mill", "c": "Port"})
    {'a': 'Mill (a)', 'b': 'Mill (b)', 'c': 'Port'}
    """
    count = Counter(known.values())
    return {
        code: f"{name} ({code})" if count[name] > 1 and name != code else name
        for code, name in known.items()
    }
