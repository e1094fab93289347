"""What to add to a pile that came out too wet, too dry, too rich or too poor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from logistics.composting.materials import spoils

if TYPE_CHECKING:
    from logistics.scenario import Settings

WETTER = 0.05
"""Moisture that a pile is put right by, share of the wet mass. [t/t]"""
RICHER = 5.0
"""C:N that a pile is put right by. [t/t]"""
MOST_ADDED = 1.0
"""More than this is no correction but another mix. [t/t of pile]"""


@dataclass(frozen=True)
class Correction:
    """
    What puts a tonne of a pile right.

    Attributes
    ----------
    fault
        "wet", "dry", "rich" (too much nitrogen) or "poor".
    feedstock
        Row of the feedstock to add in the table; None where water does.
    add_t, add_m3
        Of that feedstock, as received, and its loose volume. [t/t], [m3/t]
    water_t
        Water to add. [t/t]
    """

    fault: str
    feedstock: int | None
    add_t: float
    add_m3: float
    water_t: float


def corrections(
    tonnes: ArrayLike, water_t: float, feedstocks: pd.DataFrame, settings: Settings
) -> Iterator[Correction]:
    """
    Yield what brings a tonne of pile back to its planned mix, fault by fault.

    The pile is `WETTER` wetter or drier than planned, or its C:N is `RICHER` lower or
    higher because its nitrogen is not what the table says. A fault is left out where
    nothing in the mix, or in the table, can put it right.

    Parameters
    ----------
    tonnes
        Planned mix as received, shape (m,), in the order of `feedstocks`. [t]
    water_t
        Water planned. [t]
    feedstocks
        Table of `materials.feedstocks`, length m.
    settings
        mix.cn_basis says which carbon counts.

    Notes
    -----
    With moisture M found and G planned, x of a feedstock of moisture m a tonne of pile
    brings M back to G if x (G - m) = M - G; water if x (1 - G) = G - M. With carbon C
    in the pile and R planned, a pile at C:N r has nitrogen C/r, and x of a feedstock
    with c and n a wet tonne brings it back to R if x (c - R n) = R C/r - C.
    """
    w = np.asarray(tonnes, dtype=float)
    total = float(w.sum()) + water_t
    if total <= 0 or not w.any():
        return
    wet = feedstocks["moisture"].to_numpy(dtype=float)
    loose = feedstocks["loose_t_m3"].to_numpy(dtype=float)
    carbon = (1 - wet) * feedstocks["carbon"].to_numpy(dtype=float)
    if settings.mix.cn_basis == "available":
        carbon = carbon * feedstocks["available_carbon"].to_numpy(dtype=float)
    nitrogen = (1 - wet) * feedstocks["nitrogen"].to_numpy(dtype=float)
    goal = (float(w @ wet) + water_t) / total
    inside, grain = float(w @ carbon) / total, float(w @ nitrogen) / total
    ratio = inside / grain if grain > 0 else np.inf
    lasting = ~spoils(feedstocks)
    coarse = feedstocks["structure"].to_numpy(dtype=bool) & lasting
    found = _best(coarse & (wet < goal), goal - wet, w)
    if found is not None:
        yield _added("wet", found, WETTER / (goal - wet[found]), loose)
    yield Correction("dry", None, 0.0, 0.0, WETTER / (1 - goal))
    gain = carbon - ratio * nitrogen
    found = _best(coarse & (gain > 0), gain, w)
    if found is not None and ratio > RICHER:
        lack = inside * (ratio / (ratio - RICHER) - 1)
        if lack <= MOST_ADDED * gain[found]:
            yield _added("rich", found, lack / gain[found], loose, wet[found], goal)
    lack = inside * (1 - ratio / (ratio + RICHER)) if np.isfinite(ratio) else np.inf
    able = -gain * MOST_ADDED >= lack
    found = _best(lasting & able, -gain, w)
    if found is None:
        found = _best(able & (w > 0), -gain, w)
    if found is not None:
        yield _added("poor", found, lack / -gain[found], loose, wet[found], goal)


def _best(able: np.ndarray, power: np.ndarray, used: np.ndarray) -> int | None:
    """Choose among feedstocks that can: one of the mix if any, else the strongest."""
    some = able & (used > 0) if (able & (used > 0)).any() else able
    return int(np.argmax(np.where(some, power, -np.inf))) if some.any() else None


def _added(
    fault: str,
    m: int,
    add_t: float,
    loose: np.ndarray,
    wet: float = 1.0,
    goal: float = 1.0,
) -> Correction:
    """Return a correction; dry feedstock takes water along to keep the moisture."""
    water = max(0.0, add_t * (goal - wet) / (1 - goal)) if goal < 1 else 0.0
    return Correction(fault, m, float(add_t), float(add_t / loose[m]), float(water))
