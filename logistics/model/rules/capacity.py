"""How much a yard of a given pad can take or make at most in a year."""

import numpy as np
from scipy.optimize import linprog

from logistics.model.problem import Floats, Instance, window_ends


def yearly_intake(inst: Instance) -> Floats:
    """
    Most of each feedstock that one m3 of pad can take into windrows in a year.

    The rows of the pad added up over the year bound the year's charge, and the
    year's charge obeys the same mix rows as each month's, so a small linear
    programme per feedstock gives a bound that no plan can break.

    Returns
    -------
    ndarray
        Shape (m,); infinite where the pad does not bound it. [t/m3/yr]
    """
    most, only = pad_years(inst), np.eye(_count(inst))
    return np.array([_most(inst, gain, most) for gain in only])


def yearly_product(inst: Instance) -> float:
    """Most compost that one m3 of pad can make in a year. [t/m3/yr]"""
    return _most(inst, inst.feed.product_per_t, pad_years(inst))


def _count(inst: Instance) -> int:
    return len(inst.feed.codes)


def pad_years(inst: Instance) -> float:
    """
    Yearly charge volume that one m3 of pad can bear. [m3/m3/yr]

    The most that charges of all periods can add up to while the pad holds them at
    every moment; whatever else limits a plan, it charges no more.
    """
    if not inst.occupancy.any():
        return float("inf")
    year = linprog(
        -np.ones(len(inst.periods)),
        inst.occupancy.T,
        np.ones(inst.occupancy.shape[1]),
    )
    if year.status != 0 or year.fun is None:
        return float("inf")
    return -float(year.fun) * (1 + 1e-9)


def _most(inst: Instance, gain: Floats, most_volume: float) -> float:
    """Solve max gain . b with pad volume 1 and the mix rows of the year."""
    feed, count = inst.feed, _count(inst)
    windows = window_rows(inst)
    rows = np.vstack([np.append(feed.pad_m3_per_t, 0.0), windows])
    right = [most_volume, *np.zeros(len(windows))]
    answer = linprog(
        -np.append(gain, 0.0), rows, right, bounds=[(0, None)] * (count + 1)
    )
    if (
        answer.status != 0 or answer.fun is None
    ):  # unbounded: a feedstock that takes no pad
        return float("inf")
    return -float(answer.fun) * (1 + 1e-9)


def window_rows(inst: Instance) -> Floats:
    """
    Write the windows of C:N and moisture as rows that must not be positive.

    Returns
    -------
    ndarray
        Of a wet tonne of each feedstock and of water last, shape (rows, m + 1).
    """
    rows = [
        np.append(end.row, end.row_water) for end in window_ends(inst.feed, inst.mix)
    ]
    return np.array(rows).reshape(len(rows), _count(inst) + 1)


def poorest_contents(inst: Instance) -> Floats:
    """
    Find the least of each substance in compost of any mix inside the windows.

    Returns
    -------
    ndarray
        Of a tonne of compost, length k of the instance's contents. [t/t]
    """
    if inst.contents is None:
        return np.zeros(0)
    found = [_fewest(inst, kept) for kept in inst.contents.kept]
    if "n" in inst.contents.keys:  # never more than there is, whatever the line says
        k = inst.contents.keys.index("n")
        found[k] = min(found[k], _fewest(inst, inst.feed.nitrogen_kept[1]))
    return np.array(found) * (1 - 1e-7)


def _fewest(inst: Instance, part: Floats) -> float:
    """Least of a part, given by wet tonne of feedstock, in a tonne of compost."""
    rows, made = window_rows(inst), np.append(inst.feed.product_per_t, 0.0)
    answer = linprog(
        np.append(part, 0.0),
        rows if len(rows) else None,
        np.zeros(len(rows)) if len(rows) else None,
        made[None, :],
        [1.0],
        bounds=[(0, None)] * len(made),
    )
    return float(answer.fun or 0.0) if answer.status == 0 else 0.0
