"""The handful of figures that head the map, the workbook and the terminal page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.results import Result

STATUS_WORDS = {
    "optimal": "proven within the gap asked for",
    "time_limit": "best found in the time allowed",
    "stopped": "best found before it was stopped",
    "shortage": "demands cannot all be met; see shortages",
}


NET = "Net cost"
TO_PROGRAMME = f"{NET} to the programme"
BY_SOURCES = "Paid by the sources"
A_TONNE = f"{TO_PROGRAMME} per tonne collected"
"""The one cost of a tonne that heads pages: the programme's costs with capital as a
yearly charge, less its income, over the tonnes collected."""
GAP_UNIT = "% (no plan can beat this one by more)"


@dataclass(frozen=True)
class Figure:
    """One key figure: what it is, its value and its unit (or a note)."""

    label: str
    value: float | str
    unit: str


def number(value: object) -> float:
    """
    Turn a number from the summary into a float; anything else counts as not known.

    >>> number(3), number(None)
    (3.0, nan)
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return float("nan")


def share(summary: dict[str, object], material: str) -> float:
    """Share of a material's supply that is collected [t/t]."""
    shares = summary.get("collected_share")
    return number(shares.get(material)) if isinstance(shares, dict) else float("nan")


def collected(summary: dict[str, object], material: str = "all") -> float:
    """Tonnes of a material collected in the year [t/yr]."""
    tonnes = summary.get("collected_t")
    return number(tonnes.get(material)) if isinstance(tonnes, dict) else float("nan")


def proven_gap(result: Result) -> float:
    """Proven gap as a share of the net cost; not known where nothing is proven."""
    gap = result.plan.gap
    return gap if math.isfinite(gap) else float("nan")


def key_figures(result: Result) -> list[Figure]:
    """
    Figures a board asks for first, from the summary of the result.

    Returns
    -------
    list of Figure
        In the order in which they are shown.
    """
    summary, currency = result.summary, result.scenario.settings.currency
    candidates = len(result.scenario.tables["yards"])
    status = STATUS_WORDS.get(result.plan.status, result.plan.status)
    return [
        Figure("Plan", status, ""),
        Figure("Yards in use", number(summary["yards_open"]), f"of {candidates} sites"),
        Figure("Collected", collected(summary), "t/yr"),
        Figure("Share of the supply", share(summary, "all") * 100, "%"),
        Figure("Left uncollected", number(summary["uncollected_t"]), "t/yr"),
        Figure("Compost", number(summary["compost_t"]), "t/yr"),
        Figure(NET, number(summary["total_cost"]), f"{currency}/yr"),
        Figure(TO_PROGRAMME, number(summary["programme_cost"]), f"{currency}/yr"),
        Figure(BY_SOURCES, number(summary["sources_pay"]), f"{currency}/yr"),
        Figure("Haulage", number(summary["haul_cost"]), f"{currency}/yr"),
        Figure(A_TONNE, number(summary["cost_per_t_collected"]), f"{currency}/t"),
        Figure("Proven gap", proven_gap(result) * 100, GAP_UNIT),
    ]
