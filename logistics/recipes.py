"""Small recipes by hand: how much of a partner, how much water."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def partner_for_moisture(
    goal: float, wet_t: float, moisture: float, partner_moisture: float
) -> float:
    """
    Mass of a second feedstock that brings the first to a moisture [t].

    Parameters
    ----------
    goal
        Moisture wanted, between those of the two. [t/t]
    wet_t, moisture
        The first feedstock. [t], [t/t]
    partner_moisture
        Of the second. [t/t]

    Notes
    -----
    Richard and Trautmann, Cornell Waste Management Institute, moisture formula page,
    1996.

    Examples
    --------
    >>> round(partner_for_moisture(0.60, 10, 0.77, 0.35), 2)
    6.8
    """
    return wet_t * (goal - moisture) / (partner_moisture - goal)


def partner_for_cn(
    goal: float,
    wet_t: float,
    first: tuple[float, float, float],
    partner: tuple[float, float, float],
) -> float:
    """
    Mass of a second feedstock that brings the first to a C:N ratio [t].

    Parameters
    ----------
    goal
        Ratio wanted, between those of the two. [t/t]
    wet_t
        The first feedstock. [t]
    first, partner
        Moisture (share of wet mass), carbon and nitrogen (shares of dry mass). [t/t]

    Notes
    -----
    From goal = sum of carbon / sum of nitrogen, over dry masses.
    """
    m1, c1, n1 = first
    m2, c2, n2 = partner
    return wet_t * (1 - m1) * (c1 - goal * n1) / ((1 - m2) * (goal * n2 - c2))


def water_to_reach(goal: float, wet_t: ArrayLike, moisture: ArrayLike) -> Floats:
    """
    Water that brings a mix to a moisture; negative if it is wetter already [t].

    Parameters
    ----------
    goal
        Moisture wanted, share of the wet mass. [t/t]
    wet_t, moisture
        Mass as received [t] and its moisture [t/t], shapes (..., m) and (m,).

    Examples
    --------
    >>> water_to_reach(0.5, [2.0], [0.10]).round(3)
    np.float64(1.6)
    """
    wet = np.asarray(wet_t, dtype=float)
    dry = wet @ (1 - np.asarray(moisture, dtype=float))
    return np.asarray(dry / (1 - goal) - wet.sum(axis=-1))[()]
