"""Yards from day to day: what charges take of the pad, and when they are ripe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logistics.composting import (
    pad_by_day,
    pad_moments,
    period_of_day,
    ready_by_day,
    sent_by_day,
)
from logistics.model.problem import CompostDays

if TYPE_CHECKING:
    from logistics.model.problem import Floats, Integers
    from logistics.scenario import Scenario

PAD_ROWS = 12_000
"""About as many rows of the pad a programme may have, over all sizes of all yards."""
FEWEST_MOMENTS, MOST_MOMENTS = 3, 8
"""Moments of the pad in a period; with three the pad is planned some 2 % emptier."""


@dataclass(frozen=True, eq=False)
class PadRoom:
    """
    Shares of a charge, at fresh volume, that take room on the pad. [m3/m3]

    Attributes
    ----------
    occupancy, period
        At moments that hold all days, shape (t, k); the period of each, shape (k,).
    by_day
        On every day, shape (t, d).
    """

    occupancy: Floats
    period: Integers
    by_day: Floats


def pad_room(scenario: Scenario, options: int) -> PadRoom:
    """
    Count what charges take; at fewer moments where a district has many `options`.

    Parameters
    ----------
    scenario
        Periods, calendar, and settings of windrows.
    options
        Sizes of all yards, each of which has a row a moment.
    """
    days = scenario.periods["days"].to_numpy(dtype=float)
    by_day = pad_by_day(scenario)
    each = PAD_ROWS // (len(days) * max(1, options))
    most = len(days) * min(max(each, FEWEST_MOMENTS), MOST_MOMENTS)
    occupancy, when = pad_moments(by_day, days, most)
    return PadRoom(occupancy, period_of_day(scenario)[when], by_day)


def compost_days(scenario: Scenario) -> CompostDays:
    """Say when batches are ripe, and how far a period's deliveries have come."""
    return CompostDays(
        ready_by_day(scenario), sent_by_day(scenario), period_of_day(scenario)
    )
