"""Output tables of ranges: between what the money lies, and what each number does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from logistics.results import Result

FIGURE = {"net": "net cost", "haulage": "haulage", "capital": "capital"}
STATED_HEADS = {
    "range": "range",
    "name": "name",
    "standing": "standing",
    "numbers": "numbers [1]",
    "low": "low [in the unit of the range]",
    "likely": "likely [in the unit of the range]",
    "high": "high [in the unit of the range]",
    "planned": "the plan counts with [in the unit of the range]",
}


def money_range(result: Result) -> pd.DataFrame:
    """Between what the money lies in nine cases of ten; empty where it is not asked."""
    table, money = result.money_range, result.scenario.settings.currency
    if table.empty:
        table = pd.DataFrame(columns=["figure", "plan", "low", "middle", "high"])
    units = {"capital": money}
    return pd.DataFrame(
        {
            "figure": table["figure"].map(FIGURE),
            "unit": table["figure"].map(lambda code: units.get(code, f"{money}/yr")),
            f"plan [{money}]": table["plan"].astype(float),
            f"low [{money}]": table["low"].astype(float),
            f"middle [{money}]": table["middle"].astype(float),
            f"high [{money}]": table["high"].astype(float),
        }
    )


def range_ends(result: Result) -> pd.DataFrame:
    """Change of the money by each range and default; empty where it is not asked."""
    ends, money = result.range_ends, result.scenario.settings.currency
    changes = {
        f"{figure}_{end}": f"change of {name} at the {end} end [{money}]"
        for figure, name in FIGURE.items()
        for end in ("low", "high")
    }
    counts = "counts in money_range"
    heads = [
        *(*STATED_HEADS.values(), *changes.values(), counts, "reckoned by", "source")
    ]
    if ends.empty:
        return pd.DataFrame(columns=heads)
    swing = ends[["net_low", "net_high"]].abs().max(axis=1)
    order = swing.sort_values(ascending=False, kind="stable").index
    table = ends.loc[order].reset_index(drop=True)
    table = table.assign(counts=table["whole"].map({True: "yes", False: "no"}))
    named = {**STATED_HEADS, **changes, "counts": counts, "reckoned": "reckoned by"}
    return table.rename(columns=named)[heads]
