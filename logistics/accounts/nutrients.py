"""
Nutrients and carbon from where they arise to the field, with every loss named.

Also: what each batch of compost holds against product standards (compared, never
certified), and how much of their need and of what fertiliser it saves the markets.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from logistics.composting import (
    NUTRIENTS,
    dressing_by_market,
    feedstocks,
    fertiliser_saving,
    first_year,
    inside_compost,
    over_rotation,
    source_feedstock,
)
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result

KEPT = (*NUTRIENTS, "c")
OF_FEEDSTOCK = {"n": "nitrogen", "p2o5": "p2o5", "k2o": "k2o", "c": "carbon"}
TINY = 1e-12
"""Less than this share of what arises is rounding. [t/t]"""

STEPS = {
    "arises": "in all that arises",
    "left": "left where it arises",
    "waiting": "lost waiting at sources",
    "stored": "lost in stores of yards",
    "composting": "lost in composting",
    "leftover": "in compost left over",
    "delivered": "delivered to markets",
}


def batches(result: Result) -> pd.DataFrame:
    """
    List every batch of compost with what it holds.

    Returns
    -------
    DataFrame
        yard, period (of its start), product_t [t], moisture [t/t], cn [t/t], and n,
        p2o5, k2o, c as shares of the dry mass [t/t].
    """
    mixes = result.mixes
    return pd.DataFrame(
        {
            "yard": mixes["yard"],
            "period": mixes["period"],
            "product_t": mixes["product_t"],
            "moisture": result.scenario.settings.process.product_moisture,
            "cn": mixes["product_cn"],
            **{key: mixes[key] for key in NUTRIENTS},
            "c": mixes["product_cn"] * mixes["n"],
        }
    )


def nutrient_account(result: Result) -> pd.DataFrame:
    """
    Follow N, P2O5, K2O and carbon from source to field.

    Returns
    -------
    DataFrame
        Rows by step, see `STEPS`; columns n, p2o5, k2o, c [t/yr]. What arises is the
        sum of all other rows.

    Notes
    -----
    What waits or is stored loses mass with all that is in it; composting keeps
    phosphate and potash. Run-off is not in it. Compost that leaves a yard in a period
    has the content of its store in that period.
    """
    plan, scenario = result.plan, result.scenario
    table = feedstocks(scenario).set_index("feedstock")
    each = pd.DataFrame(
        {key: (1 - table["moisture"]) * table[OF_FEEDSTOCK[key]] for key in KEPT}
    )
    of_source = source_feedstock(scenario)

    def inside(codes: pd.Series, tonnes: pd.Series) -> pd.Series:
        rows = each.reindex(codes).to_numpy() * tonnes.to_numpy(dtype=float)[:, None]
        return pd.Series(np.nansum(rows, axis=0), index=list(KEPT))

    def at_sources(flows: pd.DataFrame) -> pd.Series:
        return inside(flows["source"].map(of_source), flows["tonnes"])

    supply = result.supply.rename(columns={"tonnes_per_year": "tonnes"})
    arises, left = at_sources(supply), at_sources(plan.uncollected)
    hauled = at_sources(plan.hauls)
    charged = inside(plan.charges["feedstock"], plan.charges["tonnes"])
    made = _made(result)
    delivered, leftover = (
        _in_compost(result, table_, column)
        for table_, column in (
            (plan.deliveries, "tonnes"),
            (plan.compost, "leftover_t"),
        )
    )
    rows = {
        "arises": arises,
        "left": left,
        "waiting": arises - left - hauled,
        "stored": hauled - charged,
        "composting": charged - made,
        "leftover": leftover,
        "delivered": delivered,
    }
    steps = pd.DataFrame(rows).T[list(KEPT)].rename_axis("step")
    speck = TINY * steps.loc["arises"].abs()
    return steps.where(steps.abs() > speck, 0.0)


def _made(result: Result) -> pd.Series:
    """Count what is in all compost made, batch by batch. [t/yr]"""
    table = batches(result)
    dry = table["product_t"] * (1 - table["moisture"])
    return table[list(KEPT)].mul(dry, axis=0).sum()


def _in_compost(result: Result, table: pd.DataFrame, column: str) -> pd.Series:
    """Count what is in compost that leaves the yards. [t/yr]"""
    plan, scenario, made = result.plan, result.scenario, batches(result)
    inside = inside_compost(scenario, made, plan.compost, table, KEPT, column)
    return inside.sum().reindex(list(KEPT)).fillna(0.0)


LOWER = {"n": "n_low", "p2o5": "p2o5_low", "k2o": "k2o_low", "c": "carbon_low"}
WORDS = {"n": "N", "p2o5": "P2O5", "k2o": "K2O", "c": "organic C"}


def failings(batch: Mapping[str, Any], standard: Mapping[str, Any]) -> list[str]:
    """
    Name the limits of a standard that a batch does not keep; none is a pass.

    Parameters
    ----------
    batch
        Row of `batches`; what is not given is not compared.
    standard
        Row of the table standards; a blank limit is none.

    Examples
    --------
    >>> failings({"cn": 22.0}, {"cn_high": 20.0})
    ['C:N 22.0, at most 20']
    >>> failings({"cn": 18.0}, {"cn_high": 20.0})
    []
    """
    found = []

    def compare(name: str, key: str, limit: str, most: bool, scale: float) -> None:
        value, bound = _number(batch, key), _number(standard, limit)
        if not (np.isfinite(value) and np.isfinite(bound)):
            return
        if value > bound if most else value < bound:
            word, unit = ("at most" if most else "at least"), " %" if scale > 1 else ""
            digits = 2 if scale > 1 else 1
            text = f"{name} {value * scale:.{digits}f}{unit}"
            found.append(f"{text}, {word} {bound * scale:g}{unit}")

    compare("moisture", "moisture", "moisture_high", True, 100.0)
    compare("C:N", "cn", "cn_high", True, 1.0)
    compare("C:N", "cn", "cn_low", False, 1.0)
    for key, limit in LOWER.items():
        compare(WORDS[key], key, limit, False, 100.0)
    together = {"npk": sum(_number(batch, key) for key in NUTRIENTS)}
    batch = {**batch, **together}
    compare("N + P2O5 + K2O", "npk", "npk_low", False, 100.0)
    return found


def _number(row: Mapping[str, Any], key: str) -> float:
    """Value of a key; missing if it is not there."""
    value = row.get(key)
    return float("nan") if value is None else float(value)


def standard_table(result: Result) -> pd.DataFrame:
    """
    Compare every batch of compost with every standard.

    Returns
    -------
    DataFrame
        standard, name, yard, period, passed, failings (in words), others (limits
        that a plan cannot know), status.
    """
    rows = []
    made = records(batches(result))
    for code, standard in rows_by(result.scenario.standards, "standard").items():
        for batch in made:
            found = failings(batch, standard)
            rows.append(
                (
                    code,
                    standard["name"],
                    batch["yard"],
                    batch["period"],
                    not found,
                    "; ".join(found),
                    standard["others"],
                    standard["status"],
                )
            )
    columns = ["standard", "name", "yard", "period", "passed", "failings", "others"]
    return pd.DataFrame(rows, columns=[*columns, "status"])


def nutrient_coverage(result: Result) -> pd.DataFrame:
    """
    Say how much of each market's need the compost covers, and what that is worth.

    Returns
    -------
    DataFrame
        One row a market with hectares and a crop whose need is known, and nutrient:
        market, crop, ha, rate_t_ha, nutrient, applied, first_year, later, need
        [kg/ha], share and share_later of the need [kg/kg], fertiliser, saved_kg (of
        the fertiliser, in the first year) [kg/yr], value, value_later [money/yr].
    """
    scenario, rows = result.scenario, []
    crops = rows_by(scenario.crops, "crop")
    sold = rows_by(scenario.fertilisers, "nutrient")
    tonnes = result.plan.deliveries.groupby("market")["tonnes"].sum()
    plan = result.plan
    inside = dressing_by_market(scenario, result.mixes, plan.compost, plan.deliveries)
    moisture = scenario.settings.process.product_moisture
    ways = [share(scenario.factors) for share in (first_year, over_rotation)]
    for market in records(scenario.markets):
        code, hectares = str(market["market"]), float(market["amount"])
        need = crops.get(str(market["crop"]))
        if market["basis"] != "area" or not hectares or need is None:
            continue
        if code not in tonnes.index:
            continue
        rate = float(tonnes[code]) / hectares
        dry = float(tonnes[code]) * (1 - moisture)
        content = {key: float(inside[key][code]) / dry for key in NUTRIENTS}
        wants = {key: float(need[f"{key}_kg_ha"]) for key in NUTRIENTS}
        first, later = (
            fertiliser_saving(rate, moisture, content, wants, usable) for usable in ways
        )
        for key in NUTRIENTS:
            product = sold[key]
            each = product["price_per_kg"] / product["content"] * hectares
            rows.append(
                (
                    code,
                    market["crop"],
                    hectares,
                    rate,
                    key,
                    first.applied[key],
                    first.available[key],
                    later.available[key],
                    wants[key],
                    first.share_of[key],
                    later.share_of[key],
                    product["name"],
                    first.saved[key] * hectares / product["content"],
                    first.saved[key] * each,
                    later.saved[key] * each,
                )
            )
    return pd.DataFrame(rows, columns=COVERAGE)


COVERAGE = [
    "market",
    "crop",
    "ha",
    "rate_t_ha",
    "nutrient",
    "applied",
    "first_year",
    "later",
    "need",
    "share",
    "share_later",
    "fertiliser",
    "saved_kg",
    "value",
    "value_later",
]
