"""Write all files of a way."""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from maps.shared import write_csv
from maps.years.way_facts import WayFacts, way_facts
from maps.years.way_page import way_html
from maps.years.way_tables import money_columns, way_tables
from maps.years.way_workbook import write_way_workbook

if TYPE_CHECKING:
    from logistics.years import WayAhead

FOLDER = "way"
"""Folder of the tables as CSV files."""


def write_way(way: WayAhead, out: Path) -> Sequence[str]:
    """Write way.html, way.xlsx, way.json and the tables into a folder."""
    known = way_facts(way)
    folder = out / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in {"money": money_columns(known), **way_tables(known)}.items():
        write_csv(table, folder / f"{name}.csv")
    write_way_workbook(known, out / "way.xlsx")
    (out / "way.html").write_text(way_html(known), encoding="utf-8", newline="\n")
    text = json.dumps(_record(known), ensure_ascii=False, indent=1, allow_nan=False)
    (out / "way.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    return ("way.html", "way.xlsx", "way.json", f"{FOLDER}/")


def _record(known: WayFacts) -> dict[str, object]:
    """Key figures, money in the currency; the same way gives the same text."""
    way, cash = known.way, known.cash
    return {
        "name": way.scenario.settings.name,
        "currency": way.scenario.settings.currency,
        "years": list(way.years),
        "status": way.status,
        "goal": way.goal,
        "value": way.value,
        "net_present_cost": way.present_cost,
        "proven_bound": way.bound if isfinite(way.bound) else None,
        "gap": way.gap if isfinite(way.gap) else None,
        "gap_of_yards": way.gap_of_yards if isfinite(way.gap_of_yards) else None,
        "demands_met_from": way.met_from,
        "discount_rate": known.discount,
        "capital": float(cash["capital"].sum()),
        "borrowed": float(cash["borrowed"].sum()),
        "debt_after_last_year": float(cash["debt"].iloc[-1]),
        "collected_t": known.tonnes["collected"].tolist(),
        "against_nothing": {
            who: {
                "present_value": known.present(who),
                "rates_of_return": list(known.rates(who)),
                "payback_years": known.paid_back(who),
                "discounted_payback_years": known.paid_back(who, discounted=True),
            }
            for who in ("programme", "district", "financed")
        },
        "short": known.short.to_dict("records"),
        "easing": way.easing.to_dict("records"),
        "steps": way.steps.to_dict("records"),
    }
