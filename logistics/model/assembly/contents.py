"""From tables and settings to what compost holds and markets allow of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.model.problem import SUBSTANCES, Contents, Instance

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def contents_of(scenario: Scenario, inst: Instance) -> Contents | None:
    """
    Read the ceilings of the markets and what a label states.

    Parameters
    ----------
    scenario
        Its markets, `product.*` and the moisture of compost.
    inst
        The rest of the problem.

    Returns
    -------
    Contents or None
        None where nobody limits anything. What is not declared is held at what the
        richest feedstock would make alone, which no mix exceeds.
    """
    markets, product = scenario.markets, scenario.settings.product
    dry = 1 - scenario.settings.process.product_moisture
    on_fields = (markets["basis"] == "area").to_numpy()
    hectares = np.where(on_fields, markets["amount"].to_numpy(dtype=float), np.nan)
    known = inst.feed.kept
    keys, limits, stated = [], [], []
    for key in SUBSTANCES:
        each = markets[f"{key}_limit_kg_ha"].to_numpy(dtype=float) * hectares / 1000
        limit = np.nan_to_num(each, nan=np.inf)
        declared = getattr(product, key, None)
        if declared is not None or np.isfinite(limit).any():
            keys.append(key)
            limits.append(limit)
            stated.append(np.nan if declared is None else declared * dry)
    if not keys:
        return None
    kept = np.array([known[key] for key in keys])
    content = np.array(stated)
    richest = (kept / inst.feed.product_per_t).max(axis=1, initial=0.0)
    held = np.where(np.isnan(content), richest, content)
    shape = (len(keys), len(inst.yards.codes), len(inst.periods))
    return Contents(
        keys=tuple(keys),
        limit_t=np.array(limits),
        kept=kept,
        made=inst.feed.product_per_t,
        held=np.broadcast_to(held[:, None, None], shape).copy(),
        given=~np.isnan(content),
    )
