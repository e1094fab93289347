"""Compost from day to day: when batches are ready, and how far deliveries have come."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logistics.composting.windrow_life import batches, period_of_day, year_days
from logistics.scenario import work_days

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]


def ready_by_day(scenario: Scenario) -> Floats:
    """
    Share of the charge of period t that is compost from the morning of day d on.

    A batch is ready as a whole after its active and curing days, on the day that the
    yard sheet gives. The year is a circle.

    Returns
    -------
    ndarray
        Shape (t, d); rows add up to 1. [t/t]
    """
    year = year_days(scenario)
    ready = np.zeros((len(scenario.periods), year))
    for batch in batches(scenario):
        ready[batch.period, (batch.ready - 1) % year] += batch.share
    return ready


def sent_by_day(scenario: Scenario) -> Floats:
    """
    Share of a period's deliveries that has left by the evening of each of its days.

    Deliveries are spread evenly over the working days.

    Returns
    -------
    ndarray
        Shape (d,). [t/t]
    """
    period = period_of_day(scenario)
    sent = np.ones(len(period))
    for place, code in enumerate(scenario.periods["period"]):
        days = np.flatnonzero(period == place)
        work = np.array(work_days(scenario.settings, scenario.periods, str(code)))
        gone = np.searchsorted(work, days - days[:1] + 1, side="right")
        sent[days] = gone / len(work)
    return sent


def by_period(ready: Floats, period: NDArray[np.int64], count: int) -> Floats:
    """
    Add days up to periods.

    Parameters
    ----------
    ready
        Shape (t, d), see `ready_by_day`.
    period
        Place of each day's period, shape (d,).
    count
        Number of periods.

    Examples
    --------
    >>> by_period(np.array([[0.25, 0.5, 0.25]]), np.array([0, 0, 1]), 2)
    array([[0.75, 0.25]])
    """
    return np.stack([ready[:, period == u].sum(axis=1) for u in range(count)], axis=1)
