"""
What a mix of feedstocks and water is like, and the compost that comes of it.

Letters: w wet mass, m moisture, d = w (1 - m) dry mass, c and n carbon and nitrogen
of the dry mass, r loose density. Only dry matter carries carbon and nutrients, so
every share is weighted by dry mass; averaging ratios would be wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from logistics.composting.nitrogen import nitrogen_lost

if TYPE_CHECKING:
    from logistics.scenario import Settings

Floats = NDArray[np.float64]

DRY_PER_CARBON = 1.8
"""Organic matter per carbon, from memory (others use 1.72 to 2.0). [t/t]"""


def _ratio(top: ArrayLike, bottom: ArrayLike) -> Floats:
    """Divide; x/0 is infinite and 0/0 is not a number (an empty heap)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.divide(top, bottom), dtype=float)[()]


def mean_moisture(
    wet_t: ArrayLike, moisture: ArrayLike, water_t: ArrayLike = 0.0
) -> Floats:
    """
    Moisture of a mix with water added.

    Parameters
    ----------
    wet_t, moisture
        Mass as received [t] and its moisture [t/t], shapes (..., m) and (m,).
    water_t
        Water added, shape (...). [t]

    Returns
    -------
    ndarray
        Share of the wet mass, shape (...). [t/t]

    Examples
    --------
    >>> mean_moisture([10, 6.8], [0.77, 0.35]).round(2)
    np.float64(0.6)
    """
    wet = np.asarray(wet_t, dtype=float)
    water = np.asarray(water_t, dtype=float)
    return _ratio(wet @ np.asarray(moisture) + water, wet.sum(axis=-1) + water)


def free_air_space(
    density_t_m3: ArrayLike, moisture: ArrayLike, ash: ArrayLike
) -> Floats:
    """
    Share of a heap's volume that is air [m3/m3].

    Parameters
    ----------
    density_t_m3
        Wet mass over volume of the heap. [t/m3]
    moisture
        Share of the wet mass. [t/t]
    ash
        Share of the dry mass; the rest is organic. [t/t]

    Notes
    -----
    Water 1.0, organic matter 1.6 and mineral matter 2.5 t/m3: Richard et al., 2004
    (from memory).

    Examples
    --------
    >>> free_air_space(0.5, 0.60, 0.20).round(3)
    np.float64(0.584)
    """
    density, water = np.asarray(density_t_m3), np.asarray(moisture)
    organic = 1 - np.asarray(ash)
    solid = (1 - water) * (organic / 1.6 + (1 - organic) / 2.5)
    return np.asarray(1 - density * (water + solid))[()]


def product_carbon_nitrogen(
    carbon: ArrayLike,
    nitrogen: ArrayLike,
    dry_loss: ArrayLike,
    nitrogen_loss: ArrayLike,
) -> Floats:
    """
    Carbon-to-nitrogen ratio of the compost made from a mix.

    Parameters
    ----------
    carbon, nitrogen
        Of the fresh mix, share of its dry mass; all carbon, not only what is
        available. [t/t]
    dry_loss, nitrogen_loss
        Share of the dry mass and of the nitrogen lost. [t/t]

    Returns
    -------
    ndarray
        Ratio; what is lost is organic matter with 1/1.8 carbon. [t/t]
    """
    left = np.maximum(0.0, np.asarray(carbon) - np.asarray(dry_loss) / DRY_PER_CARBON)
    return _ratio(left, np.asarray(nitrogen) * (1 - np.asarray(nitrogen_loss)))


