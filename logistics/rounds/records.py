"""
Rounds of trucks, as records: what is to be fetched and brought, by whom, in a day.

Nothing here knows the programme or the solver of rounds. A **task** is one day at one
or several yards; an **answer** says which truck visits which stops in which order. A
**trip** runs from the yard to the yard; a **tour** is all that one truck does in a day.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Base:
    """
    A yard from which trucks leave and to which they return.

    Attributes
    ----------
    code
        Code of the yard.
    opens_h, closes_h
        Opening hours. [h after midnight]
    """

    code: str
    opens_h: float = 0.0
    closes_h: float = 24.0


@dataclass(frozen=True, slots=True)
class Stop:
    """
    One visit of one place.

    Attributes
    ----------
    code
        Name of the visit, unique in its task.
    take_t, take_m3
        What is loaded here for the yard. [t], [m3]
    bring_t, bring_m3
        What is unloaded here, loaded at the yard. [t], [m3]
    opens_h, closes_h
        Handling starts and ends between these. [h after midnight]
    ride_h
        Longest from the start of loading here to arrival at the yard; infinite for
        freight that keeps. [h]
    required
        Whether an answer without this visit is none.
    """

    code: str
    take_t: float = 0.0
    take_m3: float = 0.0
    bring_t: float = 0.0
    bring_m3: float = 0.0
    opens_h: float = 0.0
    closes_h: float = 24.0
    ride_h: float = np.inf
    required: bool = True


@dataclass(frozen=True, slots=True)
class Way:
    """
    The empty way of a truck that serves another yard than its own for a day.

    Attributes
    ----------
    home, number
        Yard where it stands at night, and which of the trucks there it is.
    out_km, out_h, out_money
        From home to the yard served. [km], [h], [money]
    back_km, back_h, back_money
        From there home. [km], [h], [money]
    """

    home: Base
    number: int
    out_km: float
    out_h: float
    out_money: float
    back_km: float
    back_h: float
    back_money: float


@dataclass(frozen=True, slots=True)
class Truck:
    """
    Trucks that are alike.

    Attributes
    ----------
    code
        Name of the kind of truck.
    base, legs
        Positions in the task's bases and legs.
    count
        How many there are.
    payload_t, body_m3
        The two limits of a load. [t], [m3]
    starts_h, ends_h
        Not out before and after. [h after midnight]
    shift_h
        Longest from leaving the yard to the last return. [h]
    money_per_h, money_per_day
        Paid for every hour out, and for going out at all. [money]
    hire_per_h, hire_least_h
        What of `money_per_h` is hire, and the least time that it is paid for. [money],
        [h]
    most_trips
        Trips a day.
    way
        From its home to the base and back, where that is another yard.
    """

    code: str
    base: int
    legs: int
    count: int
    payload_t: float
    body_m3: float = np.inf
    starts_h: float = 0.0
    ends_h: float = 24.0
    shift_h: float = 24.0
    money_per_h: float = 0.0
    money_per_day: float = 0.0
    hire_per_h: float = 0.0
    hire_least_h: float = 0.0
    most_trips: int = 1
    way: Way | None = None


@dataclass(frozen=True, eq=False)
class Legs:
    """
    Driving and handling between places: bases first, then stops; row = from.

    Attributes
    ----------
    km, hours, money
        Driving; hours are infinite where this truck may not go from one to the
        other on one trip. [km], [h], [money]
    before, after
        Handling ahead of the leg, where it starts, and behind it, where it ends. [h]
    """

    km: Floats
    hours: Floats
    money: Floats
    before: Floats
    after: Floats


@dataclass(frozen=True, slots=True)
class Limits:
    """
    Driving limits of a day.

    Attributes
    ----------
    day_h
        Most driving in a day. [h]
    unbroken_h, break_h
        Most driving without a break, and the length of the break. [h]
    """

    day_h: float = 9.0
    unbroken_h: float = 4.0
    break_h: float = 0.5


@dataclass(frozen=True, eq=False)
class Task:
    """One day: bases, stops, trucks, the legs they drive, and limits."""

    bases: tuple[Base, ...]
    stops: tuple[Stop, ...]
    trucks: tuple[Truck, ...]
    legs: tuple[Legs, ...]
    limits: Limits = field(default_factory=Limits)

    def __post_init__(self) -> None:
        """Check that tables fit each other."""
        n = len(self.bases) + len(self.stops)
        for legs in self.legs:
            for name in ("km", "hours", "money", "before", "after"):
                shape = getattr(legs, name).shape
                if shape != (n, n):
                    message = f"{name} has shape {shape}, expected {(n, n)}"
                    raise ValueError(message)

    def place(self, stop: int) -> int:
        """Row of a stop in the legs."""
        return len(self.bases) + stop

    def content(self) -> tuple[object, ...]:
        """All that the task says, to tell whether another is the same."""
        names = ("km", "hours", "money", "before", "after")
        legs = tuple(getattr(x, n).tobytes() for x in self.legs for n in names)
        return self.bases, self.stops, self.trucks, legs, self.limits


@dataclass(frozen=True, slots=True)
class Tour:
    """
    What one truck does in a day.

    Attributes
    ----------
    truck
        Position in the task's trucks.
    trips
        Positions of the stops, trip by trip, in order.
    """

    truck: int
    trips: tuple[tuple[int, ...], ...]

    @property
    def stops(self) -> list[int]:
        """All stops in order."""
        return [stop for trip in self.trips for stop in trip]


@dataclass(frozen=True, slots=True)
class SearchLimits:
    """
    How long to search: the same seed and iterations give the same rounds.

    Attributes
    ----------
    iterations
        Most iterations; None for no limit.
    seconds
        Hard limit. If it ends the search, the answer is not repeatable. [s]
    seed
        Of the search.
    """

    iterations: int | None = 2000
    seconds: float = 60.0
    seed: int = 1


@dataclass(frozen=True, slots=True)
class RoundsSolution:
    """
    Tours, the visits left out, and whether the clock ended the search.

    Attributes
    ----------
    tours, left
        Tours; positions of the stops that nobody visits.
    timed_out
        The time limit, not the iterations, ended the search.
    """

    tours: tuple[Tour, ...]
    left: tuple[int, ...]
    timed_out: bool = False
