"""
Which yard opens in which year: one choice for all years, each year run at least cost.

    minimise  c.x + sum_y w_y Q_y(u_y)

x says what is bought, when, and until when it is kept (`purchases`), what works in each
year (u) and what capital is carried over; Q_y is the cheapest running of year y, month
by month, with the yards that work in it, w_y what money at its end is worth today. Cuts
bound Q_y from below (`cutting`). The stock of a year is a circle of its own months.

The yards found are then planned year by year, with whole trucks and all rules.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from logistics.accounts import book
from logistics.costs import OptionCost
from logistics.model import (
    Assembly,
    Effort,
    Floats,
    Instance,
    Key,
    Plan,
    Progress,
    Session,
    forced,
    keys_of,
    optimum,
    prepare,
)
from logistics.results import Result, run_prepared
from logistics.roads import Travel
from logistics.scenario import Scenario, change_setting, in_list
from logistics.years.cutting import Choice, choose
from logistics.years.first_stage import Money, Stage, first_stage_of, short_of_capital
from logistics.years.futures import (
    keys_in,
    kind_of,
    option_costs,
    running_cost,
    to_be_run,
)
from logistics.years.horizon import YearAhead
from logistics.years.purchases import Purchases, purchases
from logistics.years.tables import easing_table, money_table, steps_table
from logistics.years.way import WayAhead

Watch = Callable[[str, Progress], None]

CHOICE = 2.0
"""Time for the choice of yards, in times of that for a plan. [1]"""

SHARE = 0.8
"""Share of the gap asked for at which the choice of yards ends. [1]"""

TRAVELLED = ("roads", "periods", "sources", "yards", "markets", "trucks")
"""Tables that ways between sites rest on."""

PRICED = ["amount", "price_per_t", "tipping_fee_per_t", "crew_cost_per_hour"]
"""Columns of theirs that change no way."""


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


@dataclass(frozen=True, eq=False)
class _YearsReady:
    """The years made ready."""

    ahead: tuple[YearAhead, ...]
    made: tuple[Assembly, ...]
    keys: tuple[Key, ...]
    offered: tuple[set[Key], ...]
    bought: Purchases
    money: Money
    stage: Stage


def plan_years(
    scenario: Scenario,
    ahead: Sequence[YearAhead],
    *,
    seconds: float = 240.0,
    watch: Watch | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> WayAhead | None:
    """
    Plan the years ahead at least net present cost.

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

    ahead = tuple(replace(one, scenario=_at_cost(one.scenario)) for one in ahead)
    made = _prepared(ahead)
    ground = _ground(ahead, made)
    if short := short_of_capital(ground.stage):
        raise CapitalShortError({ahead[y].year: more for y, more in short.items()})
    last = run_prepared(made[-1], telling(str(ahead[-1].year)))
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
    return _way(scenario, ground, decision, results, begin)


def _at_cost(scenario: Scenario) -> Scenario:
    """Plan for least cost; limits on money are those of the years."""
    settings = scenario.settings
    for name, value in (
        ("goal.minimise", "cost"),
        ("policy.capital_limit", None),
        ("policy.budget_limit", None),
    ):
        settings = change_setting(settings, name, value)
    return replace(scenario, settings=settings)


def _prepared(ahead: Sequence[YearAhead]) -> tuple[Assembly, ...]:
    """Make every year ready; ways are found once where nothing they rest on differs."""
    made, known = list[Assembly](), list[tuple[Scenario, Travel]]()
    for one in ahead:
        ways = next((w for s, w in known if _same_ways(s, one.scenario)), None)
        made.append(prepare(one.scenario, ways))
        if ways is None:
            known.append((one.scenario, made[-1].travel))
    return tuple(made)


def _same_ways(one: Scenario, other: Scenario) -> bool:
    """Say whether two years have the same sites, roads and trucks."""
    if one.settings.travel != other.settings.travel:
        return False
    for name in TRAVELLED:
        mine, theirs = (
            s.table(name).drop(columns=PRICED, errors="ignore") for s in (one, other)
        )
        if not mine.equals(theirs):
            return False
    return True


def _ground(ahead: tuple[YearAhead, ...], made: tuple[Assembly, ...]) -> _YearsReady:
    """Write the first stage of the years."""
    instances = [one.instance for one in made]
    keys = keys_of(instances)
    offered = [set(keys_in(inst)) for inst in instances]
    bought = purchases([one.scenario for one in ahead], keys, offered)
    finance = ahead[0].scenario.settings.finance
    idle = np.zeros((len(ahead), len(keys)))
    costs: dict[Key, OptionCost] = {}
    for one in reversed(
        ahead
    ):  # of a yard that is ruled out later, what it cost before
        costs |= option_costs(one.scenario)
    for y, one in enumerate(ahead):
        costs |= option_costs(one.scenario)
        idle[y] = [finance.idle * running_cost(costs[key]) for key in keys]
    money = Money(
        capital=np.array([one.capital for one in ahead]),
        carry_over=np.array([float(one.carry_over) for one in ahead]),
        idle=idle,
        discount=finance.discount,
    )
    must = forced(instances[-1])
    most = instances[-1].policy.max_yards
    stage = first_stage_of(keys, bought, offered, must, most, money)
    return _YearsReady(ahead, made, tuple(keys), tuple(offered), bought, money, stage)


def _held(inst: Instance, plan: Plan) -> Instance:
    """Hold the contents of a plan's compost, where it has the same yards and months."""
    if plan.contents is None or inst.contents is None:
        return inst
    same = inst.contents.held.shape == plan.contents.shape
    return inst.holding(plan.contents) if same else inst


def _with_limit(
    made: Assembly, yards: Sequence[Key], limit: float, plan: Plan
) -> Instance:
    """Limit the running cost of a year whose yards also bear their annuities."""
    inst = _held(made.instance, plan)
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
    ground: _YearsReady,
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
    alike: dict[tuple[str, float], list[int]] = {}
    for y, one in enumerate(ground.ahead):
        alike.setdefault((one.alike, one.recurrent), []).append(y)
    kinds = []
    for (_, limit), years in alike.items():
        made = ground.made[years[0]]
        inst = to_be_run(_held(made.instance, plan), made.scenario, limit)
        kinds.append(kind_of(inst, ground.keys, years, session))
    return choose(
        stage,
        kinds,
        ground.money.ends / stage.scale,
        plan.warm_start.duals,
        _soonest(ground, plan),
        session,
        gap=SHARE * settings.solve.gap,
        report=telling,
    )


def _soonest(ground: _YearsReady, plan: Plan) -> Floats | None:
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


def _way(
    scenario: Scenario,
    ground: _YearsReady,
    decision: Choice,
    results: Sequence[Result],
    begin: float,
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
        value=float(money["value"].sum()),
        bound=-np.inf if short else decision.bound * stage.scale,
        with_parts=decision.value * stage.scale,
        seconds=time.monotonic() - begin,
    )