@dataclass(frozen=True, eq=False)
class MixValues:
    """
    A mix and its compost; every array has the shape of the mixes.

    Attributes
    ----------
    charge_t, water_t, dry_t
        Feedstock as received, water added, dry mass. [t]
    cn, cn_available
        Carbon to nitrogen: all of the carbon; what microbes can use of it. [t/t]
    moisture, salt
        Share of the wet mass with its water. [t/t]
    density_t_m3
        Wet mass with water over the added loose volumes; water fills pores. [t/m3]
    structure
        Share of the added loose volumes that keeps the windrow open. [m3/m3]
    windrow_m3
        Volume of the fresh windrow. [m3]
    free_air
        Air in the fresh windrow. [m3/m3]
    carbon, n, p2o5, k2o, ash
        Share of the dry mass; all carbon. [t/t]
    product_t
        Finished compost. [t]
    nitrogen_lost
        Share of the nitrogen lost while composting, see `nitrogen.nitrogen_lost`. [t/t]
    product_n, product_p2o5, product_k2o
        Share of the compost's dry mass. [t/t]
    product_cn
        Carbon to nitrogen of the compost. [t/t]
    """

    charge_t: Floats
    water_t: Floats
    dry_t: Floats
    cn: Floats
    cn_available: Floats
    moisture: Floats
    salt: Floats
    density_t_m3: Floats
    structure: Floats
    windrow_m3: Floats
    free_air: Floats
    carbon: Floats
    n: Floats
    p2o5: Floats
    k2o: Floats
    ash: Floats
    product_t: Floats
    nitrogen_lost: Floats
    product_n: Floats
    product_p2o5: Floats
    product_k2o: Floats
    product_cn: Floats


def describe_mix(
    tonnes: ArrayLike, water_t: ArrayLike, feedstocks: pd.DataFrame, settings: Settings
) -> MixValues:
    """
    Describe one mix or many at once.

    Parameters
    ----------
    tonnes
        Mass of each feedstock as received, shape (..., m), in the order of
        `feedstocks`. [t]
    water_t
        Water added, shape (...). [t]
    feedstocks
        Table of `materials.feedstocks`, length m.
    settings
        process (nitrogen loss, product moisture) and windrow (packing).

    Returns
    -------
    MixValues
        Arrays of shape (...); ratios of an empty mix are not a number.
    """
    w = np.asarray(tonnes, dtype=float)
    water = np.asarray(water_t, dtype=float)
    f = {c: feedstocks[c].to_numpy(dtype=float) for c in _NUMBERS}
    d = w * (1 - f["moisture"])
    dry = d.sum(axis=-1)
    wet = w.sum(axis=-1) + water
    volumes = w / f["loose_t_m3"]
    loose_m3 = volumes.sum(axis=-1)
    windrow_m3 = loose_m3 * settings.windrow.packing
    share = {c: _ratio(d @ f[c], dry) for c in ("carbon", "nitrogen", *_KEPT)}
    available = d @ (f["carbon"] * f["available_carbon"])
    moisture = mean_moisture(w, f["moisture"], water)
    left = d @ (1 - f["dry_matter_loss"])
    process = settings.process
    nitrogen = d @ f["nitrogen"]
    cn_available = _ratio(available, nitrogen)
    lost = nitrogen_lost(cn_available, process.nitrogen_loss)
    return MixValues(
        charge_t=w.sum(axis=-1),
        water_t=water,
        dry_t=dry,
        cn=_ratio(d @ f["carbon"], nitrogen),
        cn_available=cn_available,
        moisture=moisture,
        salt=_ratio(w @ f["salt"], wet),
        density_t_m3=_ratio(wet, loose_m3),
        structure=_ratio(volumes @ f["structure"], loose_m3),
        windrow_m3=windrow_m3,
        free_air=free_air_space(_ratio(wet, windrow_m3), moisture, share["ash"]),
        carbon=share["carbon"],
        n=share["nitrogen"],
        p2o5=share["p2o5"],
        k2o=share["k2o"],
        ash=share["ash"],
        product_t=left / (1 - process.product_moisture),
        nitrogen_lost=lost,
        product_n=_ratio(nitrogen * (1 - lost), left),
        product_p2o5=_ratio(d @ f["p2o5"], left),
        product_k2o=_ratio(d @ f["k2o"], left),
        product_cn=product_carbon_nitrogen(
            share["carbon"],
            share["nitrogen"],
            _ratio(d @ f["dry_matter_loss"], dry),
            lost,
        ),
    )


_KEPT = ("p2o5", "k2o", "ash")
_NUMBERS = (
    "moisture",
    "carbon",
    "nitrogen",
    *_KEPT,
    "salt",
    "available_carbon",
    "loose_t_m3",
    "dry_matter_loss",
    "structure",
)
