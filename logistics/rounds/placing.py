"""
Visits that no truck could take on their day: on another day, or in smaller loads.

A visit goes, whole, to the day on which it costs least, of those on which it may be
driven; feedstock that spoils has its own day alone, unless it keeps long enough. What
no truck takes whole is cut for trucks that have the time. The rounds that are there
stay as they are; a truck makes one trip more, takes a visit along, or goes out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf
from operator import is_not
from typing import TYPE_CHECKING

from logistics.costs import may_carry, truck_load_t
from logistics.rounds.check import tour_faults
from logistics.rounds.days import Day, with_visits, without
from logistics.rounds.fleet import homes
from logistics.rounds.idle import Idle, idle_trucks, with_idle
from logistics.rounds.leg_times import cost, hours_out, timetable
from logistics.rounds.records import RoundsSolution, Tour
from logistics.rounds.rows_known import rows_of
from logistics.rounds.visit_list import densities, hours_later
from logistics.rounds.visit_records import Visit
from logistics.rounds.windrow_calendar import period_day

if TYPE_CHECKING:
    from logistics.results import Result

Found = tuple[float, int, Day, RoundsSolution]
"""Money, position of the day, the day and its rounds with a visit more."""
LEAST_T = 0.05
"""No load is cut for a truck that takes less. [t]"""


class Placing:
    """The days of a period while visits find their place."""

    def __init__(
        self,
        result: Result,
        period: str,
        days: list[Day],
        answers: list[RoundsSolution],
    ) -> None:
        self.result, self.period = result, period
        self.days, self.answers = days, answers
        self.at = {(day.yard, day.day): n for n, day in enumerate(days)}
        row = rows_of(result.scenario, "periods")[period]
        self.rest = float(row["days"]) / max(1, round(float(row["working_days"])))
        self.dense = densities(result.scenario)
        self.seen: dict[tuple[str, int], tuple[list[RoundsSolution], list[Idle]]] = {}
        self.stand = homes(result)
        self.trucks = rows_of(result.scenario, "trucks")

    def take_out(self) -> list[Visit]:
        """Take all that is left over out of its days: what spoils and is most first."""
        found = []
        for n, (day, answer) in enumerate(zip(self.days, self.answers, strict=True)):
            if answer.left:
                found += [day.visits[s] for s in answer.left]
                self.days[n], self.answers[n] = without(
                    self.result, self.period, day, answer, set(answer.left)
                )
        return sorted(found, key=lambda v: (not v.spoils, -v.tonnes, v.day, v.number))

    def put_back(self, visit: Visit) -> None:
        """Leave a visit over on its own day."""
        n = self.at[visit.yard, visit.day]
        day = with_visits(self.result, self.period, self.days[n], [visit])
        left = (*self.answers[n].left, len(day.visits) - 1)
        self.days[n], self.answers[n] = day, replace(self.answers[n], left=left)

    def whole(self, visit: Visit) -> bool:
        """Find the cheapest place for a whole visit; false where there is none."""
        best = min(
            (o for moved in self.moved(visit) for o in self.offers(moved)),
            key=lambda offer: offer[:2],
            default=None,
        )
        if best:
            _, n, self.days[n], self.answers[n] = best
        return best is not None

    def in_parts(self, visit: Visit) -> Visit | None:
        """Cut a visit for trucks that have the time; return what is still left."""
        rest: Visit | None = visit
        for moved in sorted(self.moved(visit), key=lambda v: abs(v.day - visit.day)):
            for load in self.smaller(visit):
                while rest and self.whole_on(moved.part(min(load, rest.tonnes))):
                    over = rest.tonnes - load
                    rest = rest.part(over) if over > 1e-9 else None
                if rest is None:
                    return None
        return rest

    def whole_on(self, visit: Visit) -> bool:
        """Find the cheapest place for a visit on its own day."""
        return self.whole(replace(visit, first_day=visit.day, last_day=visit.day))

    def smaller(self, visit: Visit) -> list[float]:
        """List loads of trucks that take less than a visit, the largest first. [t]"""
        loads = {
            float(
                truck_load_t(
                    truck["payload_t"], truck["body_m3"], self.dense[visit.material]
                )
            )
            for truck in self.trucks.values()
            if may_carry(truck, visit.material)
        }
        return sorted((x for x in loads if LEAST_T < x < visit.tonnes), reverse=True)

    def moved(self, visit: Visit) -> Iterator[Visit]:
        """Put a visit on each of its days on which its yard has rounds."""
        for day in visit.days:
            if (visit.yard, day) in self.at:
                ride = visit.ride_h
                if visit.spoils:
                    ride -= max(
                        hours_later(day - visit.day, self.rest),
                        24.0 * (self.date(day) - self.date(visit.day)),
                    )
                yield replace(visit, day=day, ride_h=ride)

    def date(self, day: int) -> int:
        """Day of the period on which a working day falls."""
        return period_day(self.result.scenario, self.period, day)

    def offers(self, visit: Visit) -> Iterator[Found]:
        """Try a visit with every truck that is out on its day, and with idle ones."""
        n = self.at[visit.yard, visit.day]
        day, answer = self.days[n], self.answers[n]
        here = [at for at in range(len(answer.tours)) if self.may(n, at, visit)]
        idle = [x for x in self.idle(day) if self.able(x[0][0], visit)]
        if not here and not idle:
            return
        wider = with_idle(self.result, day, idle)
        wider = with_visits(self.result, self.period, wider, [visit])
        stop = len(day.visits)
        for at in here:
            before = answer.tours[at]
            paid = cost(wider.task, RoundsSolution((before,), ()))
            for tour in one_more(before, stop):
                if not tour_faults(wider.task, tour):
                    more = cost(wider.task, RoundsSolution((tour,), ())) - paid
                    tours = list(answer.tours)
                    tours[at] = tour
                    trimmed = _trimmed(wider, day, None)
                    yield more, n, trimmed, replace(answer, tours=tuple(tours))
        for v in range(len(day.task.trucks), len(wider.task.trucks)):
            tour = Tour(v, ((stop,),))
            if not tour_faults(wider.task, tour):
                more = cost(wider.task, RoundsSolution((tour,), ()))
                trimmed = _trimmed(wider, day, v)
                last = Tour(len(trimmed.task.trucks) - 1, tour.trips)
                yield more, n, trimmed, replace(answer, tours=(*answer.tours, last))

    def idle(self, day: Day) -> list[Idle]:
        """List idle trucks that a yard could have on a day."""
        same = [n for n, other in enumerate(self.days) if other.day == day.day]
        now = [self.answers[n] for n in same]
        before, found = self.seen.get((day.yard, day.day), ([], []))
        if len(before) != len(now) or any(map(is_not, before, now)):
            rows = [(self.days[n], self.answers[n]) for n in same]
            found = idle_trucks(self.result, self.period, rows, day, self.stand)
            self.seen[day.yard, day.day] = now, found
        return found

    def able(self, code: str, visit: Visit) -> bool:
        """Whether a truck type may carry a visit and takes all of it."""
        truck = self.trucks[code]
        fits = visit.tonnes <= truck["payload_t"] + 1e-9
        fits = fits and visit.m3 <= truck["body_m3"] + 1e-9
        return bool(fits and may_carry(truck, visit.material))

    def may(self, n: int, at: int, visit: Visit) -> bool:
        """Whether a truck that is out could have time and room for a visit."""
        day, tour = self.days[n], self.answers[n].tours[at]
        truck, code = day.task.trucks[tour.truck], day.kinds[tour.truck][0]
        if not self.able(code, visit):
            return False
        free = truck.shift_h - hours_out(day.task, tour, timetable(day.task, tour))
        if free >= self.alone_h(code, visit) - 1e-6:
            return True
        loads = (
            sum(day.visits[s].tonnes for s in trip)
            for trip in tour.trips
            if day.visits[trip[0]].kind == visit.kind
            and day.visits[trip[0]].material == visit.material
        )
        room = truck.payload_t - min(loads, default=inf)
        return free > 0 and room >= visit.tonnes - 1e-9

    def alone_h(self, code: str, visit: Visit) -> float:
        """Driving of a trip to a visit and back; a trip takes no less. [h]"""
        kind = "source" if visit.kind == "in" else "market"
        state = self.result.travel.pick(code, self.period)
        (yard,) = self.result.travel.index("yard", [visit.yard])
        (place,) = self.result.travel.index(kind, [visit.place])
        return float(state.hours[yard, place] + state.hours[place, yard])


def _trimmed(wider: Day, day: Day, used: int | None) -> Day:
    """Keep the trucks of a day, and of the idle ones tried the one used."""
    rows = list(range(len(day.task.trucks))) + ([] if used is None else [used])
    trucks = tuple(wider.task.trucks[v] for v in rows)
    kinds = tuple(wider.kinds[v] for v in rows)
    return replace(wider, task=replace(wider.task, trucks=trucks), kinds=kinds)


def one_more(tour: Tour, stop: int) -> Iterator[Tour]:
    """
    Put a stop into a tour: as a trip of its own, first or last, or along on a trip.

    >>> [t.trips for t in one_more(Tour(0, ((4,),)), 7)]
    [((4,), (7,)), ((7,), (4,)), ((7, 4),), ((4, 7),)]
    """
    yield replace(tour, trips=(*tour.trips, (stop,)))
    yield replace(tour, trips=((stop,), *tour.trips))
    for n, trip in enumerate(tour.trips):
        for k in range(len(trip) + 1):
            longer = (*trip[:k], stop, *trip[k:])
            yield replace(tour, trips=(*tour.trips[:n], longer, *tour.trips[n + 1 :]))


def place_left(
    result: Result, period: str, days: list[Day], answers: list[RoundsSolution]
) -> tuple[list[Day], list[RoundsSolution]]:
    """Find another day or smaller trucks for all that is left over."""
    if not any(answer.left for answer in answers):
        return days, answers
    placing = Placing(result, period, list(days), list(answers))
    for visit in placing.take_out():
        if not placing.whole(visit):
            rest = placing.in_parts(visit)
            if rest:
                placing.put_back(rest)
    return placing.days, placing.answers
