"""
The search for rounds with PyVRP, whose only home this is.

Hybrid and iterated local search for routing: Wouda, N.A., Lan, L. and Kool, W.,
PyVRP: a high-performance VRP solver package, INFORMS Journal on Computing, 2024.

The solver counts in whole numbers. Rounding never makes a thing look easier than it
is: loads go up to the next kilogram and litre, limits down; durations up to the next
second, shifts down. Money goes to the nearest unit, of which an hour of the dearest
truck has 360 000 (without hours: the mean leg has 10 000, or, where all money is
whole already, one is one). `check` then looks at the answer in hours and tonnes.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor, isfinite
from time import perf_counter
from typing import Any
from warnings import catch_warnings, simplefilter

import numpy as np
from pyvrp import (
    Client,
    Depot,
    Location,
    PenaltyParams,
    ProblemData,
    Result,
    SolveParams,
    VehicleType,
)
from pyvrp import solve as search
from pyvrp.exceptions import PenaltyBoundWarning
from pyvrp.stop import MaxIterations, MaxRuntime, MultipleCriteria, StoppingCriterion

from logistics.rounds.easing import as_it_is, with_breaks, with_single_trips
from logistics.rounds.leg_times import cost
from logistics.rounds.records import (
    Legs,
    RoundsSolution,
    SearchLimits,
    Task,
    Tour,
)
from logistics.rounds.repair import driveable

SECOND, KILO = 3600, 1000
HOUR_UNITS = 100 * SECOND
NEVER = 10 * 24 * SECOND
"""Duration of a leg that may not be driven; ten days fit no shift. [s]"""
NOBODY = 10**10
"""Capacity of the truck that stands for leaving out. [kg], [L]"""
MOST_FINE = 1e8
"""For a kilogram, litre or second too much; far from overflow of 64 bits."""
NOISE = 1e-7
"""Added against rounding noise before rounding up or down."""


def solve_task(task: Task, effort: SearchLimits) -> RoundsSolution:
    """
    Search the rounds of a task.

    Visits that need not be made are left out only if no truck can make them: leaving
    one out costs more than all tours could. Where a tour breaks a rule that the solver
    does not know (breaks in driving, age of what spoils), the task is searched again,
    first with the breaks taken off the shift, then with one trip a truck, no longer
    than the shortest ride; of a tour that still breaks a rule, the trips and visits
    that do are left out (`driveable`).

    Parameters
    ----------
    task
        A day.
    effort
        Iterations, seconds and seed; the seconds are for all searches together.
    """
    if not task.stops or not task.trucks:
        return RoundsSolution((), tuple(range(len(task.stops))))
    end = perf_counter() + effort.seconds
    incumbent = None
    for harder in (as_it_is, with_breaks, with_single_trips):
        rest = max(0.05, end - perf_counter())
        answer = _once(harder(task), replace(effort, seconds=rest))
        sound = driveable(task, answer)
        rank = (len(sound.left), cost(task, sound))
        if incumbent is None or rank < incumbent[0]:
            incumbent = (rank, sound)
        if len(sound.left) == len(answer.left):
            break
    assert incumbent is not None
    return incumbent[1]


def _once(task: Task, effort: SearchLimits) -> RoundsSolution:
    """Search once and translate the answer back."""
    stops: list[StoppingCriterion] = [MaxRuntime(effort.seconds)]
    if effort.iterations is not None:
        stops.append(MaxIterations(effort.iterations))
    started = perf_counter()
    with catch_warnings():
        # No feasible end is told apart below; it needs no warning.
        simplefilter("ignore", PenaltyBoundWarning)
        result = search(
            _problem(task),
            MultipleCriteria(stops),
            effort.seed,
            collect_stats=False,
            params=_params(effort),
        )
    spent = perf_counter() - started
    short = effort.iterations is None or result.num_iterations < effort.iterations
    return replace(_answer(task, result), timed_out=short and spent >= effort.seconds)


def _params(effort: SearchLimits) -> SolveParams:
    """Let a short search raise its fines for broken limits soon enough."""
    often = PenaltyParams().solutions_between_updates
    if effort.iterations is not None:
        often = min(often, max(10, effort.iterations // 25))
    fines = PenaltyParams(solutions_between_updates=often, max_penalty=MOST_FINE)
    return SolveParams(penalty=fines)


def _problem(task: Task) -> ProblemData:
    """Translate a task into whole numbers."""
    unit = money_unit(task)
    count = len(task.bases) + len(task.stops)
    legs = [_whole(x, unit) for x in task.legs]
    waits = np.max([x.after for x in task.legs], axis=0).max(axis=0)
    depots = [
        Depot(n, _up(b.opens_h * SECOND), _down(b.closes_h * SECOND))
        for n, b in enumerate(task.bases)
    ]
    clients = [
        Client(
            task.place(n),
            delivery=[_up(s.bring_t * KILO), _up(s.bring_m3 * KILO)],
            pickup=[_up(s.take_t * KILO), _up(s.take_m3 * KILO)],
            tw_early=min(
                _up((s.opens_h + float(waits[task.place(n)])) * SECOND),
                _down(s.closes_h * SECOND),
            )
            if s.opens_h > 0
            else 0,
            tw_late=_down(s.closes_h * SECOND),
        )
        for n, s in enumerate(task.stops)
    ]
    vehicles = [_vehicle(task, v, unit) for v in range(len(task.trucks))]
    if any(not stop.required for stop in task.stops):
        vehicle, ways = _nobody(task, _prize(task, unit))
        vehicles.append(vehicle)
        legs.append(ways)
    return ProblemData(
        [Location(0, 0) for _ in range(count)],
        clients,
        depots,
        vehicles,
        [money for money, _ in legs],
        [seconds for _, seconds in legs],
    )


def _nobody(task: Task, prize: int) -> tuple[VehicleType, tuple[Any, Any]]:
    """
    Make the truck that drives what is left out: no limits, a fine for every stop.

    With it every visit can be required, which the search handles far better than
    visits it may drop, above all where trucks make several trips.
    """
    count = len(task.bases) + len(task.stops)
    fine = np.zeros((count, count), dtype=np.int64)
    may = [task.place(n) for n, stop in enumerate(task.stops) if not stop.required]
    never = [task.place(n) for n, stop in enumerate(task.stops) if stop.required]
    fine[:, may] = prize
    seconds = np.zeros_like(fine)
    seconds[:, never] = NEVER
    for matrix in (fine, seconds):
        np.fill_diagonal(matrix, 0)
    vehicle = VehicleType(
        num_available=len(may),
        capacity=[NOBODY, NOBODY],
        shift_duration=NEVER - 1,
        profile=len(task.legs),
        name="nobody",
    )
    return vehicle, (fine, seconds)


def money_unit(task: Task) -> float:
    """Worth of the solver's unit of money, see the head of this module. [money]"""
    hourly = max((t.money_per_h for t in task.trucks), default=0.0)
    if hourly > 0:
        return hourly / HOUR_UNITS
    driven = [x.money[np.isfinite(x.hours)] for x in task.legs]
    if all(np.array_equal(m, np.round(m)) for m in driven):
        return 1.0
    return float(np.mean(np.concatenate(driven))) / 10_000


