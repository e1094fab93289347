"""Frontier and robust yards as tables with units and names."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import in_list
from logistics.studies import frontier_table, futures_table, yards_table
from maps.shared import told_apart

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logistics.scenario import Scenario
    from logistics.studies import Against, Point, Robust

UNIT = {
    "collected": "t",
    "co2e": "kg CO2e",
    "yards": "yard",
    "people": "head",
    "fairness": "km",
}


def yard_names(scenario: Scenario) -> dict[str, str]:
    """Name of every yard by its code."""
    yards = scenario.yards
    if "name" not in yards:
        return {}
    known = zip(yards["yard"], yards["name"], strict=True)
    return told_apart({c: str(n) for c, n in known if pd.notna(n) and str(n)})


def frontier_rows(
    points: Sequence[Point], against: Against, currency: str, names: dict[str, str]
) -> pd.DataFrame:
    """One row a point of the frontier, with units."""
    table = frontier_table(points, against)
    table["gap"] = table["gap"] * 100
    table["codes"] = [
        in_list(f"{names.get(j, j)} ({size})" for j, size in point.plan.yard_sizes)
        for point in points
    ]
    heads = {
        "cost": f"net cost [{currency}/yr]",
        "bound": f"cost no less than [{currency}/yr]",
        "gap": "proven gap [%]",
        "collected": "collected [t/yr]",
        "co2e": "emitted [kg CO2e/yr]",
        "yards": "yards open",
        "exposed": "people near yards",
        "worst_farms": "worst tenth of farms [km]",
        "codes": "which yards",
        "step": f"cost of one more since the row above [{currency}/{UNIT[against]}]",
        "knee": "knee",
    }
    for key in ("exposed", "worst_farms"):  # not known of this district
        if table[key].isna().all():
            del heads[key]
    return table[list(heads)].rename(columns=heads)


def robust_tables(
    found: Robust, currency: str, names: dict[str, str]
) -> dict[str, pd.DataFrame]:
    """Key figures, futures and yards of a robust choice, with units."""
    money = f"[{currency}/yr]"
    low, high = found.evpi
    least, most = found.vss
    worth = found.risk
    figures: list[tuple[str, object]] = [
        (f"expected cost plus risk {money}", found.decision.value),
        (f"no choice costs less than {money}", found.decision.bound),
        ("proven gap [%]", found.decision.gap * 100),
        ("weight of the worst futures (CVaR)", worth.weight),
        ("worst share of futures counted [%]", (1 - worth.level) * 100),
        (f"knowing the future is worth at least (EVPI) {money}", low),
        (f"knowing the future is worth at most (EVPI) {money}", high),
        (f"against the base's yards this saves at least (VSS) {money}", least),
        (f"against the base's yards this saves at most (VSS) {money}", most),
        ("rounds of planes", found.decision.rounds),
        ("time for the joint choice [s]", found.decision.seconds),
    ]
    futures = futures_table(found)
    futures["weight"] = futures["weight"] * 100
    yards = yards_table(found)
    yards["alone"] = yards["alone"] * 100
    yards["yard"] = [names.get(code, code) for code in yards["yard"]]
    return {
        "worth": pd.DataFrame(figures, columns=["figure", "value"]),
        "futures": futures.rename(
            columns={
                "weight": "weight [%]",
                "alone": f"yards of its own: cost {money}",
                "alone_bound": f"yards of its own: cost no less than {money}",
                "robust": f"robust yards: cost {money}",
                "base": f"base's yards: cost {money}",
            }
        ),
        "yards": yards.rename(
            columns={
                "base": "size in the base plan",
                "robust": "size in the robust plan",
                "alone": "futures that alone would build it [%]",
            }
        ),
    }
