"""
What driving takes against what the programme thinks, as factors on trips and trucks.

The programme reckons every trip there and back alone, and lets owned trucks work to the
hour for all yards together. Rounds that were driven say how much more, or less, each
place takes in each period, and how much of the owned trucks' time serves what was
planned. `feedback.py` measures the factors; the programme is then planned with them.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logistics.costs import Integers, Trips

if TYPE_CHECKING:
    from logistics.model.problem import Trucks
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Realised:
    """
    Factors by place and period; 1 is as the programme reckons.

    Attributes
    ----------
    source_hours, source_money
        On truck hours, and on fuel, repair, crew and fares, of every trip from a
        source, shape (i, t). [1]
    market_hours, market_money
        The same of every trip to a market, shape (n, t). [1]
    usable
        Factor on the hours of own trucks in what is hired beside them
        (`problem.own_hours`), shape (v, t). [1]
    """

    source_hours: Floats
    source_money: Floats
    market_hours: Floats
    market_money: Floats
    usable: Floats

    def mixed(self, other: Realised, share: float) -> Realised:
        """Move from these factors towards others by a share from 0 to 1."""
        parts = (
            (1 - share) * getattr(self, f.name) + share * getattr(other, f.name)
            for f in fields(self)
        )
        return Realised(*parts)


def as_reckoned(scenario: Scenario) -> Realised:
    """Return factors that change nothing."""
    periods = len(scenario.periods)
    sources = np.ones((len(scenario.sources), periods))
    markets = np.ones((len(scenario.markets), periods))
    trucks = np.ones((len(scenario.trucks), periods))
    return Realised(sources, sources.copy(), markets, markets.copy(), trucks)


def scaled_trips(
    realised: Realised, inbound: Trips, outbound: Trips
) -> tuple[Trips, Trips]:
    """Trips inbound and outbound with their hours, diesel and money as driven."""
    return (
        _scaled(inbound, inbound.origin, realised.source_hours, realised.source_money),
        _scaled(
            outbound,
            outbound.destination,
            realised.market_hours,
            realised.market_money,
        ),
    )


def _scaled(trips: Trips, place: Integers, hours: Floats, money: Floats) -> Trips:
    """Multiply each lane by the factors of its place; lengths stay the road's."""
    each = {
        name: getattr(trips, name) * money[place]
        for name in ("fuel_l", "fuel", "repair", "crew", "fare")
    }
    return replace(trips, hours=trips.hours * hours[place], **each)


def scaled_trucks(realised: Realised, trucks: Trucks) -> Trucks:
    """Owned trucks with the hours that serve what is planned."""
    with np.errstate(invalid="ignore"):
        hours = np.where(
            trucks.owned_hours > 0, trucks.owned_hours * realised.usable, 0.0
        )
    return replace(trucks, owned_hours=hours)
