"""
The plan's yards against a free choice of yards, if what spoils alone decided.

Both sides are searched alike on the same day, loads, trucks and roads; the free choice
begins from what was found for the plan's yards, so it is never dearer. Figures are
added up anew here, from the tables of roads, trucks and yards, and held against the
search's own total.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from time import perf_counter
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from logistics.rounds.leg_times import hours_out, timetable
from logistics.rounds.located.check import (
    Siting,
    loads_t,
    located_cost,
    located_faults,
    opened,
    used_bases,
)
from logistics.rounds.located.collecting_day import (
    CollectingDay,
    NoChoiceError,
    collecting_day,
)
from logistics.rounds.records import RoundsSolution, SearchLimits, Tour
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result

PLANNED, FREE = "plan", "free"
STEPS = 20
"""Of a short search; a longer one has four times as many."""
PENNY = 1e-6
"""Difference of two totals that is rounding noise, as a share."""


@dataclass(frozen=True, eq=False)
class YardChoice:
    """
    Two sets of yards and what their rounds cost on one day.

    Attributes
    ----------
    period, day
        Code of the period, working day in it.
    materials
        What is fetched.
    table
        One row a side ("plan", "free") and open yard: choice, yard, size, tonnes,
        capacity_t [t], trips, trucks, km [km], hours (trucks out) [h], truck_money,
        yard_money [money].
    faults
        What the checks found wrong; empty on every choice that is shown.
    timed_out
        Whether the time limit ended a search.
    seconds
        Taken by both searches, wall time. [s]
    """

    period: str
    day: int
    materials: tuple[str, ...]
    table: pd.DataFrame
    faults: tuple[str, ...]
    timed_out: bool
    seconds: float


def choose_yards(
    result: Result,
    period: str,
    *,
    seed: int = 1,
    seconds: float = 120.0,
) -> YardChoice:
    """
    Choose yards and rounds together for what spoils, and hold the plan's against them.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.
    seed
        Of the searches.
    seconds
        Most for either side. [s]

    Raises
    ------
    NoChoiceError
        If nothing that spoils is fetched, or the plan's yards cannot fetch it all on
        one day.
    """
    from logistics.rounds.located.search import locate

    started = perf_counter()
    day = collecting_day(result, period)
    effort = SearchLimits(STEPS, seconds, seed)
    planned = of_plan(day, effort)
    if planned.left:
        message = (
            "no rounds bring all of it to the plan's yards in one day; "
            f"{len(planned.left)} loads were left"
        )
        raise NoChoiceError(message)
    free = locate(day.siting, effort, start=planned)
    sides = {PLANNED: planned, FREE: free}
    tables = {name: figures(result, day, name, side) for name, side in sides.items()}
    return YardChoice(
        period,
        day.day,
        tuple(dict.fromkeys(visit.material for visit in day.visits)),
        pd.concat(tables.values(), ignore_index=True),
        tuple(
            f"{name}: {fault}"
            for name, side in sides.items()
            for fault in _faults(day, name, side, tables[name])
        ),
        planned.timed_out or free.timed_out,
        perf_counter() - started,
    )


def of_plan(day: CollectingDay, effort: SearchLimits) -> RoundsSolution:
    """Search the rounds of the plan's yards, in the numbers of all trucks."""
    from logistics.rounds.located.search import locate

    siting, kinds = _only_planned(day)
    answer = locate(siting, effort)
    tours = tuple(Tour(kinds[tour.truck], tour.trips) for tour in answer.tours)
    return replace(answer, tours=tours)


