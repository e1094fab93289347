"""Whether rounds can be driven: every rule checked afresh, without the solver."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from logistics.rounds.leg_times import TINY, Call, hours_out, timetable
from logistics.rounds.records import Base, RoundsSolution, Stop, Task, Tour, Truck
from logistics.rounds.visit_records import Visit

SLACK = 1e-6
"""Rounding noise allowed in tonnes, cubic metres and hours."""


def over(value: float, most: float) -> bool:
    """Whether a value is above a limit by more than noise, or no number at all."""
    return not value <= most + SLACK


def faults(task: Task, answer: RoundsSolution) -> list[str]:
    """
    List all that is wrong with an answer, in sentences; empty if it can be driven.

    Checked: each visit exactly once or named as left out, required ones never left
    out, trucks at hand, and for every tour all `RULES`.
    """
    seen = Counter(stop for tour in answer.tours for stop in tour.stops)
    seen.update(answer.left)
    strange = [f"no stop {s}" for s in seen if not 0 <= s < len(task.stops)]
    strange += [
        f"no truck {tour.truck}"
        for tour in answer.tours
        if not 0 <= tour.truck < len(task.trucks)
    ]
    if strange:
        return strange
    found = [
        f"{stop.code}: visited or left out {seen[s]} times"
        for s, stop in enumerate(task.stops)
        if seen[s] != 1
    ]
    found += [
        f"{task.stops[s].code}: left out" for s in answer.left if task.stops[s].required
    ]
    used = Counter(tour.truck for tour in answer.tours)
    found += [
        f"{task.trucks[v].code}: {n} tours, {task.trucks[v].count} trucks"
        for v, n in used.items()
        if n > task.trucks[v].count
    ]
    for tour in answer.tours:
        code = task.trucks[tour.truck].code
        found += [f"{code}: {fault}" for fault in tour_faults(task, tour)]
    return found


@dataclass(frozen=True, slots=True)
class TimedTour:
    """A tour with its timetable: what the rules look at."""

    task: Task
    tour: Tour
    calls: list[Call]

    @property
    def truck(self) -> Truck:
        """The truck that drives it."""
        return self.task.trucks[self.tour.truck]

    @property
    def yard(self) -> Base:
        """The yard that it serves."""
        return self.task.bases[self.truck.base]

    @property
    def home(self) -> Base:
        """The yard where the truck stands at night."""
        return self.truck.way.home if self.truck.way else self.yard

    @property
    def hours(self) -> float:
        """From leaving home, or the first handling at the yard, to the end. [h]"""
        return hours_out(self.task, self.tour, self.calls)

    @property
    def visits(self) -> Iterator[tuple[Call, Stop]]:
        """Calls at stops."""
        for call in self.calls:
            if call.stop is not None:
                yield call, self.task.stops[call.stop]


def tour_faults(task: Task, tour: Tour) -> list[str]:
    """List what is wrong with one tour, apart from which stops it visits."""
    if not tour.trips or any(not trip for trip in tour.trips):
        return ["a trip without a stop"]
    driven = TimedTour(task, tour, timetable(task, tour))
    if not all(isfinite(c.drive_h) for c in driven.calls):
        return [*_trips(driven), "a leg that this truck may not drive"]
    return [fault for rule in RULES.values() for fault in rule(driven)]


def _trips(d: TimedTour) -> Iterator[str]:
    if len(d.tour.trips) > d.truck.most_trips:
        yield f"{len(d.tour.trips)} trips, {d.truck.most_trips} allowed"


def _loads(d: TimedTour) -> Iterator[str]:
    for call in d.calls:
        if over(call.load_t, d.truck.payload_t):
            yield f"carries {call.load_t:.6g} t, {d.truck.payload_t:.6g} t allowed"
        if over(call.load_m3, d.truck.body_m3):
            yield f"carries {call.load_m3:.6g} m3, {d.truck.body_m3:.6g} m3 allowed"


def _shift(d: TimedTour) -> Iterator[str]:
    if over(d.hours, d.truck.shift_h):
        yield f"is out for {d.hours:.4g} h, {d.truck.shift_h:.4g} h allowed"


def _start(d: TimedTour) -> Iterator[str]:
    start = d.calls[-1].ends_h - d.hours
    if over(max(d.truck.starts_h, d.home.opens_h), start):
        yield f"leaves at {start:.4g} h, too early"


def _yard(d: TimedTour) -> Iterator[str]:
    done = [c.ends_h for c in d.calls if not c.way][-1]
    if over(done, d.yard.closes_h):
        yield f"finishes at {done:.4g} h, after the yard closes"


def _return(d: TimedTour) -> Iterator[str]:
    end = d.calls[-1].ends_h
    if over(end, min(d.truck.ends_h, d.home.closes_h)):
        yield f"is back at {end:.4g} h, too late"


def _driving(d: TimedTour) -> Iterator[str]:
    hours, most = sum(c.drive_h for c in d.calls), d.task.limits.day_h
    if over(hours, most):
        yield f"drives {hours:.4g} h, {most:.4g} h allowed"


def _breaks(d: TimedTour) -> Iterator[str]:
    limits = d.task.limits
    rests = ((c.drive_h, round(c.break_h / limits.break_h)) for c in d.calls)
    yield from unbroken_faults(rests, limits.unbroken_h)


def _stops(d: TimedTour) -> Iterator[str]:
    for call, stop in d.visits:
        if over(stop.opens_h, call.starts_h):
            yield f"{stop.code} is not open yet"
        if over(call.ends_h, stop.closes_h):
            yield f"{stop.code} is closed by then"


def _ages(d: TimedTour) -> Iterator[str]:
    """Freight that spoils must reach the yard in time."""
    arrives = {c.trip: c.arrives_h for c in d.calls if not c.way}  # the yard is last
    for call, stop in d.visits:
        ride = arrives[call.trip] - call.starts_h
        if stop.take_t > 0 and over(ride, stop.ride_h):
            yield f"{stop.code} rides {ride:.4g} h, {stop.ride_h:.4g} h allowed"


def spoils(stop: Stop) -> bool:
    """Whether what is fetched at a stop spoils."""
    return stop.take_t > 0 and isfinite(stop.ride_h)


def _order(d: TimedTour) -> Iterator[str]:
    """Carry no compost in a truck that has fetched what spoils on that day."""
    last = None
    for _, stop in d.visits:
        if spoils(stop):
            last = stop
        elif stop.bring_t > 0 and last is not None:
            yield f"{stop.code} gets compost after {last.code}, which spoils"


RULES: dict[str, Callable[[TimedTour], Iterator[str]]] = {
    "trips a day": _trips,
    "both limits of the load on every leg": _loads,
    "shift": _shift,
    "leaving once the truck may and its yard is open": _start,
    "the yard served before it closes": _yard,
    "home before the truck must and its yard closes": _return,
    "driving in a day": _driving,
    "driving without a break": _breaks,
    "opening hours of stops": _stops,
    "age of what spoils on arrival": _ages,
    "compost before what spoils": _order,
}
"""What a tour must keep, by name."""


def unbroken_faults(legs: Iterable[tuple[float, int]], most_h: float) -> list[str]:
    """
    Name stretches of driving longer than allowed, from (driving, breaks) of each leg.

    The first break is taken before the leg if there was driving before it; every
    further one after as much driving as is allowed.

    Examples
    --------
    >>> unbroken_faults([(2, 0), (2.5, 0)], 4)
    ['drives 4.5 h without a break, 4 h allowed']
    >>> unbroken_faults([(2, 0), (2.5, 1)], 4)
    []
    """
    found, since = [], 0.0
    for drive, breaks in legs:
        if breaks:
            inside = breaks - 1 if since > TINY else breaks
            since = max(0.0, drive - inside * most_h)
        else:
            since += drive
        if over(since, most_h):
            found.append(
                f"drives {since:.4g} h without a break, {most_h:.4g} h allowed"
            )
    return found


def place_faults(
    out: Iterable[tuple[str, int]], own: Mapping[str, int], homes: Mapping[str, int]
) -> list[str]:
    """
    Find trucks in two places at once, and more own trucks out than stand at a yard.

    Parameters
    ----------
    out
        Name of the truck and day of every tour.
    own
        Names of own trucks to their number at their yard, from 1.
    homes
        Names of own trucks to how many of their type stand at that yard at night.

    Examples
    --------
    >>> place_faults([("a 1", 1), ("a 1", 2), ("a 2", 1)], {"a 2": 2}, {"a 2": 1})
    ['a 2 is out, but only 1 are kept there at night']
    >>> place_faults([("a 1", 1), ("a 1", 1)], {}, {})
    ['a 1 is out 2 times on day 1']
    """
    times = Counter(out)
    found = [f"{t} is out {n} times on day {d}" for (t, d), n in times.items() if n > 1]
    return found + [
        f"{truck} is out, but only {homes.get(truck, 0)} are kept there at night"
        for truck, number in own.items()
        if number > homes.get(truck, 0)
    ]


def part_faults(
    planned: Sequence[Visit],
    driven: Iterable[Visit],
    left: Iterable[Visit],
    date: Callable[[int], int],
) -> list[str]:
    """
    Find planned loads that are not all accounted for, or are driven on a wrong day.

    Parameters
    ----------
    planned
        Visits as planned, in the order of their numbers.
    driven, left
        Loads, or parts of them, that are driven and that are not, with the number of
        the planned visit of each.
    date
        Day of the period, rest days counted, on which a working day falls.
    """
    tonnes = [0.0] * len(planned)
    found = []
    driven = list(driven)
    for part in (*driven, *left):
        if not 0 <= part.number < len(planned):
            return [f"{part.place}: no planned visit {part.number}"]
        tonnes[part.number] += part.tonnes
    for visit, got in zip(planned, tonnes, strict=True):
        if over(abs(got - visit.tonnes), 0.0):
            found.append(
                f"{visit.place}: {got:.6g} t driven or left over, {visit.tonnes:.6g} t "
                "planned"
            )
    for part in driven:
        visit = planned[part.number]
        first, last = visit.first_day or visit.day, visit.last_day or visit.day
        if not first <= part.day <= last:
            found.append(
                f"{part.place} is driven on day {part.day}, days {first} to {last} "
                "allowed"
            )
        waits = 24 * (date(part.day) - date(visit.day))
        if visit.spoils and over(part.ride_h + waits, visit.ride_h):
            found.append(
                f"{part.place} waits {waits} h more and may ride {part.ride_h:.4g} h, "
                f"{visit.ride_h:.4g} h in total allowed"
            )
    return found


def week_faults(
    driving: Mapping[tuple[str, int], float], day_h: float, week_h: float
) -> list[str]:
    """
    Driving over the limits of days and weeks, one driver a truck.

    Parameters
    ----------
    driving
        Driving of each truck and working day of one week. [h]
    day_h, week_h
        Most driving in a day and a week. [h]

    Examples
    --------
    >>> week_faults({("heavy", d): 8.5 for d in range(6)}, 9, 48)
    ['heavy drives 51 h in the week, 48 h allowed']
    >>> week_faults({("heavy", d): 9.0 for d in range(5)}, 9, 48)
    []
    """
    found = [
        f"{truck} drives {h:.4g} h on day {day}, {day_h:.4g} h allowed"
        for (truck, day), h in driving.items()
        if over(h, day_h)
    ]
    weeks: dict[str, float] = defaultdict(float)
    for (truck, _), hours in driving.items():
        weeks[truck] += hours
    found += [
        f"{truck} drives {h:.4g} h in the week, {week_h:.4g} h allowed"
        for truck, h in weeks.items()
        if over(h, week_h)
    ]
    return found
