"""Look up a factor of the scenario's tables."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from logistics.scenario.faults import Problem, ScenarioError

Factors = Mapping[str, float] | pd.DataFrame


def factor_value(factors: Factors, code: str) -> float:
    """
    Look up one emission factor.

    Parameters
    ----------
    factors
        The table factors (columns factor, value), or a mapping of code to value.
    code
        Code of the factor.

    Raises
    ------
    ScenarioError
        If the factor is missing.
    """
    if isinstance(factors, pd.DataFrame):
        found = factors.loc[factors["factor"] == code, "value"]
        if len(found):
            return float(found.iloc[0])
    elif code in factors:
        return float(factors[code])
    problem = Problem(
        file="factors.csv",
        row=1,
        column="factor",
        value=code,
        why="is missing from the emission factors",
        remedy="Add a row for it, or leave out the whole table to use the library's",
    )
    raise ScenarioError([problem])
