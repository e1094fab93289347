"""Own trucks at home at a yard, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.scenario import records
from maps.shared.place_names import names

if TYPE_CHECKING:
    from logistics.results import Result


def own_trucks_at(result: Result) -> dict[str, str]:
    """Say by yard which own trucks are at home there: "2 light truck; 1 tipper"."""
    label = names(result, "truck")
    found: dict[str, list[str]] = {}
    for row in records(result.plan.bases):
        text = f"{row['count']} {label.get(row['truck'], row['truck'])}"
        found.setdefault(row["yard"], []).append(text)
    return {yard: "; ".join(parts) for yard, parts in found.items()}
