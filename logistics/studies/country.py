"""
Plan a country: coarse yards, true flows.

1. The coarse problem (`coarse`) of thinned candidates is solved; its gap is proven for
   the coarse problem alone.
2. The neighbours of the yards it opens are let in again in place of all candidates that
   stayed shut, and it is solved once more from those yards.
3. The yards stand. Every true source and market is planned month by month, with the
   lanes to the yards that are cheapest to reach for each. The plan is audited as any
   other.

What is stated: the gap proven on the coarse problem, and what the coarse problem said
the same yards cost against what they truly cost (the error that aggregation made). The
plan's own bound holds for all yards and all lanes, but it is loose (`model/floor`): the
coarse problem is an estimate of the true one, not a relaxation, so its bound is never
the plan's.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from logistics.composting import pad_m3
from logistics.model import (
    Instance,
    Plan,
    Progress,
    Session,
    least_goal,
    operate,
    prepare,
    relative_gap,
    solve,
    yard_options,
)
from logistics.results import Result, effort_of, finished
from logistics.studies.clustering import edge_for, hexagons
from logistics.studies.coarse_district import (
    Coarse,
    coarse,
    nearest_lanes,
    thinned,
    with_yards,
    without_pairing,
    yard_travel,
)

if TYPE_CHECKING:
    from logistics.model import Effort, Integers
    from logistics.scenario import Scenario

Watch = Callable[[Progress], None]

GROUPS, CANDIDATES, MARKETS = 190, 200, 70
"""Hexagons that hold sources, candidates and markets, if no edge is given."""

MATES = 1
"""Candidates of an opened yard's hexagon that are let in again."""

FIRST, SECOND = 0.4, 0.6
"""Shares of the time left for the coarse problem: with its first candidates, again."""

WITHIN_REACH = 12
"""Yards laid out for each source and market, cheapest first."""


@dataclass(frozen=True)
class Coarsened:
    """
    How a coarse plan came about and how far it can be trusted.

    Attributes
    ----------
    edges
        Of the hexagons of sources, candidates, markets. [km]
    groups
        Groups of sources, candidates kept, groups of markets.
    coarse_value, coarse_bound, coarse_gap
        Cost and bound of the coarse problem with its second set of candidates
        [goal], and the gap proven for it. [1]
    first_gap
        Gap proven for the coarse problem with its first set of candidates. [1]
    value
        True cost of the yards it chose. [goal]
    floor
        Bound of all plans of the true problem, loose. [goal]
    error
        True cost less coarse cost, as a share of the true. [1]
    seconds
        Coarse problem, lanes of true sources, flows. [s]
    """

    edges: tuple[float, float, float]
    groups: tuple[int, int, int]
    coarse_value: float
    coarse_bound: float
    coarse_gap: float
    first_gap: float
    value: float
    floor: float
    error: float
    seconds: tuple[float, float, float]

    def words(self) -> str:
        """Say it in sentences."""
        source, yard, market = self.edges
        return (
            f"Planned coarsely, with {self.groups[0]:,} groups of sources (hexagons of "
            f"{source:,.0f} km edge), {self.groups[1]:,} candidates ({yard:,.0f} km), "
            f"{self.groups[2]:,} groups of markets ({market:,.0f} km). The coarse "
            f"problem is proven to {self.first_gap:.2%} with its first candidates, to "
            f"{self.coarse_gap:.2%} with the opened ones and their neighbours; that "
            "does not bound the true problem. It put the cost at "
            f"{self.coarse_value:,.0f}; its yards really cost {self.value:,.0f} "
            f"({self.error:+.2%} from grouping), with the best flows on the lanes "
            f"used. No plan can be below {self.floor:,.0f}: a loose bound without "
            "haulage."
        )


