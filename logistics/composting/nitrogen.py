"""How much nitrogen a mix keeps while it is composted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from logistics.scenario import Settings

Floats = NDArray[np.float64]

LOST_AT = ((20.0, 0.45), (30.0, 0.225))
"""
Share of the nitrogen lost, at two available C:N; a line runs through them. [t/t]

At 20: Gotaas, Composting, WHO monograph 31, 1956, table of nitrogen kept, has 39 and
48 % at 20 and 20.5 (from memory). At 30: judgement between his 0.5 % at 30, in small
trials (from memory), and the 30 % usual for windrows (from memory). The line comes to
68 % at 10 and to nothing at 40; published trials lie between 10 and 69 %: J Zhejiang
Univ Sci B 11(7), 2010, 497-505 (10 to 64 %, read in an excerpt); a trial of a cattle
manure chain, 2015 (69 %, read in an excerpt). The carbon that counts is what microbes
can use: WSU Whatcom, Compost Fundamentals, reclamation of nitrogen (read), puts the
least loss at an available C:N of 30 or more.
"""


def nitrogen_lost(available_cn: ArrayLike, measured: float | None = None) -> Floats:
    """
    Share of a mix's nitrogen that is lost while it is composted.

    Parameters
    ----------
    available_cn
        Carbon that microbes can use, over nitrogen, any shape. [t/t]
    measured
        Share lost whatever the mix, for who measured it; None follows the mix. [t/t]

    Returns
    -------
    ndarray
        Share, of the same shape; not a number for an empty mix. [t/t]

    Notes
    -----
    A line through the points of `LOST_AT`; no mix loses less than nothing.

    Examples
    --------
    >>> nitrogen_lost([10, 20, 30, 40, 60]).round(3).tolist()
    [0.675, 0.45, 0.225, 0.0, 0.0]
    >>> nitrogen_lost([20, 40], measured=0.3).tolist()
    [0.3, 0.3]
    """
    ratio = np.asarray(available_cn, dtype=float)
    if measured is not None:
        return np.where(np.isnan(ratio), np.nan, measured)
    (poor, much), (rich, little) = LOST_AT
    line = much + (little - much) / (rich - poor) * (ratio - poor)
    return np.asarray(np.maximum(line, 0.0))


def nitrogen_bounds(feedstocks: pd.DataFrame, settings: Settings) -> Floats:
    """
    Nitrogen that composting leaves of each feedstock, as two bounds.

    The share lost is a line in the available C:N of the mix, a - b C/N, so what a mix
    keeps is N (1 - a) + b C: a sum over its feedstocks, however they are mixed. Where
    the line says that more is kept than there is, all is kept.

    Parameters
    ----------
    feedstocks
        Table of `materials.feedstocks`, length m.
    settings
        process (nitrogen loss, if it was measured).

    Returns
    -------
    ndarray
        The line, and all that there is, shape (2, m). Of b tonnes of each feedstock
        the smaller of the two sums is kept. Per tonne as received. [t/t]

    Notes
    -----
    A row that asks for "at least" is exact with both bounds. One that asks for "at
    most" takes the line: exact up to an available C:N of 40, on the safe side beyond.

    Examples
    --------
    A dry feedstock with C:N 25 keeps 66 % of its nitrogen:

    >>> from types import SimpleNamespace as Record
    >>> one = {"moisture": [0.0], "carbon": [0.5], "available_carbon": [1.0]}
    >>> table = pd.DataFrame({**one, "nitrogen": [0.02]})
    >>> follow = Record(process=Record(nitrogen_loss=None))
    >>> nitrogen_bounds(table, follow).round(5).tolist()
    [[0.01325], [0.02]]
    """
    dry = 1 - feedstocks["moisture"].to_numpy(dtype=float)
    grain = dry * feedstocks["nitrogen"].to_numpy(dtype=float)
    measured = settings.process.nitrogen_loss
    if measured is not None:
        return np.stack([grain * (1 - measured)] * 2)
    carbon = dry * feedstocks["carbon"].to_numpy(dtype=float)
    usable = carbon * feedstocks["available_carbon"].to_numpy(dtype=float)
    (poor, much), (rich, little) = LOST_AT
    slope = (much - little) / (rich - poor)
    return np.stack([grain * (1 - much - slope * poor) + slope * usable, grain])


def nitrogen_kept(feedstocks: pd.DataFrame, settings: Settings) -> Floats:
    """
    Nitrogen that composting leaves of each feedstock, on the line of `nitrogen_bounds`.

    Right for a sum over mixes with an available C:N of no more than 40.

    Parameters
    ----------
    feedstocks, settings
        As for `nitrogen_bounds`.

    Returns
    -------
    ndarray
        Per tonne as received, shape (m,). [t/t]
    """
    return np.asarray(nitrogen_bounds(feedstocks, settings)[0])
