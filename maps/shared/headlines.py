"""The handful of figures that head the map, the workbook and the terminal page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.model import Plan
    from logistics.results import Result


def held_words(plan: Plan) -> str:
    """Name what the proof of a plan takes as given; empty where it takes nothing."""
    if plan.any_bound is None:
        return ""
    held = ["compost of these contents"] if plan.contents is not None else []
    held += ["own trucks at home at these yards"] if plan.homes_held else []
    return " and ".join(held)


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
GAP_UNIT = "% (no plan{} can beat this one by more)"


@dataclass(frozen=True)
class Figure:
    """
    One key figure: what it is, its value and its unit (or a note).

    `code` is that of its lineage (see `maps.tables.register`); blank if it has none.
    """

    label: str
    value: float | str
    unit: str
    code: str = ""


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
    net, each = f"{currency}/yr", f"{currency}/t"
    held = held_words(result.plan)
    gap_unit = GAP_UNIT.format(f" with {held}" if held else "")
    rows: list[tuple[str, str, object, str]] = [
        ("yards", "Yards in use", summary["yards_open"], f"of {candidates} sites"),
        ("collected", "Collected", collected(summary), "t/yr"),
        ("collected_share", "Share of the supply", share(summary, "all") * 100, "%"),
        ("left", "Left uncollected", summary["uncollected_t"], "t/yr"),
        ("made", "Compost", summary["compost_t"], "t/yr"),
        ("net", NET, summary["total_cost"], net),
        ("programme", TO_PROGRAMME, summary["programme_cost"], net),
        ("sources_pay", BY_SOURCES, summary["sources_pay"], net),
        ("haulage", "Haulage", summary["haul_cost"], net),
        ("net_per_t", A_TONNE, summary["cost_per_t_collected"], each),
        ("gap", "Proven gap", proven_gap(result) * 100, gap_unit),
    ]
    return [
        Figure("Plan", status, ""),
        *(
            Figure(label, number(value), unit, code)
            for code, label, value, unit in rows
        ),
    ]
