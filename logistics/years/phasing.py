"""
Which yard opens in which year: one choice for all years, each year run at least cost.

    minimise  c.x + sum_y w_y Q_y(u_y)

x says what is bought, when, and until when it is kept (`purchases`), what works in each
year (u) and what capital is carried over; Q_y is the cheapest running of year y, month
by month, with the yards that work in it, w_y what money at its end is worth today. Cuts
bound Q_y from below (`cutting`). The stock of a year is a circle of its own months.
Where the goal is tonnes, c is 0, Q_y the least that year y leaves, and w_y the same for
all; of ways that leave as little, the one that spends least is taken.

The yards found are then planned year by year, with whole trucks and all rules.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from logistics.accounts import book
from logistics.model import (
    Assembly,
    Effort,
    Floats,
    Instance,
    Key,
    Plan,
    Progress,
    Session,
    optimum,
)
from logistics.results import Result, run_prepared
from logistics.scenario import Scenario, change_setting, in_list
from logistics.years.cutting import Choice, choose
from logistics.years.earliest import EarliestYear, earliest_year
from logistics.years.first_stage import short_of_capital
from logistics.years.futures import (
    option_costs,
    running_cost,
)
from logistics.years.horizon import YearAhead
from logistics.years.tables import easing_table, money_table, steps_table
from logistics.years.way import WayAhead
from logistics.years.years_ready import (
    YearsReady,
    held,
    kinds_of,
    made_ready,
    most_of_goal,
    relieved,
)

Watch = Callable[[str, Progress], None]

CHOICE = 2.0
"""Time for the choice of yards, in times of that for a plan. [1]"""

SHARE = 0.8
"""Share of the gap asked for at which the choice of yards ends. [1]"""


class CapitalShortError(ValueError):
    """
    What stands today cannot be kept, replaced or cleared from the capital there is.

    Parameters
    ----------
    by_year
        Least that is short, by year. [money]
    """

    def __init__(self, by_year: dict[int, float]) -> None:
        self.by_year = by_year
        told = [f"{more:,.0f} in {year}" for year, more in by_year.items()]
        super().__init__(f"capital is short by {in_list(told)}")


def plan_years(
    scenario: Scenario,
    ahead: Sequence[YearAhead],
    *,
    seconds: float = 240.0,
    watch: Watch | None = None,
    stopped: Callable[[], bool] = lambda: False,
    earliest: bool = False,
) -> WayAhead | None:
    """
    Plan the years ahead: at least net present cost, or what else the goal is.

    Parameters
    ----------
    scenario
        The district of today; its gap is that of the way.
    ahead
        See `years_ahead`.
    seconds
        Time for the choice of yards, the first plan and those of the years beside.
    watch
        Told what is done, and its progress.
    stopped
        Asked now and then whether to end the choice of yards with the best so far.
    earliest
        Ask for the board's shares of feedstock from the earliest year on in which the
        money allows it, and not before.

    Returns
    -------
    WayAhead or None
        None if no choice was found in the time.

    Raises
    ------
    CapitalShortError
        If the capital of the years does not even pay for what stands today.
    """
    begin = time.monotonic()

    def telling(title: str) -> Callable[[Progress], None]:
        return lambda state: None if watch is None else watch(title, state)

    ground, last = first_look(ahead, telling(str(ahead[-1].year)))
    met = None
    if earliest:
        met = earliest_year(ground, last.plan, seconds / 2)
        ground = relieved(ground, len(ahead) - 1 if met.place is None else met.place)
    made = ground.made
    joint = telling("all years")
    decision = _decided(
        ground,
        last.plan,
        seconds,
        lambda s, best, bound: joint(Progress("all years", s, best, bound)),
        stopped,
    )
    if decision is None:
        return None
    works = decision.x[ground.stage.working] > 0.5
    results = []
    for y, one in enumerate(ahead):
        yards = [
            key for key, on in zip(ground.keys, works[y].tolist(), strict=True) if on
        ]
        inst = _with_limit(made[y], yards, one.recurrent, last.plan)
        results.append(
            run_prepared(
                replace(made[y], instance=inst),
                telling(str(one.year)),
                yards=yards,
                warm_start=last.plan.warm_start,
            )
        )
    return _way(scenario, ground, decision, results, begin, met)


def first_look(
    ahead: Sequence[YearAhead], watch: Callable[[Progress], None] | None = None
) -> tuple[YearsReady, Result]:
    """
    Make the years ready, and plan the last of them at least cost.

    Raises
    ------
    CapitalShortError
        If the capital of the years does not even pay for what stands today.
    """
    ready = made_ready(
        [replace(one, scenario=_without_limits(one.scenario)) for one in ahead]
    )
    if short := short_of_capital(ready.stage):
        raise CapitalShortError({ahead[y].year: more for y, more in short.items()})
    return ready, run_prepared(_at_cost(ready.made[-1]), watch)


def _without_limits(scenario: Scenario) -> Scenario:
    """Limits on money are those of the years."""
    settings = scenario.settings
    for name in ("policy.capital_limit", "policy.budget_limit"):
        settings = change_setting(settings, name, None)
    return replace(scenario, settings=settings)


def _at_cost(made: Assembly) -> Assembly:
    """
    Plan a year at least cost, whatever the goal.

    The years have little money, and compost then holds what it does at least cost.
    """
    settings = change_setting(made.scenario.settings, "goal.minimise", "cost")
    return replace(
        made,
        scenario=replace(made.scenario, settings=settings),
        instance=replace(made.instance, goal="cost"),
    )


def _with_limit(
    made: Assembly, yards: Sequence[Key], limit: float, plan: Plan
) -> Instance:
    """Limit the running cost of a year whose yards also bear their annuities."""
    inst = held(made.instance, plan)
    stand = {yard for yard, _ in yards}
    decisions = zip(inst.yards.codes, inst.yards.decision, strict=True)
    free = tuple(
        "free" if said == "open" and code not in stand else said
        for code, said in decisions
    )
    inst = replace(inst, yards=replace(inst.yards, decision=free))
    if not np.isfinite(limit):
        return inst
    costs = option_costs(made.scenario)
    capital = sum(costs[key].total - running_cost(costs[key]) for key in yards)
    policy = replace(inst.policy, budget_limit=limit + capital)
    return replace(inst, policy=policy)


def _decided(
    ground: YearsReady,
    plan: Plan,
    seconds: float,
    report: Callable[[float, float | None, float], None],
    stopped: Callable[[], bool],
) -> Choice | None:
    """Choose what stands and works in each year."""

    def telling(spent: float, best: float | None, bound: float) -> None:
        report(spent, best, bound)
        session.stop.asked = session.stop.asked or stopped()

    stage, settings = ground.stage, ground.ahead[0].scenario.settings
    threads = int(settings.solve.threads)
    session = Session(Effort(seconds=seconds, threads=threads))
    in_money = ground.made[-1].instance.goal == "cost"
    return choose(
        stage,
        kinds_of(ground, plan, session),
        plan.warm_start.duals if in_money else {},
        soonest(ground, plan),
        session,
        gap=SHARE * settings.solve.gap,
        most=most_of_goal(ground),
        spend_least=not in_money,
        report=telling,
    )


def soonest(ground: YearsReady, plan: Plan) -> Floats | None:
    """Let the yards of the last year's plan work as early as the money allows."""
    stage = ground.stage
    wanted = set(plan.yard_sizes)
    likes = np.array([float(key in wanted) for key in ground.keys])
    cost = 1e-6 * stage.matrix.cost / max(1.0, float(np.abs(stage.matrix.cost).max()))
    cost[stage.working] -= likes * ground.money.ends[:, None]
    found = optimum(replace(stage.matrix, cost=cost), integer=True, gap=0.01)
    if found is None:
        return None
    x = found.values
    return np.where(stage.matrix.integer, np.round(x), x)