def _prize(task: Task, unit: float) -> int:
    """Cost of leaving a visit out: more than the dearest way to make it alone."""
    most = max(float(x.money[np.isfinite(x.hours)].max()) for x in task.legs)
    day = max(
        t.money_per_h * max(t.shift_h, t.hire_least_h) + t.money_per_day
        for t in task.trucks
    )
    return _up(10 * (most + day) / unit) + 1


def _whole(legs: Legs, unit: float) -> tuple[Any, Any]:
    """Money and seconds of all legs, handling included; a place to itself is free."""
    may = np.isfinite(legs.hours)
    hours = np.where(may, legs.hours + legs.before + legs.after, 0.0)
    seconds = np.ceil(hours * SECOND - NOISE).astype(np.int64)
    seconds[~may] = NEVER
    money = np.round(np.where(may, legs.money, 0.0) / unit).astype(np.int64)
    for matrix in (seconds, money):
        np.fill_diagonal(matrix, 0)
    return money, seconds


def _vehicle(task: Task, v: int, unit: float) -> VehicleType:
    """Translate a kind of truck; the driving limit caps the shift as a whole."""
    truck = task.trucks[v]
    body = truck.body_m3 if isfinite(truck.body_m3) else 1e9
    starts, ends, shift = truck.starts_h, truck.ends_h, truck.shift_h
    daily = truck.money_per_day
    if truck.way:
        out, back = truck.way.out_h, truck.way.back_h
        starts = max(starts, truck.way.home.opens_h) + out
        ends = min(ends, truck.way.home.closes_h) - back
        shift = max(0.0, shift - out - back)
        daily += truck.way.out_money + truck.way.back_money
        daily += (out + back) * truck.money_per_h
    least = min(truck.hire_least_h, shift) if truck.hire_per_h > 0 else 0.0
    hourly, over = truck.money_per_h, 0.0
    if least > 0:  # the least time is paid at once, hire beyond it as overtime
        daily += truck.hire_per_h * least
        hourly, over = truck.money_per_h - truck.hire_per_h, truck.hire_per_h
    return VehicleType(
        num_available=truck.count,
        capacity=[_down(truck.payload_t * KILO), _down(body * KILO)],
        start_depot=truck.base,
        end_depot=truck.base,
        fixed_cost=_up(daily / unit),
        tw_early=_up(starts * SECOND),
        tw_late=_down(ends * SECOND),
        shift_duration=_down((least or shift) * SECOND),
        max_overtime=_down(shift * SECOND) - _down(least * SECOND) if least else 0,
        unit_overtime_cost=round(over / unit / SECOND),
        unit_distance_cost=1,
        unit_duration_cost=round(hourly / unit / SECOND),
        profile=truck.legs,
        reload_depots=[truck.base] if truck.most_trips > 1 else [],
        max_reloads=truck.most_trips - 1,
        name=truck.code,
    )


def _answer(task: Task, result: Result) -> RoundsSolution:
    """Read tours; of a search without a feasible end `driveable` keeps what drives."""
    tours = []
    for route in result.best.routes():
        trips: list[list[int]] = [[]]
        for activity in route.schedule():
            if activity.is_depot():
                if trips[-1]:
                    trips.append([])
            else:
                trips[-1].append(activity.idx)
        done = tuple(tuple(trip) for trip in trips if trip)
        if done and route.vehicle_type() < len(task.trucks):
            tours.append(Tour(route.vehicle_type(), done))
    kept = {stop for tour in tours for stop in tour.stops}
    left = tuple(s for s in range(len(task.stops)) if s not in kept)
    return RoundsSolution(tuple(tours), left)


def _up(value: float) -> int:
    """Round up, but for noise."""
    return ceil(value - NOISE)


def _down(value: float) -> int:
    """Round down, but for noise."""
    return floor(value + NOISE)
