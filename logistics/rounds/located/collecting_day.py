"""
A working day's rounds for what spoils, from any yard: the plan's loads, freed of yards.

The loads of the day are those that the plan fetches. As many yards of every size as the
plan has may stand on any site that land and rules allow in that size, so that room for
what is mixed in, and the thrift of large yards, are the same wherever they stand. Their
yearly cost is spread over the year's working days. A yard takes no more for each m3 of
pad than the plan's fullest yard does that day.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.costs import may_carry
from logistics.rounds.days import legs_between, limits_of, stops_of
from logistics.rounds.located.check import Siting
from logistics.rounds.records import Base, Floats, Task, Truck
from logistics.rounds.trucks import UNLIMITED, open_hours
from logistics.rounds.visit_list import visits
from logistics.rounds.visit_records import Visit
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

Row = dict[str, Any]


class NoChoiceError(ValueError):
    """There is nothing to compare, and why."""


@dataclass(frozen=True, eq=False)
class CollectingDay:
    """
    The day as yards to choose from, with what the positions stand for.

    Attributes
    ----------
    period, day
        Code of the period, working day in it, from 1.
    visits
        In the order of the task's stops.
    siting
        All yards in all sizes that the plan has; money is that of one day.
    options
        Yard and size of each base.
    trucks
        Type of each of the task's trucks.
    planned
        Bases that the plan has.
    year_days
        Working days of the year.
    """

    period: str
    day: int
    visits: tuple[Visit, ...]
    siting: Siting
    options: tuple[tuple[str, str], ...]
    trucks: tuple[str, ...]
    planned: tuple[int, ...]
    year_days: float


def middle_day(made: list[Visit]) -> int:
    """
    Day whose tonnes are in the middle; of alike ones the first.

    Raises
    ------
    NoChoiceError
        If nothing that spoils is fetched.
    """
    tonnes: dict[int, float] = defaultdict(float)
    for visit in made:
        tonnes[visit.day] += visit.tonnes
    if not tonnes:
        message = "the plan fetches nothing that spoils in this period"
        raise NoChoiceError(message)
    ranked = sorted(tonnes, key=lambda day: (round(tonnes[day], 6), day))
    middle = round(tonnes[ranked[(len(ranked) - 1) // 2]], 6)
    return min(day for day in tonnes if round(tonnes[day], 6) == middle)


def collecting_day(result: Result, period: str) -> CollectingDay:
    """
    Make the day of a period on which the middle amount of what spoils is fetched.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.

    Raises
    ------
    NoChoiceError
        If nothing that spoils is fetched.
    """
    made = [visit for visit in visits(result, period) if visit.spoils]
    day = middle_day(made)
    found = tuple(visit for visit in made if visit.day == day)
    inst, scenario = result.instance, result.scenario
    sizes = Counter(size for _, size in result.plan.yard_sizes)
    kept = [o for o, size in enumerate(inst.options.size) if size in sizes]
    names = [inst.yards.codes[j] for j in inst.options.yard[kept].tolist()]
    options = [(y, inst.options.size[o]) for y, o in zip(names, kept, strict=True)]
    planned = tuple(options.index(pair) for pair in result.plan.yard_sizes)
    decision = dict(zip(inst.yards.codes, inst.yards.decision, strict=True))
    year_days = float(scenario.periods["working_days"].sum())
    pad = inst.options.pad_m3[kept]
    task, kinds = _task(result, period, names, found, year_days)
    siting = Siting(
        task,
        tuple((inst.options.annual[kept] / year_days).tolist()),
        tuple(_capacity(names, pad, planned, found).tolist()),
        site=tuple(inst.options.yard[kept].tolist()),
        sort=tuple(list(sizes).index(size) for _, size in options),
        wanted=tuple(sizes.values()),
        always=tuple(b for b in planned if decision[names[b]] == "open"),
        fleet=_fleets(scenario, kinds),
    )
    return CollectingDay(
        period, day, found, siting, tuple(options), kinds, planned, year_days
    )


def _capacity(
    yards: list[str], pad: Floats, planned: tuple[int, ...], found: tuple[Visit, ...]
) -> Floats:
    """Tonnes each base takes: its pad as full of them as the plan's fullest. [t]"""
    brought: dict[str, float] = defaultdict(float)
    for visit in found:
        brought[visit.yard] += visit.tonnes
    fullest = max(float(brought[yards[b]] / pad[b]) for b in planned)
    return np.asarray(fullest * pad, dtype=float)


def _fleets(
    scenario: Scenario, kinds: tuple[str, ...]
) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Limit each truck type to what is owned and may be hired, at all yards."""
    fleets = []
    for code, row in rows_by(scenario.trucks, "truck").items():
        group = tuple(v for v, kind in enumerate(kinds) if kind == code)
        if group:
            fleets.append((group, _most_out(row)))
    return tuple(fleets)


def _most_out(truck: Row) -> int:
    """Trucks of a type that may be out."""
    limit = truck["hire_limit"]
    if limit is None or np.isnan(limit):
        return UNLIMITED
    return int(truck["owned"] + limit)


def _task(
    result: Result,
    period: str,
    yards: list[str],
    found: tuple[Visit, ...],
    year_days: float,
) -> tuple[Task, tuple[str, ...]]:
    """Every truck type that may carry a load, at every base."""
    scenario = result.scenario
    rows = rows_by(scenario.yards, "yard")
    trucks: list[Truck] = []
    legs, kinds = [], []
    for code, row in rows_by(scenario.trucks, "truck").items():
        most = min(_most_out(row), len(found))
        if most == 0 or not any(may_carry(row, v.material) for v in found):
            continue
        legs.append(legs_between(result, period, yards, found, row, pair=False))
        for b, yard in enumerate(yards):
            kinds.append(code)
            trucks.append(
                Truck(
                    f"{code} from {yard}",
                    b,
                    len(legs) - 1,
                    most,
                    float(row["payload_t"]),
                    float(row["body_m3"]),
                    starts_h=scenario.settings.rounds.starts_h,
                    shift_h=scenario.settings.work.hours_per_day,
                    money_per_h=float(row["crew_cost_per_hour"]),
                    money_per_day=float(row["fixed_cost_per_year"]) / year_days,
                    most_trips=12,
                )
            )
    stops = tuple(replace(s, required=True) for s in stops_of(scenario, found))
    bases = tuple(Base(yard, *open_hours(rows[yard])) for yard in yards)
    limits = limits_of(scenario, period)
    return Task(bases, stops, tuple(trucks), tuple(legs), limits), tuple(kinds)
