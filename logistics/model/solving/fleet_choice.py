"""
Own trucks as a decision of the plan, where `fleet.decide` asks for it.

A small district decides yards and trucks together, with one proof. A large one takes
turns (alternating heuristic): yards for the trucks, trucks for the yards, until neither
moves; the proven gap then holds for the yards with these trucks, and the trucks are
best for these yards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from logistics.model.problem import Flags
from logistics.model.solving.consistent_plan import settled, solve
from logistics.model.solving.flow_columns import is_small
from logistics.model.solving.highs import Effort, Progress, Session
from logistics.model.solving.own_trucks import OwnTrucks, decide_own, with_own
from logistics.scenario import with_table

if TYPE_CHECKING:
    from logistics.model.problem import Instance
    from logistics.scenario import Scenario

TURNS = 4
"""Most times that yards are chosen anew for other trucks."""
SHARE = 0.5
"""Share of the time left that a step of a turn may take. [1]"""
MANY = 1000
"""Most own trucks of a type where `own_most` is blank."""


@dataclass(frozen=True, eq=False)
class FleetChoice:
    """
    Scenario and instance with the trucks decided.

    Attributes
    ----------
    start
        Yards to start from, if known.
    left
        What is left of the effort.
    """

    scenario: Scenario
    instance: Instance
    start: Flags | None
    left: Effort


def own_trucks(scenario: Scenario, instance: Instance) -> OwnTrucks:
    """Read what may be owned: the table trucks, and hours of one truck."""
    trucks = scenario.trucks
    working = scenario.periods["working_days"].to_numpy(dtype=float)
    hours = np.tile(scenario.settings.work.hours_per_day * working, (len(trucks), 1))
    owned = trucks["owned"].to_numpy(dtype=float)
    has = owned > 0
    hours[has] = instance.trucks.owned_hours[has] / owned[has, None]
    most = np.nan_to_num(trucks["own_most"].to_numpy(dtype=float), nan=MANY)
    least = trucks["own_least"].to_numpy(dtype=np.int64)
    return OwnTrucks(
        least=least,
        most=np.maximum(most.astype(np.int64), least),
        fixed=trucks["fixed_cost_per_year"].to_numpy(dtype=float),
        hours=hours,
    )


def choose_fleet(
    scenario: Scenario,
    instance: Instance,
    effort: Effort,
    progress: Callable[[Progress], None] | None = None,
    *,
    given: Flags | None = None,
    start: Flags | None = None,
) -> FleetChoice:
    """
    Decide the own trucks and put them into scenario and instance.

    Parameters
    ----------
    scenario, instance
        The problem, with `fleet.decide` on.
    effort, progress
        Limits and progress callback.
    given
        Yards that stand (mask, length o); only trucks are decided for them.
    start
        Yards to start from.

    Returns
    -------
    FleetChoice
        As it was where the demands cannot be met, or where the goal is not cost.
    """
    session = Session(effort, progress)

    def as_it_was() -> FleetChoice:
        return FleetChoice(scenario, instance, start, session.part())

    if instance.goal != "cost":
        return as_it_was()
    own = own_trucks(scenario, instance)
    if given is not None or is_small(instance):
        here = settled(instance, given, session.part(SHARE), progress)
        step = Session(session.part(SHARE), progress)
        fleet = decide_own(here, own, step, given)
        if fleet is None:
            return as_it_was()
        counts, yards = fleet.counts, fleet.opened
    else:
        before = scenario.trucks["owned"].to_numpy(dtype=np.int64)
        counts = np.clip(before, own.least, own.most)
        first = start
        for _ in range(TURNS):
            here = with_own(instance, own, counts)
            plan = solve(here, session.part(SHARE), progress, first)
            if plan.status == "shortage":
                return as_it_was()
            yards = first = instance.options_of(plan.yard_sizes)
            if plan.contents is not None:
                here = here.holding(plan.contents)
            step = Session(session.part(SHARE), progress)
            fleet = decide_own(here, own, step, yards)
            if fleet is None or (fleet.counts == counts).all():
                break
            counts = fleet.counts
            if session.over:
                break
    table = scenario.trucks.assign(owned=counts)
    return FleetChoice(
        with_table(scenario, "trucks", table),
        with_own(instance, own, counts),
        yards,
        session.part(),
    )
