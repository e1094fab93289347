"""Tours that break a rule, shortened until they keep all of them."""

from __future__ import annotations

from dataclasses import replace

from logistics.rounds.check import spoils, tour_faults
from logistics.rounds.records import RoundsSolution, Task, Tour

Trip = tuple[int, ...]


def driveable(task: Task, answer: RoundsSolution) -> RoundsSolution:
    """
    Leave out as few visits as make every tour keep its rules.

    Compost goes first (`clean_first`). Of a tour that breaks a rule, trips are kept in
    order as long as they keep all; from one that does not, visits are taken out one by
    one.
    """
    shortened = [_shortened(task, clean_first(task, t)) for t in answer.tours]
    good = tuple(tour for tour in shortened if tour.trips)
    kept = {stop for tour in good for stop in tour.stops}
    left = tuple(s for s in range(len(task.stops)) if s not in kept)
    return replace(answer, tours=good, left=left)


def clean_first(task: Task, tour: Tour) -> Tour:
    """Put the trips with compost before those with what spoils; else as they are."""

    def rank(trip: Trip) -> int:
        if any(spoils(task.stops[s]) for s in trip):
            return 2
        return 0 if any(task.stops[s].bring_t > 0 for s in trip) else 1

    ranks = [rank(trip) for trip in tour.trips]
    if 0 not in ranks or 2 not in ranks:
        return tour
    order = sorted(range(len(ranks)), key=ranks.__getitem__)
    return replace(tour, trips=tuple(tour.trips[n] for n in order))


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
