"""Between what the money of a plan will lie: all ranges drawn on their own, summed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Row

FIGURES = ("net", "haulage", "capital")
DRAWS, SEED = 20_000, 1
TAIL = 5.0
"""Below the low end, and above the high one, lies so much of the draws. [%]"""
COLUMNS = ["figure", "plan", "low", "middle", "high", "chiefly"]
KEYS = {"net": "total_cost", "haulage": "haul_cost", "capital": "capital"}


def money_range(result: Result) -> pd.DataFrame:
    """
    Say between what net cost, haulage and capital lie in nine draws of ten.

    Every number of the table of ranges is drawn on its own, uniform or from a triangle.
    Its effect lies on straight lines from its low end over the plan to its high end;
    effects are added. A range of many numbers, such as every source, counts by the mean
    of as many draws as it has numbers of one weight.

    Returns
    -------
    DataFrame
        figure (net, haulage, capital), plan, low, middle (as many draws are above it as
        below), high [money/yr], [money]; chiefly (name of the range that moves the
        draws most to the side of the plan on which they lie); no rows where no ends
        were reckoned.

    Notes
    -----
    Adding effects leaves out how ranges act on one another; `stress` plans every draw.
    """
    ends = result.range_ends
    if ends.empty:
        return pd.DataFrame(columns=COLUMNS)
    rng = np.random.default_rng(SEED)
    rows = records(ends[ends["whole"].astype(bool)])
    names = [str(row["name"]) for row in rows]
    drawn = [_drawn(row, rng) for row in rows]
    found = []
    for figure in FIGURES:
        effects = [
            _effect(row, figure, values)
            for row, values in zip(rows, drawn, strict=True)
        ]
        total = np.sum(effects, axis=0) if effects else np.zeros(DRAWS)
        value = float(result.summary[KEYS[figure]])
        low, middle, high = np.percentile(total, [TAIL, 50.0, 100 - TAIL]).tolist()
        pulls = [float(one.mean()) * (1 if middle > 0 else -1) for one in effects]
        chief = names[int(np.argmax(pulls))] if pulls and max(pulls) > 0 else ""
        found.append((figure, value, value + low, value + middle, value + high, chief))
    return pd.DataFrame(found, columns=COLUMNS)


def _drawn(row: Row, rng: np.random.Generator) -> NDArray[np.float64]:
    """Draw a range's number, or the mean of its numbers, length DRAWS."""
    low, likely, high = row["low"], row["likely"], row["high"]
    shape = (DRAWS, max(1, round(row["alike"])))
    if low == high:
        return np.full(DRAWS, float(low))
    if np.isnan(likely):
        return rng.uniform(low, high, shape).mean(axis=1)
    return rng.triangular(low, likely, high, shape).mean(axis=1)


def _effect(row: Row, figure: str, drawn: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    Effect of drawn numbers: straight lines through both ends and the plan itself.

    An end at which demands cannot be met counts as none.
    """
    low, high = row["low"], row["high"]
    ends = [row[f"{figure}_low"], row[f"{figure}_high"]]
    at_low, at_high = (0.0 if np.isnan(end) else float(end) for end in ends)
    middle = row["planned"]
    if np.isnan(middle) or not low < middle < high:
        return np.interp(drawn, [low, high], [at_low, at_high])
    return np.interp(drawn, [low, middle, high], [at_low, 0.0, at_high])