def plan_coarse(
    scenario: Scenario,
    progress: Watch | None = None,
    edge: float | None = None,
    *,
    within_reach: int = WITHIN_REACH,
) -> tuple[Result, Coarsened]:
    """
    Plan a scenario too large to be planned whole.

    Parameters
    ----------
    scenario
        Tables and settings, checked.
    progress
        Called now and then while solving.
    edge
        Of the hexagons [km]; None chooses one for each of sources, candidates and
        markets. 0 merges nothing that differs in place.
    within_reach
        Yards laid out for each source and market.

    Returns
    -------
    tuple
        The result, whose scenario has the chosen yards only and whose travel may hold
        the ways to and from yards only; and how it came about.
    """
    begin = time.perf_counter()
    scenario = without_pairing(scenario)
    session = Session(effort_of(scenario), progress)
    edges = (
        edge_for(scenario.sources, GROUPS),
        edge_for(scenario.yards, CANDIDATES),
        edge_for(scenario.markets, MARKETS),
    )
    if edge is not None:
        edges = (edge, edge, edge)
    rows = thinned(scenario, edges[1])
    problem = coarse(scenario, rows, edges[0], edges[2])
    plan = solve(problem.instance, session.part(FIRST), progress)
    first_gap = plan.gap
    again = neighbours(scenario, rows, plan, edges[1])
    if set(again) - set(rows.tolist()):
        problem = coarse(scenario, again, edges[0], edges[2])
        first = problem.instance.options_of(_yards(plan))
        plan = solve(problem.instance, session.part(SECOND), progress, first)
    solved = time.perf_counter()
    result, laid = _true(scenario, plan, session, within_reach)
    ended = time.perf_counter()
    value = result.plan.objective
    how = Coarsened(
        edges=edges,
        groups=_sizes(problem),
        coarse_value=plan.objective,
        coarse_bound=plan.floor,
        coarse_gap=plan.gap,
        first_gap=first_gap,
        value=value,
        floor=result.plan.floor,
        error=(value - plan.objective) / max(abs(value), 1e-9),
        seconds=(solved - begin, laid - solved, ended - laid),
    )
    told = {"coarsened": {**asdict(how), "words": how.words()}}
    return replace(result, summary={**result.summary, **told}), how


def neighbours(scenario: Scenario, rows: Integers, plan: Plan, edge: float) -> Integers:
    """
    Choose the candidates of the second round, by row in `yards`.

    Those opened and, where they were thinned, the likeliest others of their hexagons.
    """
    yards = scenario.yards
    cell = hexagons(yards, edge)
    opened = np.flatnonzero(yards["yard"].isin(set(plan.yards["yard"])))
    forced = rows[(yards["decision"].iloc[rows] == "open").to_numpy()]
    chosen = set(opened.tolist()) | set(forced.tolist())
    left = np.setdiff1d(np.arange(len(yards)), rows)
    left = left[(yards["decision"].iloc[left] != "closed").to_numpy()]
    dear = yards["works_factor"].to_numpy(dtype=float)
    for c in np.unique(cell[opened]).tolist():
        mates = left[cell[left] == c]
        chosen |= set(mates[np.argsort(dear[mates], kind="stable")][:MATES].tolist())
    return np.array(sorted(chosen), dtype=np.int64)


def _true(
    scenario: Scenario,
    plan: Plan,
    session: Session,
    within_reach: int,
) -> tuple[Result, float]:
    """Plan the true flows of the yards; return them, and when their lanes were laid."""
    codes = set(plan.yards["yard"])
    rows = np.flatnonzero(scenario.yards["yard"].isin(codes))
    smaller = with_yards(scenario, rows)
    made = prepare(smaller, yard_travel(smaller))
    whole = made.instance
    chosen = whole.options_of(_yards(plan))
    laid_out = replace(
        whole.with_yards(chosen),
        inbound=whole.inbound.take(nearest_lanes(whole.inbound, within_reach)),
        outbound=whole.outbound.take(nearest_lanes(whole.outbound, within_reach)),
    )
    laid = time.perf_counter()
    every = np.ones(len(laid_out.options.yard), dtype=bool)
    exact = operate(laid_out, every, session.part(), session.watch)
    if exact.status == "optimal":
        exact = _honest(scenario, whole, exact, session.effort)
    shown = finished(made, exact)
    return shown, laid


def _honest(scenario: Scenario, inst: Instance, plan: Plan, effort: Effort) -> Plan:
    """Give the plan a bound that holds for all yards, not for its own alone."""
    options = yard_options(scenario)
    windrow = scenario.settings.windrow
    room = min(
        (cost.total / pad_m3(size["pad_m2"], windrow) for _, size, cost in options),
        default=0.0,
    )
    handling = min(
        (float(size["handling_cost_per_t"]) for _, size, _ in options), default=0.0
    )
    floor = min(least_goal(inst, max(room, 0.0), handling), plan.objective)
    gap = relative_gap(plan.objective, floor)
    status = "optimal" if gap <= effort.gap else "time_limit"
    return replace(plan, bound=floor, gap=gap, status=status)


def _yards(plan: Plan) -> list[tuple[str, str]]:
    return list(zip(plan.yards["yard"], plan.yards["size"], strict=True))


def _sizes(problem: Coarse) -> tuple[int, int, int]:
    inst = problem.instance
    return len(inst.supply.codes), len(inst.yards.codes), len(inst.markets.codes)
