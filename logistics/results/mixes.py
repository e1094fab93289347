"""What goes into the windrows of every yard and period, and what comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import (
    describe_mix,
    feedstocks,
    pad_by_day,
    pad_m3,
    period_of_day,
)
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.model import Plan
    from logistics.scenario import Scenario

LEAST_T = 1e-3
"""A charge below this is no mix. [t]"""


def mix_table(scenario: Scenario, plan: Plan) -> pd.DataFrame:
    """
    Describe every mix of a plan.

    Parameters
    ----------
    scenario, plan
        Materials, windows and tonnes.

    Returns
    -------
    DataFrame
        One row a yard and period with a charge: yard, size, period, charge_t,
        water_t (at mixing), turning_water_t (while turning) [t], cn and cn_available
        [t/t], moisture [t/t], density_kg_m3 (loose parts added), free_air [m3/m3],
        windrow_m3 (fresh), pad_m3 (room), pad_used (its peak, share), product_t [t],
        nitrogen_lost (share of the nitrogen), n, p2o5, k2o (shares of dry compost),
        product_cn.
    """
    table = feedstocks(scenario)
    periods = list(scenario.periods["period"])
    charges = plan.charges.pivot_table(
        index=["yard", "period"],
        columns="feedstock",
        values="tonnes",
        aggfunc="sum",
        fill_value=0.0,
    ).reindex(columns=list(table["feedstock"]), fill_value=0.0)
    yards = plan.yards.reset_index(drop=True)
    index = pd.MultiIndex.from_product([yards["yard"], periods])
    tonnes = charges.reindex(index, fill_value=0.0).to_numpy(dtype=float)
    water = plan.water.set_index(["yard", "period"])["tonnes"]
    water_t = water.reindex(index, fill_value=0.0).to_numpy(dtype=float)
    values = describe_mix(tonnes, water_t, table, scenario.settings)
    shape = (len(yards), len(periods))
    volume = values.windrow_m3.reshape(shape)
    windrow = scenario.settings.windrow
    turning = scenario.settings.process.turning_water_m3_per_t
    rooms = {
        code: pad_m3(size["pad_m2"], windrow)
        for code, size in rows_by(scenario.yard_sizes, "size").items()
    }
    room = yards["size"].map(rooms).to_numpy(dtype=float)[:, None]
    lying, period = volume @ pad_by_day(scenario), period_of_day(scenario)
    peak = [lying[:, period == t].max(axis=1) for t in range(len(periods))]
    used = np.stack(peak, axis=1) / np.where(room > 0, room, np.inf)
    result = pd.DataFrame(
        {
            "yard": np.repeat(yards["yard"].to_numpy(), len(periods)),
            "size": np.repeat(yards["size"].to_numpy(), len(periods)),
            "period": periods * len(yards),
            "charge_t": values.charge_t,
            "water_t": values.water_t,
            "turning_water_t": values.charge_t * turning,
            "cn": values.cn,
            "cn_available": values.cn_available,
            "moisture": values.moisture,
            "density_kg_m3": values.density_t_m3 * 1000,
            "free_air": values.free_air,
            "windrow_m3": values.windrow_m3,
            "pad_m3": np.repeat(room.ravel(), len(periods)),
            "pad_used": used.ravel(),
            "product_t": values.product_t,
            "nitrogen_lost": values.nitrogen_lost,
            "n": values.product_n,
            "p2o5": values.product_p2o5,
            "k2o": values.product_k2o,
            "product_cn": values.product_cn,
        }
    )
    return result[result["charge_t"] > LEAST_T].reset_index(drop=True)
