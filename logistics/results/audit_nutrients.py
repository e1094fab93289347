"""The part of the audit that holds what markets get, with the compost as made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.model import relative_gap
from logistics.results.audit_mixes import nitrogen_of

if TYPE_CHECKING:
    from logistics.model import Instance, Plan
    from logistics.results.plan_amounts import PlanArrays

Floats = NDArray[np.float64]
Check = tuple[str, Floats, Floats]

NAMES = {"n": "nitrogen", "p2o5": "phosphate", "k2o": "potash", "salt": "salt"}
NOTHING_T = 1e-6
"""Compost that counts as none. [t]"""


def nutrients_as_made(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Hold what every market gets in the year against its ceiling."""
    if inst.contents is None:
        return
    for key, limits in zip(inst.contents.keys, inst.contents.limit_t, strict=True):
        limited = np.isfinite(limits)
        got, limit = delivered(inst, a, key)[limited], limits[limited]
        breach = (got - limit) / np.maximum(limit, NOTHING_T)
        yield f"nutrients as made: {NAMES[key]}", breach, np.ones(1)


def delivered(inst: Instance, a: PlanArrays, key: str) -> Floats:
    """
    Reckon how much of a substance every market gets, length n. [t/yr]

    What is kept of it is reckoned anew from the feedstock charged, and followed through
    the store as a balance of the year that repeats: what was there and what becomes
    ready equals what leaves and what stays, all of one content.
    """
    feed = inst.feed
    dry = 1 - feed.moisture
    kept = {"p2o5": dry * feed.p2o5, "k2o": dry * feed.k2o, "salt": feed.salt}
    if key == "n":
        charged = nitrogen_of(inst, a)
    else:
        charged = np.einsum("jmt,m->jt", a.charge, kept[key])
    sold = a.outbound.sum(axis=2)  # market, yard, period
    leaves = sold.sum(axis=0) + a.leftover
    inside = charged @ inst.ripening
    yards = zip(leaves, a.compost, inside, strict=True)
    content = np.array([_balance(*yard) for yard in yards]).reshape(leaves.shape)
    return np.asarray(np.einsum("njt,jt->n", sold, content))


def limited_markets(inst: Instance, a: PlanArrays, hectares: Floats) -> pd.DataFrame:
    """
    Say what every market that limits something gets of it.

    Parameters
    ----------
    inst, a
        The problem and its answer.
    hectares
        Of each market, length n; one of 0 gets nothing and has no row. [ha]

    Returns
    -------
    DataFrame
        substance ("n", "p2o5", "k2o" or "salt"), market, kg_ha, limit_kg_ha [kg/ha/yr].
    """
    rows = []
    if inst.contents is not None:
        for key, limits in zip(inst.contents.keys, inst.contents.limit_t, strict=True):
            each = np.stack([delivered(inst, a, key), limits]) * 1000
            for n in np.flatnonzero(np.isfinite(limits) & (hectares > 0)).tolist():
                kg_ha = each[:, n] / hectares[n]
                rows.append((key, inst.markets.codes[n], *kg_ha.tolist()))
    return no_limited_markets(rows)


def no_limited_markets(
    rows: Sequence[tuple[str, str, float, float]] = (),
) -> pd.DataFrame:
    """Lay out the table of `limited_markets`, empty without rows."""
    kinds = {"substance": "str", "market": "str"}
    numbers = dict.fromkeys(("kg_ha", "limit_kg_ha"), "float64")
    table = pd.DataFrame(list(rows), columns=[*kinds, *numbers])
    return table.astype({**kinds, **numbers})


def _balance(leaves: Floats, stays: Floats, inside: Floats) -> Floats:
    """
    Solve the balance of one yard for the content of each period, length t.

    (leaves[t] + stays[t]) * content[t] - stays[t-1] * content[t-1] = inside[t]
    """
    count = len(leaves)
    if not np.isfinite(leaves + stays + inside).all():
        return np.full(count, np.nan)  # what is not a number fails
    rows = np.zeros((count, count))
    right = inside.copy()
    for t in range(count):
        there = leaves[t] + stays[t]
        if there <= NOTHING_T:
            rows[t, t], right[t] = 1.0, 0.0
            continue
        rows[t, t] += there
        rows[t, t - 1] -= stays[t - 1]
    return np.asarray(np.linalg.lstsq(rows, right, rcond=None)[0])


def held_figures(plan: Plan) -> dict[str, Any]:
    """Say what the bound takes as held, and what is proven for all plans."""
    if plan.any_bound is None:
        return {"bound_holds_contents": False, "bound_holds_homes": False}
    gap = relative_gap(plan.objective, min(plan.any_bound, plan.objective))
    return {
        "bound_holds_contents": plan.contents is not None,
        "bound_holds_homes": plan.homes_held,
        "any_plan_bound": plan.any_bound,
        "any_plan_gap": gap,
    }
