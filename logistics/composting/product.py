"""What is left of a feedstock in its compost."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting.mixing import DRY_PER_CARBON

Floats = NDArray[np.float64]


def carbon_left(feedstocks: pd.DataFrame) -> Floats:
    """
    Carbon that composting leaves of each feedstock.

    What is lost is organic matter with 1/1.8 carbon, as in `product_carbon_nitrogen`;
    below nothing where a feedstock would lose more carbon than it has, so that sums
    over a mix are right.

    Parameters
    ----------
    feedstocks
        Table of `materials.feedstocks`, length m.

    Returns
    -------
    ndarray
        Per tonne as received, shape (m,). [t/t]
    """
    column = {
        name: feedstocks[name].to_numpy(dtype=float)
        for name in ("moisture", "carbon", "dry_matter_loss")
    }
    left = column["carbon"] - column["dry_matter_loss"] / DRY_PER_CARBON
    return np.asarray((1 - column["moisture"]) * left)
