"""What many futures say together: ranking, cost at risk, yards chosen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from logistics.scenario import records
from logistics.studies.risk import cvar as weighted_cvar
from logistics.studies.stress_runs import OPERATE, REPLAN, Stress, spoiling
from logistics.studies.stress_scenarios import BASE, Future

LEVELS = (0.90, 0.95)
MONEY = ("cost", "haulage", "capital")
"""Measures in money: net cost and haulage of a year, capital."""
LOST = ("source", "market", "yard", "road")


def cvar(values: ArrayLike, level: float, weights: ArrayLike | None = None) -> float:
    """
    Mean of the worst (1 - level) of all cases: conditional value at risk.

    Parameters
    ----------
    values
        Costs; more is worse.
    level
        Share of cases that are not looked at, from 0 (all are) to below 1. [1]
    weights
        Probability of each case, up to a factor; equal if left out.

    Returns
    -------
    float
        In the unit of the values.

    Notes
    -----
    Conditional value at risk as in `risk.cvar`, after Rockafellar and Uryasev, 2000.

    Examples
    --------
    The worst fifth of five equal cases is the worst case, the worst two fifths two:

    >>> round(cvar([1, 2, 3, 4, 10], 0.8), 9), round(cvar([1, 2, 3, 4, 10], 0.6), 9)
    (10.0, 7.0)
    """
    if not 0 <= level < 1:
        message = f"level is {level}, but must be from 0 to below 1"
        raise ValueError(message)
    cost = np.asarray(values, dtype=float)
    if not len(cost):
        message = "there are no cases"
        raise ValueError(message)
    given = np.ones(len(cost)) if weights is None else np.asarray(weights, float)
    if (given < 0).any() or given.sum() <= 0:
        message = "weights must not be negative, and not all nothing"
        raise ValueError(message)
    return weighted_cvar(cost, given / given.sum(), level)


def runs_table(found: Stress) -> pd.DataFrame:
    """
    One row a future and answer.

    Returns
    -------
    DataFrame
        future, kind, what, title, answer, status, cost, still_owed, against_base,
        haulage [money/yr] (what is owed for a lost yard is in cost), capital [money],
        collected, compost
        [t/yr], left_<material> and more_left_<material> (against the base) [t/yr],
        yards (codes with sizes), gap, shortages (sentences).
    """
    rows: list[dict[str, Any]] = []
    for future in found.futures:
        for answer in (OPERATE, REPLAN):
            record = found.records.get((future.change.code, answer))
            if record is None:
                continue
            base = found.records[BASE.change.code, OPERATE]
            cost = found.cost(future, answer)
            left = record["uncollected"]
            before = base["uncollected"]
            rows.append(
                {
                    "future": future.change.code,
                    "kind": future.kind,
                    "what": future.what,
                    "title": future.change.title,
                    "answer": answer,
                    "status": record["status"],
                    "cost": cost,
                    "still_owed": cost - record["cost"],
                    "against_base": cost - base["cost"],
                    "haulage": record["haulage"],
                    "capital": record["capital"],
                    "collected": record["collected"]["all"],
                    "compost": record["compost"],
                    **{f"left_{m}": left.get(m, 0.0) for m in before},
                    **{f"more_left_{m}": left.get(m, 0.0) - before[m] for m in before},
                    "yards": " ".join(f"{y}:{size}" for y, size in record["yards"]),
                    "gap": np.nan if record["gap"] is None else record["gap"],
                    "shortages": "; ".join(record["shortages"]),
                }
            )
    return pd.DataFrame(rows)


def ranking(table: pd.DataFrame, answer: str = OPERATE) -> pd.DataFrame:
    """
    Losses, worst first: demands that cannot be met, then by what they cost more.

    Parameters
    ----------
    table
        See `runs_table`.
    answer
        "operate" or "re-plan".
    """
    lost = table[table["kind"].isin(LOST) & (table["answer"] == answer)]
    short = (lost["status"] == "shortage").astype(int)
    order = np.lexsort((lost["future"], -lost["against_base"], -short))
    return lost.iloc[order].reset_index(drop=True)


def swings(found: Stress, table: pd.DataFrame) -> pd.DataFrame:
    """
    Set out what each range does to the cost at its two ends, widest first.

    Returns
    -------
    DataFrame
        range, name, low, high (values), cost_low, cost_high (against the base)
        [money/yr], unmet (whether an end leaves demands unmet).
    """
    operated = table[table["answer"] == OPERATE]
    at_end = {(str(r["kind"]), str(r["what"])): r for r in records(operated)}
    rows = []
    for one in found.ranges:
        low, high = (at_end.get((end, one.code)) for end in ("low", "high"))
        if low is None or high is None:
            continue
        rows.append(
            {
                "range": one.code,
                "name": one.name,
                "low": one.low,
                "high": one.high,
                "cost_low": float(low["against_base"]),
                "cost_high": float(high["against_base"]),
                "unmet": "shortage" in {low["status"], high["status"]},
            }
        )
    if not rows:
        return pd.DataFrame(columns=["range", "name", "low", "high"])
    swing = pd.DataFrame(rows)
    width = (swing["cost_high"] - swing["cost_low"]).abs()
    return swing.iloc[np.argsort(-width, kind="stable")].reset_index(drop=True)


def cost_at_risk(
    found: Stress, table: pd.DataFrame, answer: str = OPERATE
) -> pd.DataFrame:
    """
    Distribution over the draws, all equally likely: cost, and what spoils uncollected.

    Returns
    -------
    DataFrame
        measure ("cost", "haulage", "capital" or "left_<material>"), base, mean,
        deviation, least, p05, median, p95, most, cvar_90, cvar_95, draws, unmet (draws
        with demands that cannot be met; their cost is that of the plan that gives up
        least).
        [money/yr], [t/yr]
    """
    drawn = table[(table["kind"] == "draw") & (table["answer"] == answer)]
    base = table[table["kind"] == "base"].iloc[0]
    rows: list[dict[str, Any]] = []
    if drawn.empty:
        return pd.DataFrame(rows)
    for measure in (*MONEY, *(f"left_{m}" for m in spoiling(found.scenario))):
        values = drawn[measure].to_numpy(dtype=float)
        rows.append(
            {
                "measure": measure,
                "base": float(base[measure]),
                "mean": float(values.mean()),
                "deviation": float(values.std(ddof=1)) if len(values) > 1 else 0.0,
                "least": float(values.min()),
                "p05": float(np.quantile(values, 0.05)),
                "median": float(np.median(values)),
                "p95": float(np.quantile(values, 0.95)),
                "most": float(values.max()),
                **{f"cvar_{level:.0%}"[:-1]: cvar(values, level) for level in LEVELS},
                "draws": len(values),
                "unmet": int((drawn["status"] == "shortage").sum()),
            }
        )
    return pd.DataFrame(rows)


def yard_shares(found: Stress) -> pd.DataFrame:
    """
    How often each yard is chosen when the yards are free.

    Returns
    -------
    DataFrame
        yard, name, in_base, draws and losses: share of the draws and of the losses in
        which it is open, each future counted once and a yard's own loss left out. [1]
        Yards that are never open have no row; no rows without re-planned futures.
    """
    names = dict(
        zip(found.scenario.yards["yard"], found.scenario.yards["name"], strict=True)
    )
    drawn = [f for f in found.futures if f.kind == "draw"]
    lost = [f for f in found.futures if f.kind in LOST]
    rows = []
    for code, name in names.items():
        others = [f for f in lost if (f.kind, f.what) != ("yard", code)]
        shares = {"draws": _share(found, code, drawn), "losses": _share(
            found, code, others)}  # fmt: skip
        used = {yard for yard, _ in found.yards}
        if code in used or any(share > 0 for share in shares.values()):
            rows.append(
                {"yard": code, "name": name or code, "in_base": code in used, **shares}
            )
    table = pd.DataFrame(rows, columns=["yard", "name", "in_base", "draws", "losses"])
    if not any(answer == REPLAN for _, answer in found.records):
        return table.iloc[:0]
    order = np.lexsort((table["yard"], -table["losses"], -table["draws"].fillna(0.0)))
    return table.iloc[order].reset_index(drop=True)


def _share(found: Stress, yard: str, futures: Sequence[Future]) -> float:
    """Share of re-planned futures in which a yard is open; NaN if there are none."""
    open_ = [
        yard in {code for code, _ in found.records[f.change.code, REPLAN]["yards"]}
        for f in futures
        if (f.change.code, REPLAN) in found.records
    ]
    return float(np.mean(open_)) if open_ else float("nan")
