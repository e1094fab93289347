"""
What a plan leaves to the next, kept beside it as plain JSON: no file of it can run.

It helps and no more: numbers of another problem cost time, never a wrong plan.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from maps.disk import read_json, write_json

if TYPE_CHECKING:
    from logistics.model import WarmStart

WARM = "warm.json"
STATUSES = range(5)
"""The solver's numbers for where a column or row of a basis stands."""


def write_warm(start: WarmStart, path: Path) -> None:
    """Keep a warm start."""
    basis = start.basis
    kept = {
        "basis": {"columns": dict(basis.columns), "rows": dict(basis.rows)}
        if basis
        else None,
        "duals": {name: float(value) for name, value in start.duals.items()},
        "options": sorted(start.options),
        "bases": [list(one) for one in start.bases],
    }
    write_json(path, kept)


def read_warm(path: Path) -> WarmStart | None:
    """Read a warm start; None where there is none, or it is none that we wrote."""
    from logistics.model import Basis, WarmStart

    kept = read_json(path)
    if not kept:
        return None
    try:
        basis = kept["basis"]
        return WarmStart(
            basis=Basis(_statuses(basis["columns"]), _statuses(basis["rows"]))
            if basis
            else None,
            duals={str(name): _finite(v) for name, v in kept["duals"].items()},
            options=frozenset(str(name) for name in kept["options"]),
            bases=tuple((str(t), str(y), int(n)) for t, y, n in kept["bases"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _statuses(told: dict[str, int]) -> dict[str, int]:
    """Return statuses of a basis by name; raise ValueError if one is none."""
    if any(value not in STATUSES for value in told.values()):
        message = "a status that the solver does not have"
        raise ValueError(message)
    return {str(name): int(value) for name, value in told.items()}


def _finite(value: object) -> float:
    """Return a number; raise ValueError if it is none."""
    if not isinstance(value, int | float) or not math.isfinite(value):
        message = f"{value!r} is no number"
        raise ValueError(message)
    return float(value)
