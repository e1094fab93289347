"""Report, the first page: key figures, and what to do next."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from markupsafe import Markup

from logistics.scenario import records, rows_by
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

    sites = len(facts.result.scenario.tables["yards"])
    return [
        Figure("Yards in use", text(len(facts.result.plan.yards)), f"of {sites} sites"),
        Figure("Collected", text(facts.collected, facts.digits), "t/yr"),
        Figure("Share of the supply", text(part), "%"),
        Figure("Compost made", text(facts.made, facts.digits), "t/yr"),
        Figure("Demand met", text(met), "%"),
        Figure(net_label(facts.net), facts.unit.text(abs(facts.net)), f"{unit}/yr"),
        Figure(
            f"{net_label(own)} to the programme",
            facts.unit.text(abs(own)),
            f"{unit}/yr",
        ),
        Figure(
            f"{net_label(each)} to the programme per tonne collected",
            facts.unit.each(abs(each)),
            f"{currency}/t",
        ),
        Figure(
            "One-off capital",
            facts.unit.text(float(capital(facts).to_numpy().sum())),
            unit,
        ),
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
            Markup("{} ({}{} m²)").format(
                bdi(label[y]),
                "enlarged to " if status[y] == "enlarged" else "",
                amount(sizes[s]["site_m2"]),
            )
            for y, s in new
        ]
        shown = sites[:MOST_NAMED]
        rest = len(sites) - len(shown)
        if rest:
            shown.append(Markup(f"{rest} more"))
        found.append(
            Markup("Visit and secure the sites: {}; apply for permits.").format(
                listed(shown)
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
            ).format(count(used, "value"), DEFAULTS, numbers[DEFAULTS])
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
    shown = [
        Markup("{} ({})").format(
            bdi(label[str(code)]), united(tonnes, "t", facts.digits)
        )
        for code, tonnes in top.items()
    ]
    return Markup(
        "Agree on supply with {}, starting with the largest: {} bring {} % of "
        "everything collected."
    ).format(
        count(len(taken), "source"),
        listed(shown),
        amount(top.sum() / taken.sum() * 100),
    )


def _unmeasured(facts: Facts) -> list[Markup]:
    """Name the feedstocks in the mixes whose values are defaults."""
    used = set(facts.result.plan.charges["feedstock"])
    return [
        bdi(facts.material_name[str(row["material"])])
        for row in records(facts.result.scenario.tables["materials"])
        if row["material"] in used and str(row["status"]).startswith("default")
    ]
