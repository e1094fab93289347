"""What every mix must keep, from settings and the ranges of its feedstocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.model.problem import Floats, Margin, Mix

if TYPE_CHECKING:
    from logistics.scenario import MixSettings, Settings


def counted_carbon(table: pd.DataFrame, settings: MixSettings) -> Floats:
    """
    Carbon that the window of C:N counts, share of the dry mass, length m. [t/t]

    Parameters
    ----------
    table
        Feedstocks, see `composting.feedstocks`.
    settings
        cn_basis: "total" counts all carbon, "available" what microbes can use of it.
    """
    carbon = table["carbon"].to_numpy(dtype=float).copy()
    if settings.cn_basis == "available":
        carbon *= table["available_carbon"].to_numpy(dtype=float)
    return carbon


def mix_of(settings: Settings, table: pd.DataFrame) -> Mix:
    """
    Return the windows and limits of a mix, with the margin of its feedstocks.

    The margin is off where `mix.margin_pct` is 0 or no feedstock has a range.
    """
    mix = settings.mix
    density = mix.density_high_kg_m3
    ranges = {
        name: mix.margin * table[f"{name}_range"].to_numpy(dtype=float)
        for name in ("moisture", "carbon", "nitrogen")
    }
    nitrogen = table["nitrogen"].to_numpy(dtype=float)
    margin = Margin(
        moisture=ranges["moisture"],
        carbon=ranges["carbon"] * counted_carbon(table, mix),
        nitrogen=ranges["nitrogen"] * nitrogen,
    )
    return Mix(
        cn=(mix.cn_low, mix.cn_high),
        moisture=(mix.moisture_low, mix.moisture_high),
        density_t_m3=None if density is None else density / 1000,
        structure=mix.structure_low,
        salt=mix.salt_high,
        product=(mix.product_n_low, mix.product_p2o5_low, mix.product_k2o_low),
        margin=margin if any(np.any(part > 0) for part in ranges.values()) else None,
    )
