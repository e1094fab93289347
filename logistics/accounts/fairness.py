"""
How evenly a plan lies over a district: distances of farms and sources, cost of haulage.

Three measures, none of which is fairness itself: the Gini index (Gini, Variabilita e
mutabilita, 1912; formula from memory), the greatest value, and the mean of the worst
tenth (conditional mean: Rockafellar and Uryasev 2000, see `model.mean_of_worst`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import seasonal_demand
from logistics.model import WORST, mean_of_worst
from logistics.results import once_a_result

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from logistics.results import Result

    Floats = NDArray[np.float64]

FARMS, SOURCES, DISTRICTS = "farms", "sources", "districts"
"""Whom a row of `fairness_table` is about."""
NOBODY = float("nan")


def gini(values: Floats, weights: Floats) -> float:
    """
    Return the Gini index: 0 if all are equal, near 1 if one has all.

    With shares w of the weight and mean m::

        G = sum_i sum_j w[i] * w[j] * |x[i] - x[j]| / (2 * m)

    Parameters
    ----------
    values, weights
        Not negative; not a number if there is no weight. A mean of 0 gives 0.

    Examples
    --------
    >>> round(gini(np.arange(1.0, 6.0), np.ones(5)), 6)
    0.266667
    """
    total = float(weights.sum())
    if total <= 0:
        return NOBODY
    order = np.argsort(values, kind="stable")
    share, x = weights[order] / total, values[order]
    part = np.cumsum(share * x)
    if part[-1] <= 0:
        return 0.0
    before = part - share * x
    return float(1.0 - share @ (part + before) / part[-1])


@once_a_result
def nearest_yard(result: Result) -> pd.DataFrame:
    """
    Measure from every market and source to its nearest open yard by road.

    Returns
    -------
    DataFrame
        who (`FARMS`, `SOURCES`), site, district, weight (what it asks for or what
        arises there [t/yr]), km (infinite without a way). Sites of no weight are left
        out.
    """
    yards = list(result.plan.yards["yard"])
    scenario = result.scenario
    asked = seasonal_demand(scenario).groupby("market", observed=True)["tonnes"].sum()
    arises = result.supply.groupby("source", observed=True)["tonnes_per_year"].sum()
    parts = []
    for who, kind, table, tonnes in (
        (FARMS, "market", scenario.markets, asked),
        (SOURCES, "source", scenario.sources, arises),
    ):
        codes = table[kind]
        km = result.travel.shortest_km(kind, codes, yards).min(axis=1, initial=np.inf)
        parts.append(
            pd.DataFrame(
                {
                    "who": who,
                    "site": codes.to_numpy(dtype=object),
                    "district": table["district"].to_numpy(dtype=object),
                    "weight": tonnes.reindex(codes).fillna(0.0).to_numpy(),
                    "km": km,
                }
            )
        )
    every = pd.concat(parts, ignore_index=True)
    return every[every["weight"] > 0].reset_index(drop=True)


def haulage_by_district(result: Result) -> pd.DataFrame:
    """
    Reckon what a collected tonne of each district costs to haul to its yards.

    Returns
    -------
    DataFrame
        district, tonnes [t/yr], money [money/yr], per_t [money/t]; only districts from
        which something is collected.
    """
    of_source = result.scenario.sources.set_index("source")["district"]
    lanes = result.driven[result.driven["kind"] == "in"]
    each = lanes.groupby(lanes["origin"].map(of_source).rename("district"))
    table = each[["tonnes", "money"]].sum().reset_index()
    table = table[table["tonnes"] > 1e-6].reset_index(drop=True)
    return table.assign(per_t=table["money"] / table["tonnes"])


@once_a_result
def fairness_table(result: Result) -> pd.DataFrame:
    """
    Measure how evenly distances and haulage lie.

    Returns
    -------
    DataFrame
        One row each for farms and sources (km to the nearest open yard, weighed by
        tonnes) and for districts (haulage to the yards per tonne collected, weighed by
        tonnes): who, count, mean, gini, worst (mean of the worst tenth of the weight),
        greatest, site (that has it). Values are infinite where somebody has no way.
    """
    near = nearest_yard(result)
    rows = []
    for who in (FARMS, SOURCES):
        some = near[near["who"] == who]
        if len(some):
            rows.append(_measured(who, some["site"], some["km"], some["weight"]))
    hauled = haulage_by_district(result)
    if len(hauled):
        rows.append(
            _measured(DISTRICTS, hauled["district"], hauled["per_t"], hauled["tonnes"])
        )
    columns = ["who", "count", "mean", "gini", "worst", "greatest", "site"]
    return pd.DataFrame(rows, columns=columns)


def _measured(
    who: str, sites: pd.Series, values: pd.Series, weights: pd.Series
) -> Mapping[str, object]:
    x, w = (column.to_numpy(dtype=float) for column in (values, weights))
    share = w / w.sum()
    return {
        "who": who,
        "count": len(x),
        "mean": float(share @ x),
        "gini": gini(x, w) if np.isfinite(x).all() else NOBODY,
        "worst": mean_of_worst(x, share, WORST),
        "greatest": float(x.max()),
        "site": str(sites.iloc[int(np.argmax(x))]),
    }


def by_area(result: Result) -> pd.DataFrame:
    """
    Lay the distances out by district.

    Returns
    -------
    DataFrame
        One row a district in the order of the tables: district, farms, farms_mean,
        farms_most, sources, sources_mean, sources_most (number of sites, mean by weight
        and greatest [km]), per_t (haulage to the yards [money/t collected]; not a
        number if nothing is collected).
    """
    near = nearest_yard(result)
    per_t = haulage_by_district(result).set_index("district")["per_t"]
    order: Sequence[str] = list(dict.fromkeys(near["district"]))
    rows = []
    for district in order:
        row: dict[str, object] = {"district": district}
        for who in (FARMS, SOURCES):
            some = near[(near["who"] == who) & (near["district"] == district)]
            weight, km = (some[c].to_numpy(dtype=float) for c in ("weight", "km"))
            row[who] = len(some)
            mean = float(weight @ km / weight.sum()) if len(some) else NOBODY
            row[f"{who}_mean"] = mean
            row[f"{who}_most"] = float(km.max()) if len(some) else NOBODY
        rows.append({**row, "per_t": per_t.get(district, NOBODY)})
    return pd.DataFrame(rows)
