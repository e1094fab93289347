"""Report, nutrients on the fields: content of the compost, dressings and limits."""

from __future__ import annotations

import pandas as pd

from logistics.composting import (
    NUTRIENTS,
    content_by_yard,
    dressing_by_market,
)
from logistics.scenario import records
from maps.report.origins import counted, traced
from maps.report.pieces import Table, bdi
from maps.report.plan_facts import Facts
from maps.report.sections.compost import market_table
from maps.shared import DASH, amount, apportion, digits_for, names

NAMES = {"n": "N", "p2o5": "P₂O₅", "k2o": "K₂O"}


def yard_content(facts: Facts) -> pd.DataFrame:
    """Nutrients in a tonne of compost: rows yards, columns n p2o5 k2o. [t/t]"""
    return content_by_yard(facts.result.scenario, facts.result.mixes)


def by_market(facts: Facts) -> pd.DataFrame:
    """Nutrients delivered to every market: rows markets, columns n p2o5 k2o. [t/yr]"""
    result = facts.result
    plan = result.plan
    return dressing_by_market(
        result.scenario, result.mixes, plan.compost, plan.deliveries
    )


def fields(facts: Facts) -> Table:
    """List compost and nutrients a hectare by crop, where the tables give hectares."""
    result = facts.result
    rows_of = result.scenario.tables["markets"].set_index("market")
    table = market_table(facts).set_index("market")
    table = table.join(by_market(facts)).fillna(0.0)
    area = rows_of["amount"].where(rows_of["basis"] == "area").reindex(table.index)
    table = table.assign(ha=area)
    crops = table.groupby("crop", sort=False).agg(
        tonnes=("tonnes", "sum"),
        ha=("ha", "sum"),
        known=("ha", "count"),
        groups=("ha", "size"),
        **{key: (key, "sum") for key in NUTRIENTS},
    )
    tonnes = apportion(crops["tonnes"], facts.digits, facts.delivered)
    grain_digits = max(1, digits_for(float(crops[list(NUTRIENTS)].to_numpy().sum())))
    shown = {key: apportion(crops[key], grain_digits) for key in NUTRIENTS}
    rows = []
    for number, row in enumerate(records(crops.reset_index())):
        hectares = row["ha"] if row["known"] == row["groups"] else 0.0
        each = [row["tonnes"], *(row[key] * 1000 for key in NUTRIENTS)]
        rows.append(
            (
                f"{row['crop']} ({row['groups']:,})",
                amount(tonnes[number], facts.digits),
                *(amount(shown[key][number], grain_digits) for key in NUTRIENTS),
                amount(hectares) if hectares else DASH,
                *(
                    amount(value / hectares, 1 if k == 0 else 0) if hectares else DASH
                    for k, value in enumerate(each)
                ),
            )
        )
    return Table(
        "Compost and nutrients delivered by crop (number of groups in brackets)",
        [
            "Crop",
            "Compost [t]",
            *(f"{NAMES[key]} [t]" for key in NUTRIENTS),
            "Area [ha]",
            "Compost [t/ha]",
            *(f"{NAMES[key]} [kg/ha]" for key in NUTRIENTS),
        ],
        rows,
        (
            "Total",
            amount(tonnes.sum(), facts.digits),
            *(amount(shown[key].sum(), grain_digits) for key in NUTRIENTS),
            *[""] * 5,
        ),
        kind="wide",
        note="All nutrients applied in a year, not only those the crop uses in it. "
        "Groups that ask for tonnes have no area.",
        rows_of=["deliveries", "mixes"],
    )


def need_words(facts: Facts) -> str:
    """Say what the tables hold on need and on limits, and how far they are used."""
    markets = facts.result.scenario.tables["markets"]
    columns = [f"{key}_limit_kg_ha" for key in LIMITED]
    limited = markets[columns].notna().any(axis=1)
    text = (
        "The next section says how much of their need this covers, where crop and "
        "hectares are known."
    )
    if limited.any():
        whole = traced(facts, "markets", f"{len(markets):,}")
        groups = counted("limited", f"{int(limited.sum()):,}")
        text += (
            f" {groups} of {whole} groups limit what their "
            "fields may get per hectare; each stays within its limits, reckoned with "
            "the compost as it is made and mixed in the store. The audit holds this."
        )
    return text


LIMITED = {**NAMES, "salt": "salt"}
"""What a market may limit."""


def limited_groups(facts: Facts) -> Table | None:
    """List what the markets with a limit get of what they limit; None without any."""
    label = names(facts.result, "market")
    rows = [
        (
            bdi(label[row["market"]]),
            LIMITED[row["substance"]],
            amount(row["kg_ha"], 1),
            amount(row["limit_kg_ha"], 1),
        )
        for row in records(facts.result.limited)
    ]
    if not rows:
        return None
    return Table(
        "Groups that limit what their fields get in a year [kg/ha]",
        ["Group", "Of", "Gets, as made", "Limit"],
        rows,
        rows_of=["limited"],
    )
