"""Tours that break a rule, shortened until they keep all of them."""

from __future__ import annotations

from dataclasses import replace

from logistics.rounds.check import tour_faults
from logistics.rounds.records import RoundsSolution, Task, Tour

Trip = tuple[int, ...]


def driveable(task: Task, answer: RoundsSolution) -> RoundsSolution:
    """
    Leave out as few visits as make every tour keep its rules.

    Of a tour that breaks one, trips are kept in order as long as they keep all; from
    one that does not, visits are taken out one by one.
    """
    shortened = [_shortened(task, tour) for tour in answer.tours]
    good = tuple(tour for tour in shortened if tour.trips)
    kept = {stop for tour in good for stop in tour.stops}
    left = tuple(s for s in range(len(task.stops)) if s not in kept)
    return replace(answer, tours=good, left=left)


def _shortened(task: Task, tour: Tour) -> Tour:
    """Take out of a tour what breaks a rule; it may be without trips then."""
    if not tour_faults(task, tour):
        return tour
    kept: tuple[Trip, ...] = ()
    for trip in tour.trips:
        fitting = _fitting(task, tour.truck, kept, trip)
        kept = (*kept, fitting) if fitting else kept
    return Tour(tour.truck, kept)


def _fitting(task: Task, truck: int, before: tuple[Trip, ...], trip: Trip) -> Trip:
    """Take visits out of a trip until it can be driven after those before it."""
    while trip:
        fewer = [trip[:n] + trip[n + 1 :] for n in range(len(trip))]
        for some in (trip, *fewer):
            if some and not tour_faults(task, Tour(truck, (*before, some))):
                return some
        trip = trip[1:]
    return ()
