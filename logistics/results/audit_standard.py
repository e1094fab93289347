"""The part of the audit that holds compost against the standard it is made to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.results.plan_amounts import TOLERANCE
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.scenario import Scenario

LIMITS = (
    ("moisture", "moisture_high", 1),
    ("product_cn", "cn_high", 1),
    ("product_cn", "cn_low", -1),
    ("n", "n_low", -1),
    ("p2o5", "p2o5_low", -1),
    ("k2o", "k2o_low", -1),
    ("npk", "npk_low", -1),
    ("carbon", "carbon_low", -1),
)
"""A property of compost, its limit in `standards`, and 1 for at most, -1 at least."""


def standard_met(scenario: Scenario, mixes: pd.DataFrame) -> pd.DataFrame:
    """
    Hold the compost of every mix, as described, against `product.standard`.

    Parameters
    ----------
    scenario, mixes
        Settings and standards; the table of `mix_table`, made of the tables alone.

    Returns
    -------
    DataFrame
        Rows as those of `plan_audit.audit`; none where no standard is asked for.
    """
    columns = ["check", "rows", "worst", "tolerance", "passed"]
    code = scenario.settings.product.standard
    if not code:
        return pd.DataFrame(columns=columns)
    row = rows_by(scenario.standards, "standard")[code]
    made = mixes.assign(
        moisture=scenario.settings.process.product_moisture,
        npk=mixes["n"] + mixes["p2o5"] + mixes["k2o"],
        carbon=mixes["product_cn"] * mixes["n"],
    )
    rows = []
    for name, limit, sign in LIMITS:
        if not np.isfinite(float(row[limit])):
            continue
        asked = float(row[limit])
        breach = sign * (made[name].to_numpy(dtype=float) - asked) / asked
        worst = float(np.max(breach, initial=0.0))
        title = f"standard {code}: {limit}"
        rows.append((title, len(made), worst, TOLERANCE, worst <= TOLERANCE))
    return pd.DataFrame(rows, columns=columns)
