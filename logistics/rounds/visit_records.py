"""Visits, and the planned flows that they come from, as records."""

from __future__ import annotations

from dataclasses import dataclass, replace

NOISE_T = 0.005
"""Flows under this are rounding noise of the programme, named as not driven. [t]"""
WINDOW = 0.25
"""Loads are moved by at most this share of the period."""
USABLE = 0.92
"""Share of a shift that whole trips usually fill (judgement)."""


@dataclass(frozen=True, slots=True)
class Visit:
    """
    One load, or part of one, at one place on one day.

    Attributes
    ----------
    kind
        "in" (fetched) or "out" (compost brought).
    yard, place, material, truck
        Codes; `truck` is the planned type, others that may carry it may come.
    day
        Working day of the period, from 1.
    tonnes, m3
        Load. [t], [m3]
    hours
        Truck hours of the trip as planned, for this share of a load. [h]
    spoils, ride_h
        Whether the freight spoils, and the longest it may ride. [h]
    number
        Position of the planned visit of which this is all or a part.
    first_day, last_day
        Working days between which it may be driven; 0 for its own day alone.
    """

    kind: str
    yard: str
    place: str
    material: str
    truck: str
    day: int
    tonnes: float
    m3: float
    hours: float
    spoils: bool
    ride_h: float
    number: int = -1
    first_day: int = 0
    last_day: int = 0

    @property
    def days(self) -> range:
        """Working days on which it may be driven."""
        return range(self.first_day or self.day, (self.last_day or self.day) + 1)

    def part(self, tonnes: float) -> Visit:
        """Take a part of the load. [t]"""
        share = tonnes / self.tonnes
        return replace(
            self, tonnes=tonnes, m3=self.m3 * share, hours=self.hours * share
        )


@dataclass(frozen=True, slots=True)
class Flow:
    """
    A planned flow with its full load and what a trip takes.

    Attributes
    ----------
    kind, yard, place, material, truck, spoils, ride_h
        As of a `Visit`.
    tonnes, load_t
        In the period, and in a full load. [t]
    t_m3
        Hauled density. [t/m3]
    hours
        Of a trip with a full load. [h]
    keep_days
        Days that it keeps at the source, not a number if for good. [days]
    every
        Working days between two visits, at most.
    made_t
        What the place makes in the period; what is not fetched of it is disposed of
        as today. [t]
    covers
        Whether it covers what spoils, so that no load may be late.
    """

    kind: str
    yard: str
    place: str
    material: str
    truck: str
    tonnes: float
    load_t: float
    t_m3: float
    hours: float
    spoils: bool
    ride_h: float
    keep_days: float
    every: int
    made_t: float
    covers: bool
