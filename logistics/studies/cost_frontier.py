"""
Cost against another goal: tonnes, CO2e, yards, people near yards, or the worst farms.

The epsilon-constraint method (Haimes, Lasdon and Wismer 1971, from memory): least cost
with a limit on the other goal, once for each of several limits between the cheapest
plan and the best the other goal can have. Each point is a plan of its own with a
proven bound. The knee is the point farthest below the straight line between the two
ends when both goals are scaled to run from 0 to 1 (Das 1999, "On characterizing the
knee of the Pareto curve", from memory): beyond it, a little more of one goal costs
much of the other. It is a hint for the board, not an optimum.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pandas as pd

from logistics.model import (
    Effort,
    Floats,
    Instance,
    Plan,
    Progress,
    prepare,
    relative_gap,
    solve,
)
from logistics.results import amounts, audit, effort_of, emissions, require
from logistics.scenario import Scenario
from logistics.studies.frontier_limits import (
    SLACK,
    Against,
    every_site,
    fewer_exposed,
    limited,
    require_known,
    spaced,
)

Watch = Callable[[Progress], None]


@dataclass(frozen=True, eq=False)
class Point:
    """
    One plan of the frontier.

    Attributes
    ----------
    limit
        What the other goal had to keep: t collected at least; kg CO2e, yards, people
        near yards, or mean km of the worst tenth of the farms' demand at most.
    plan
        Least cost found within the limit; `bound` is proven for it.
    cost, bound
        Net cost and its proven bound. [money/yr]
    collected, co2e, yards
        Of the plan. [t/yr], [kg CO2e/yr]
    exposed, worst_farms
        People within people.far_m of an open yard; mean distance to the nearest open
        yard of the worst tenth of the farms' demand [km]. Not a number if not known.
    """

    limit: float
    plan: Plan
    cost: float
    bound: float
    collected: float
    co2e: float
    yards: int
    exposed: float = float("nan")
    worst_farms: float = float("nan")

    @property
    def gap(self) -> float:
        """Proven relative gap of the cost. [1]"""
        return relative_gap(self.cost, self.bound)

    def other(self, against: Against) -> float:
        """Value of the other goal; less is better."""
        values = {
            "collected": -self.collected,
            "co2e": self.co2e,
            "yards": self.yards,
            "people": self.exposed,
            "fairness": self.worst_farms,
        }
        return float(values[against])


def problem(scenario: Scenario) -> tuple[Instance, Effort]:
    """Make the instance of a scenario, and the effort that its settings ask for."""
    return prepare(scenario).instance, effort_of(scenario)


def frontier(
    instance: Instance,
    against: Against = "collected",
    count: int = 10,
    effort: Effort | None = None,
    watch: Watch | None = None,
    begin: Callable[[int, int], None] = lambda number, steps: None,
) -> list[Point]:
    """
    Find plans from the cheapest to the one that serves the other goal best.

    Parameters
    ----------
    instance
        The problem; its own demands hold at every point.
    against
        The other goal.
    count
        Points asked for; fewer where plans coincide or the yards are fewer.
    effort, watch
        Limits of each point's solving; told its progress.
    begin
        Told when the solving of a plan begins: its number from 0, and how many are
        known to come.

    Returns
    -------
    list of Point
        From the cheapest on, none dominated. Empty if the demands of the board
        cannot be met at all.

    Notes
    -----
    The best for the other goal is solved first and each point starts from its
    stricter neighbour's yards, which can always be run. A stricter limit's plan also
    keeps a looser one, and a looser limit's bound also holds for a stricter one:
    both are carried over, so costs never fall and bounds never fall as limits
    tighten. Where markets limit nutrients, every point holds the contents of compost
    that the cheapest plan has.
    """
    effort = effort or Effort()
    require_known(instance, against)
    plain = replace(instance, goal="cost")
    begin(0, 1 + count)
    base = solve(plain, effort, watch)
    if base.status == "shortage":
        return []
    if base.contents is not None:
        plain = plain.holding(base.contents)
    first = _point(plain, base, 0.0, against)
    aimed = int(against in ("collected", "co2e"))
    if aimed:
        begin(1, 1 + count)
    limits, yards, plan = _limits(plain, first, against, count, effort, watch)
    points = []
    for number, limit in enumerate(limits, start=1 + aimed):  # strictest first
        begin(number, 1 + aimed + len(limits))
        within = limited(plain, against, limit)
        if against == "people":  # fewer of the cheapest plan's yards
            plan, yards = first.plan, fewer_exposed(plain, first.plan, limit)
        start = within.options_of(yards)
        found = solve(within, effort, watch, start, plan.warm_start)
        if found.status == "shortage":
            continue
        plan, yards = found, found.yard_sizes
        points.append(_point(within, plan, limit, against))
    return undominated(carried([first, *reversed(points)]), against)


def _limits(
    instance: Instance,
    first: Point,
    against: Against,
    count: int,
    effort: Effort,
    watch: Watch | None,
) -> tuple[list[float], Sequence[tuple[str, str]], Plan]:
    """
    Space limits between the cheapest plan and the best for the other goal.

    With them the yards that the strictest begins with, and a plan to begin from. Nobody
    exposed, and every site open, are the best for people and farms without a search.
    """
    sizes = first.plan.yard_sizes
    if against == "yards":
        most = min(first.yards - 1, count - 1)
        fewer = range(first.yards - most, first.yards)
        return [float(k) for k in fewer], sizes, first.plan
    if against == "people":
        return spaced(0.0, first.exposed, count), [], first.plan
    if against == "fairness":
        nearest, every = every_site(instance)
        return spaced(nearest, first.worst_farms, count), every, first.plan
    goal: Literal["uncollected", "co2e"] = "co2e"
    if against == "collected":
        goal = "uncollected"
    aimed = replace(instance, goal=goal)
    best = solve(aimed, effort, watch)
    end = _point(aimed, best, 0.0, against).other(against)
    begin = first.other(against)
    span = begin - end
    if best.status == "shortage" or span <= SLACK * max(1.0, abs(begin)):
        return [], sizes, first.plan
    sign = -1.0 if against == "collected" else 1.0
    return [sign * x for x in spaced(end, begin, count)], best.yard_sizes, best


def _point(instance: Instance, plan: Plan, limit: float, against: Against) -> Point:
    """Check a plan and measure it."""
    require(audit(instance, plan, demands=plan.status != "shortage"))
    found = amounts(instance, plan)
    people, farms, nan = instance.neighbours, instance.farms, float("nan")
    opened = np.isin(instance.yards.codes, plan.yards["yard"])
    point = Point(
        limit,
        plan,
        plan.objective,
        plan.floor,
        float(plan.hauls["tonnes"].sum()),
        emissions(instance, found),
        len(plan.yards),
        nan if people is None else people.exposed(opened),
        nan if farms is None else farms.worst(opened),
    )
    allowed = instance.policy.co2e_limit
    if against == "co2e" and allowed is not None:
        over = point.co2e - allowed
        if over > SLACK * max(1.0, abs(allowed)):
            message = f"a plan emits {over:.3g} kg CO2e more than its limit"
            raise RuntimeError(message)
    return point


def carried(points: Sequence[Point]) -> list[Point]:
    """
    Carry plans to looser limits and bounds to stricter ones.

    Parameters
    ----------
    points
        From the loosest limit to the strictest.
    """
    bounds = np.maximum.accumulate([p.bound for p in points])
    made: list[Point] = []
    best: Point | None = None
    for point, bound in zip(reversed(points), reversed(bounds), strict=True):
        if best is None or point.cost <= best.cost:
            best = point
        made.append(replace(best, limit=point.limit, bound=min(bound, best.cost)))
    return made[::-1]


def undominated(points: Sequence[Point], against: Against) -> list[Point]:
    """Leave out points that another one equals or beats in both goals."""
    ordered = sorted(points, key=lambda p: (p.cost, p.other(against)))
    kept: list[Point] = []
    for point in ordered:
        scale = max(1.0, abs(point.other(against)))
        if kept and point.other(against) >= kept[-1].other(against) - SLACK * scale:
            continue
        kept.append(point)
    return kept


def knee(points: Sequence[Point], against: Against) -> int | None:
    """
    Find the knee: farthest below the line between the ends, both goals from 0 to 1.

    None where there are fewer than three points or none lies below the line.
    """
    if len(points) < 3:
        return None
    cost = _scaled(np.array([p.cost for p in points]))
    other = _scaled(np.array([p.other(against) for p in points]))
    below = 1.0 - cost - other
    at = int(np.argmax(below))
    return at if below[at] > SLACK else None


def _scaled(values: Floats) -> Floats:
    return np.asarray((values - values.min()) / np.ptp(values), dtype=float)


def frontier_table(points: Sequence[Point], against: Against) -> pd.DataFrame:
    """
    One row a point.

    Returns
    -------
    DataFrame
        cost, bound [money/yr], gap [1], collected [t/yr], co2e [kg/yr], yards, exposed
        [heads], worst_farms [km], codes, step (money for one unit more of the other
        goal since the row before), knee.
    """
    at = knee(points, against)
    rows = []
    for n, point in enumerate(points):
        step = float("nan")
        if n:
            before = points[n - 1]
            won = before.other(against) - point.other(against)
            step = (point.cost - before.cost) / won
        rows.append(
            {
                "cost": point.cost,
                "bound": point.bound,
                "gap": point.gap,
                "collected": point.collected,
                "co2e": point.co2e,
                "yards": point.yards,
                "exposed": point.exposed,
                "worst_farms": point.worst_farms,
                "codes": " ".join(f"{j}:{k}" for j, k in point.plan.yard_sizes),
                "step": step,
                "knee": n == at,
            }
        )
    return pd.DataFrame(rows)
