"""
What goes wrong in a driven month, and what it changes: trucks, loads, where they go.

A truck that is down stays at home; a mill that delivers less gives every visit that
share; a yard that is full takes nothing in. What keeps waits until the yard takes it
again, the rest goes to the nearest other yard that the plan uses for such feedstock.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import isfinite
from typing import TYPE_CHECKING

from logistics.rounds.fleet import homes
from logistics.rounds.visit_list import hours_later
from logistics.rounds.visit_records import NOISE_T, Visit
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result


@dataclass(frozen=True)
class Trouble:
    """
    What is wrong from one working day to another of a period.

    Attributes
    ----------
    first, last
        Working days, both counted in.
    down
        Own trucks that stay at home, by type and home.
    no_hire
        Truck types of which none can be hired.
    arrives
        Share of every load that a source has, from 0 to 1.
    full
        Yards that take nothing in.
    """

    first: int
    last: int
    down: Mapping[tuple[str, str], int] = field(default_factory=dict)
    no_hire: frozenset[str] = frozenset()
    arrives: Mapping[str, float] = field(default_factory=dict)
    full: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Turned:
    """A load that goes to another yard than planned, or to none (`yard` empty)."""

    visit: Visit
    yard: str


def with_fewer_trucks(result: Result, trouble: Trouble) -> Result:
    """
    Take the trucks that are down, and those nobody can hire, out of a plan.

    Raises
    ------
    ValueError
        If more trucks of a type are down at a yard than stand there.
    """
    trucks = result.scenario.trucks.copy()
    bases = result.plan.bases.copy()
    stand = homes(result)
    for (code, yard), count in trouble.down.items():
        there = stand.get(code, {}).get(yard, 0)
        if not 0 <= count <= there:
            message = f"{count} {code} down at {yard}, but {there} stand there"
            raise ValueError(message)
        trucks.loc[trucks["truck"] == code, "owned"] -= count
        here = (bases["truck"] == code) & (bases["yard"] == yard)
        bases.loc[here, "count"] -= count
    trucks.loc[trucks["truck"].isin(trouble.no_hire), "hire_limit"] = 0.0
    scenario = result.scenario
    changed = replace(scenario, tables={**scenario.tables, "trucks": trucks})
    plan = replace(result.plan, bases=bases[bases["count"] > 0])
    return replace(result, scenario=changed, plan=plan)


def met(visits: Iterable[Visit], trouble: Trouble) -> list[Visit]:
    """Cut the loads of sources that deliver less; those that have nothing are gone."""
    found = []
    for visit in visits:
        share = 1.0
        if visit.kind == "in" and trouble.first <= visit.day <= trouble.last:
            share = trouble.arrives.get(visit.place, 1.0)
        if share >= 1.0:
            found.append(visit)
        elif share * visit.tonnes > NOISE_T:
            found.append(visit.part(share * visit.tonnes))
    return found


def turned_away(
    result: Result, period: str, visits: Iterable[Visit], trouble: Trouble
) -> tuple[list[Visit], list[Turned]]:
    """
    Find another day or yard for what a full yard does not take.

    Parameters
    ----------
    result
        The plan with the roads and trucks of the day.
    period
        Code of the period.
    visits
        As `met` leaves them.
    trouble
        With the yards that are full.

    Returns
    -------
    list of Visit, list of Turned
        All visits that go to a yard that takes them, in their order; and every load
        that goes elsewhere, or to no yard at all (it is not among the first).
    """
    rest = _rest(result, period)
    found, turned = [], []
    for visit in visits:
        full = visit.kind == "in" and visit.yard in trouble.full
        if not full or not trouble.first <= visit.day <= trouble.last:
            found.append(visit)
            continue
        wait = trouble.last + 1
        keeps = not visit.spoils or (
            hours_later(wait - visit.day, rest) < visit.ride_h and wait > visit.day
        )
        if keeps and (visit.last_day or visit.day) >= wait:
            found.append(replace(visit, first_day=wait))
            continue
        other = other_yard(result, period, visit, trouble.full)
        turned.append(Turned(visit, other))
        if other:
            found.append(replace(visit, yard=other))
    return found, turned


def other_yard(result: Result, period: str, visit: Visit, full: frozenset[str]) -> str:
    """
    Return the nearest yard that may take a load instead; empty if none may.

    Only yards to which the plan hauls the same feedstock in the period are asked: they
    have its mixing partners and are equipped for it.
    """
    lanes = result.lanes
    same = (lanes["kind"] == "in") & (lanes["material"] == visit.material)
    same &= (lanes["period"] == period) & (lanes["tonnes"] > NOISE_T)
    yards = sorted(set(lanes.loc[same, "destination"]) - full)
    if not yards:
        return ""
    state = result.travel.pick(visit.truck, period)
    (place,) = result.travel.index("source", [visit.place])
    rows = result.travel.index("yard", yards)
    hours = {y: float(state.hours[place, n]) for y, n in zip(yards, rows, strict=True)}
    near = min(yards, key=lambda yard: (hours[yard], yard))
    able = isfinite(hours[near]) and (not visit.spoils or hours[near] <= visit.ride_h)
    return near if able else ""


def _rest(result: Result, period: str) -> float:
    """Days of a period for one of its working days."""
    row = rows_by(result.scenario.periods, "period")[period]
    return float(row["days"]) / max(1, round(float(row["working_days"])))
