"""
What a tonne emits that is left, put into windrows or left over as compost.

The account of a year (`accounts.emission_account`) has the same lines, from the tables.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import leftover_nitrogen, nitrogen_kept
from logistics.costs import (
    composting_co2e,
    disposal_co2e,
    machine_co2,
    mineral_nitrogen_co2e,
)
from logistics.model.problem import Floats, Integers
from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def left_co2e(scenario: Scenario, table: pd.DataFrame, belongs: Integers) -> Floats:
    """
    Greenhouse gas of what happens today to what is not collected.

    Parameters
    ----------
    scenario, table, belongs
        Sources and factors; feedstocks; feedstock of each source.

    Returns
    -------
    ndarray
        Per tonne left, one a source. [kg CO2e/t]
    """
    rows, known = records(table), scenario.factors
    factors = dict(zip(known["factor"], known["value"].astype(float), strict=True))
    found = [
        disposal_co2e(rows[m], fate, factors)
        for m, fate in zip(belongs, scenario.sources["disposal"], strict=True)
    ]
    return np.array(found, dtype=float)


def charge_co2e(scenario: Scenario, table: pd.DataFrame) -> Floats:
    """
    Greenhouse gas of windrows and machines, less mineral nitrogen replaced.

    Parameters
    ----------
    scenario, table
        Settings and factors; feedstocks, length m.

    Returns
    -------
    ndarray
        Per tonne of each feedstock put into windrows, shape (m,). [kg CO2e/t]
    """
    factors = scenario.factors
    replaced = 1000 * nitrogen_kept(table, scenario.settings)
    emitted = composting_co2e(factors) + machine_co2(factors)
    return emitted - replaced * mineral_nitrogen_co2e(factors)


def leftover_co2e(scenario: Scenario) -> float:
    """Mineral nitrogen that compost left over does not replace. [kg CO2e/t]"""
    settings = scenario.settings
    dry_kg = 1000 * (1 - settings.process.product_moisture)
    return (
        dry_kg * leftover_nitrogen(settings) * mineral_nitrogen_co2e(scenario.factors)
    )