def _only_planned(day: CollectingDay) -> tuple[Siting, list[int]]:
    """Leave the plan's yards alone, all open; and their trucks."""
    from logistics.rounds.located.search import cut_out

    whole, bases = day.siting, day.planned
    stops = tuple(range(len(whole.task.stops)))
    task, kinds = cut_out(whole.task, bases, stops, {})
    here = {v: n for n, v in enumerate(kinds)}
    siting = Siting(
        task,
        tuple(whole.opening_money[b] for b in bases),
        tuple(whole.capacity_t[b] for b in bases),
        always=tuple(range(len(bases))),
        fleet=tuple(
            (tuple(here[v] for v in group if v in here), most)
            for group, most in whole.fleet
        ),
    )
    return siting, kinds


def _open(day: CollectingDay, name: str, side: RoundsSolution) -> tuple[int, ...]:
    """Bases open on a side."""
    if name == PLANNED:
        return day.planned
    return opened(day.siting, used_bases(day.siting, side))[1]


def _faults(
    day: CollectingDay, name: str, side: RoundsSolution, table: pd.DataFrame
) -> list[str]:
    """Rules broken; and totals that differ from the search's own."""
    siting = day.siting
    if name == PLANNED:
        siting = replace(siting, always=day.planned, known={})
    found = located_faults(siting, side)
    total = float(table["truck_money"].sum() + table["yard_money"].sum())
    counted = located_cost(siting, side)
    if not abs(total - counted) <= PENNY * max(1.0, abs(total)):
        found.append(f"costs {counted:.6g} by the search, {total:.6g} counted anew")
    return found


def figures(
    result: Result, day: CollectingDay, name: str, side: RoundsSolution
) -> pd.DataFrame:
    """
    Add up a side from the scenario's tables, one row an open yard.

    Returns
    -------
    DataFrame
        See `YardChoice.table`.
    """
    loads = loads_t(day.siting, side.tours)
    sums = {b: np.zeros(5) for b in _open(day, name, side)}
    for tour in side.tours:
        sums[day.siting.task.trucks[tour.truck].base] += _tour(result, day, tour)
    rows = []
    for b, (trips, trucks, km, hours, money) in sums.items():
        yard, size = day.options[b]
        rows.append(
            {
                "choice": name,
                "yard": yard,
                "size": size,
                "tonnes": loads[b],
                "capacity_t": day.siting.capacity_t[b],
                "trips": int(trips),
                "trucks": int(trucks),
                "km": km,
                "hours": hours,
                "truck_money": money,
                "yard_money": _yearly(result, yard, size) / day.year_days,
            }
        )
    return pd.DataFrame(rows)


def _yearly(result: Result, yard: str, size: str) -> float:
    """Cost of a yard in a size. [money/yr]"""
    inst = result.instance
    return float(inst.options.annual[inst.options_of([(yard, size)])].sum())


def _tour(result: Result, day: CollectingDay, tour: Tour) -> Any:
    """Trips, trucks, km, hours out and money of one truck: out empty, back loaded."""
    finance = result.scenario.settings.finance
    code = day.trucks[tour.truck]
    truck = rows_by(result.scenario.trucks, "truck")[code]
    yard, _ = day.options[day.siting.task.trucks[tour.truck].base]
    state, ways = result.travel.pick(code, day.period), result.travel
    (base,) = ways.index("yard", [yard])
    km = money = 0.0
    for trip in tour.trips:
        places = ways.index("source", [day.visits[s].place for s in trip])
        rows = [base, *places, base]
        for n, (a, b) in enumerate(pairwise(rows)):
            fuel = truck["fuel_l_per_km_loaded" if n else "fuel_l_per_km_empty"]
            per_km = fuel * finance.fuel_price_per_l + truck["repair_cost_per_km"]
            length = 0.0 if a == b else float(state.km[a, b])
            km += length
            money += length * per_km + (0.0 if a == b else float(state.fare[a, b]))
    calls = timetable(day.siting.task, tour)
    hours = hours_out(day.siting.task, tour, calls)
    money += hours * truck["crew_cost_per_hour"]
    money += truck["fixed_cost_per_year"] / day.year_days
    return np.array([len(tour.trips), 1.0, km, hours, money])
