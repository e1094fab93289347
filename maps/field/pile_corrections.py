"""Table of a yard sheet: what to add to a pile that is too wet, dry, rich or poor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.composting import RICHER, WETTER, corrections, feedstocks
from maps.report import Cell, Table, Words, bdi
from maps.shared import DASH, amount, feedstock_name

if TYPE_CHECKING:
    from maps.field.yard_month import Month

SIGNS = {
    "wet": "Too wet: water runs from a squeezed handful; sour smell",
    "dry": "Too dry: a squeezed handful falls apart; dust, no heat",
    "rich": "Too rich: sharp smell of ammonia",
    "poor": "Too poor: wet enough, yet no heat after a week",
}
"""Common practice, no source."""


def correction_table(month: Month) -> Table | Words:
    """List what puts right a tonne of pile, from the same table as the mix."""
    if month.mix is None:
        return Words([])
    scenario = month.result.scenario
    table = feedstocks(scenario)
    charged = month.stock.set_index("feedstock")["charge_t"]
    tonnes = charged.reindex(table["feedstock"]).fillna(0.0).to_numpy(dtype=float)
    names = feedstock_name(month.result, table["feedstock"]).tolist()
    bucket = scenario.settings.windrow.bucket_m3
    rows: list[list[Cell]] = []
    for each in corrections(
        tonnes, float(month.mix["water_t"]), table, scenario.settings
    ):
        what, kilograms, buckets = "water", DASH, DASH
        if each.feedstock is not None:
            what = bdi(names[each.feedstock])
            kilograms = amount(each.add_t * 1000)
            buckets = amount(each.add_m3 / bucket, 2)
        litres = amount(each.water_t * 1000) if each.water_t > 0 else DASH
        rows.append([SIGNS[each.fault], what, kilograms, buckets, litres])
    return Table(
        "What to add to each tonne of a pile that came out wrong",
        ["What you find", "Add", "kg", "Buckets", "Water, L"],
        rows,
        words=2,
        kind="wide",
        note=f"For moisture {WETTER * 100:g} points and C:N {RICHER:g} points off the "
        "plan; half as much off takes half. Mix it in with a turning, and look again "
        "after two days. A few drops from a squeezed handful are right; only a "
        "laboratory tells moisture and C:N for sure.",
        rows_of=(),
    )
