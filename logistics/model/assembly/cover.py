"""Cover that must be in store for what spoils."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import spoils
from logistics.model.problem import Floats

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def cover_needed(scenario: Scenario, table: pd.DataFrame) -> Floats | None:
    """
    Reckon the cover for the first `cover.days` working days of what spoils.

    Parameters
    ----------
    scenario, table
        Settings and periods; feedstocks, see `materials.feedstocks`.

    Returns
    -------
    ndarray or None
        See `Instance.cover`; None where the rule is off. [m3/t]
    """
    cover = scenario.settings.cover
    if cover.days <= 0 or cover.m3_per_t <= 0:
        return None
    share = cover.days / scenario.periods["working_days"].to_numpy(dtype=float)
    return np.outer(spoils(table) * cover.m3_per_t, np.minimum(share, 1.0))