def _value(results: Sequence[Result], money: pd.DataFrame) -> float:
    """Give what the plans of the years come to in the goal's unit."""
    if results[-1].scenario.settings.goal.minimise == "cost":
        return float(money["value"].sum())
    return sum(result.plan.objective for result in results)


def _way(
    scenario: Scenario,
    ground: YearsReady,
    decision: Choice,
    results: Sequence[Result],
    begin: float,
    met: EarliestYear | None,
) -> WayAhead:
    """Gather what is shown, the money counted from the plans of the years."""
    stage, bought, x = ground.stage, ground.bought, decision.x
    years = tuple(one.year for one in ground.ahead)
    limits = [one.recurrent for one in ground.ahead]
    books = [book(result) for result in results]
    short = any(result.plan.status == "shortage" for result in results)
    money = money_table(years, ground.money, stage, bought, x, limits, books)
    return WayAhead(
        scenario=scenario,
        years=years,
        results=tuple(results),
        steps=steps_table(years, ground.keys, stage, bought, x),
        money=money,
        easing=easing_table(years, ground.money, stage, decision.duals),
        value=_value(results, money),
        bound=-np.inf if short else decision.bound * stage.scale,
        with_parts=decision.value * stage.scale,
        seconds=time.monotonic() - begin,
        met=met,
    )
