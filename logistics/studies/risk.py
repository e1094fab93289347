"""Expected cost, and how much the worst futures count beyond their weight."""

from dataclasses import dataclass

from logistics.model import Floats, mean_of_worst


@dataclass(frozen=True)
class Risk:
    """
    How much the worst futures count beyond their weight.

    Attributes
    ----------
    weight
        Times CVaR is added to the expected cost.
    level
        CVaR is the mean of the worst 1 - level of the futures.
    """

    weight: float = 0.0
    level: float = 0.8


def weighed(costs: Floats, weights: Floats, risk: Risk) -> float:
    """
    Return expected cost plus risk.

    Examples
    --------
    >>> import numpy as np
    >>> weighed(np.array([1.0, 3.0]), np.array([0.5, 0.5]), Risk(1.0, 0.5))
    5.0
    """
    return float(weights @ costs) + risk.weight * cvar(costs, weights, risk.level)


def cvar(costs: Floats, weights: Floats, level: float) -> float:
    """
    Return the mean of the worst 1 - level of the futures (weights add up to 1).

    Examples
    --------
    >>> import numpy as np
    >>> cvar(np.array([1.0, 2.0, 9.0]), np.array([0.25, 0.5, 0.25]), 0.75)
    9.0
    """
    return mean_of_worst(costs, weights, 1 - level)
