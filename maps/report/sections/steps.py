"""Report, the first page: key figures, and what to do next."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from markupsafe import Markup

from logistics.scenario import records, rows_by
from maps.report.origins import counted, traced
from maps.report.pieces import Cell, bdi, listed, plain
from maps.report.plan_facts import Facts, capital
from maps.shared import Figure, amount, count, names, net_label, united, yard_status

if TYPE_CHECKING:
    import pandas as pd

DEFAULTS = "assumptions"
"""Code of the section that lists the defaults."""
MOST_NAMED = 6
MOST_SUPPLIERS = 3


def figures(facts: Facts) -> list[Figure]:
    """List the key figures."""
    currency, unit = plain(facts.currency), facts.unit.name
    part = facts.collected / facts.arises * 100 if facts.arises else math.nan
    asked_for = facts.delivered + facts.unmet
    met = facts.delivered / asked_for * 100 if asked_for else math.nan
    each, own = facts.a_tonne, facts.programme

    def text(value: float, digits: int = 0) -> str:
        return amount(value, digits)

    def made(code: str, label: str, value: str, unit: str) -> Figure:
        return Figure(label, traced(facts, code, value), unit)

    yards, word = len(facts.result.plan.yards), net_label(facts.net)
    need = float(capital(facts).to_numpy().sum())
    sites = len(facts.result.scenario.tables["yards"])
    of = traced(facts, "sites", f"{sites} sites")
    return [
        made("yards", "Yards in use", text(yards), f"of {of}"),
        made("collected", "Collected", text(facts.collected, facts.digits), "t/yr"),
        made("collected_share", "Share of the supply", text(part), "%"),
        made("made", "Compost made", text(facts.made, facts.digits), "t/yr"),
        made("demand_met", "Demand met", text(met), "%"),
        made("net", word, facts.unit.text(abs(facts.net)), f"{unit}/yr"),
        made(
            "programme",
            f"{net_label(own)} to the programme",
            facts.unit.text(abs(own)),
            f"{unit}/yr",
        ),
        made(
            "net_per_t",
            f"{net_label(each)} to the programme per tonne collected",
            facts.unit.each(abs(each)),
            f"{currency}/t",
        ),
        made("capital", "One-off capital", facts.unit.text(need), unit),
    ]


def steps(facts: Facts, numbers: Mapping[str, int]) -> list[Cell]:
    """Say what to do next, from the plan; `numbers` are those of the sections."""
    result = facts.result
    found: list[Cell] = []
    status, label = yard_status(result), names(result, "yard")
    sizes = rows_by(result.scenario.tables["yard_sizes"], "size")
    new = [(y, s) for y, s in result.plan.yard_sizes if status[y] != "existing"]
    short = result.plan.status == "shortage"
    if short:
        found.append("Decide which demand to relax, change it and plan again.")
    if new and not short:
        sites = [
            Markup("{} ({}{})").format(
                bdi(label[y]),
                "enlarged to " if status[y] == "enlarged" else "",
                traced(facts, f"site_area/{y}", f"{amount(sizes[s]['site_m2'])} m²"),
            )
            for y, s in new
        ]
        listing: list[str] = [*sites[:MOST_NAMED]]
        rest = len(sites) - len(listing)
        if rest:
            listing.append(counted("yards", f"{rest} more"))
        found.append(
            Markup("Visit and secure the sites: {}; apply for permits.").format(
                listed(listing)
            )
        )
    suppliers = _largest(facts)
    if suppliers and not short:
        found.append(suppliers)
    unstated = _unmeasured(facts)
    if unstated:
        found.append(
            Markup(
                "Have {} sampled for moisture, carbon and nitrogen: their values are "
                "defaults, and the mixes depend on them."
            ).format(listed(unstated))
        )
    used = len(result.scenario.defaults_used)
    if used:
        found.append(
            Markup(
                '{} are defaults, not local (<a href="#{}">section {}</a>): replace '
                "those that matter and plan again before you commit money."
            ).format(
                traced(facts, "defaults", count(used, "value")),
                DEFAULTS,
                numbers[DEFAULTS],
            )
        )
    return found


def _largest(facts: Facts) -> Markup | None:
    """Name the largest suppliers, to be asked first."""
    lanes = facts.result.lanes
    taken = lanes[lanes["kind"] == "in"].groupby("origin")["tonnes"].sum()
    taken = taken[taken > 0].sort_values(ascending=False, kind="stable")
    if taken.empty:
        return None
    top: pd.Series[float] = taken.head(MOST_SUPPLIERS)
    label = names(facts.result, "source")
    largest = [
        Markup("{} ({})").format(
            bdi(label[str(code)]),
            traced(facts, f"supplier/{code}", united(tonnes, "t", facts.digits)),
        )
        for code, tonnes in top.items()
    ]
    return Markup(
        "Agree on supply with {}, starting with the largest: {} bring {} % of "
        "everything collected."
    ).format(
        traced(facts, "sources_used", count(len(taken), "source")),
        listed(largest),
        traced(facts, "suppliers_share", amount(top.sum() / taken.sum() * 100)),
    )


def _unmeasured(facts: Facts) -> list[Markup]:
    """Name the feedstocks in the mixes whose values are defaults."""
    used = set(facts.result.plan.charges["feedstock"])
    return [
        bdi(facts.material_name[str(row["material"])])
        for row in records(facts.result.scenario.tables["materials"])
        if row["material"] in used and str(row["status"]).startswith("default")
    ]
