"""
Yards and rounds chosen together: which to open, which tour from which of them.

For each promising set of yards, tours are searched with the set's capacities relaxed: a
tonne to a yard that was overloaded costs more in the next search. Where a yard is still
overloaded, stops move at least marginal cost and every yard is searched alone. All
tours ever seen, and the same tours from the other yards, form a pool; an integer
programme picks from it the yards and tours of least cost within all capacities.
`check` reckons loads and cost afresh.

Lagrangian relaxation of capacities, multipliers by subgradient steps; pool: set
partitioning over tours of a heuristic, both textbook methods. The programme is solved
by HiGHS through SciPy.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import combinations
from math import sqrt
from time import perf_counter

import numpy as np

from logistics.rounds.check import SLACK
from logistics.rounds.located.check import Siting, loads_t, opened, used_bases
from logistics.rounds.located.moves import estimate, moved, shove
from logistics.rounds.located.pool import Pool, chosen
from logistics.rounds.records import (
    Floats,
    Legs,
    RoundsSolution,
    SearchLimits,
    Task,
    Tour,
)
from logistics.rounds.search import money_unit, solve_task

Bases = tuple[int, ...]

MOST_ENUMERATED = 12
"""Candidate yards up to which all their sets are looked at."""
AGAIN, SHAKES = 4, 60
"""Most longer searches of the best three sets, and shakes in each of them."""


def locate(
    siting: Siting,
    effort: SearchLimits,
    most_sets: int = 16,
    start: RoundsSolution | None = None,
) -> RoundsSolution:
    """
    Choose yards and rounds together; the yards open are those with tours.

    Parameters
    ----------
    siting
        Candidate yards with capacity and opening cost, stops and trucks.
    effort
        Iterations of a short search (each of the best three sets gets longer ones),
        seconds for everything, seed.
    most_sets
        Sets of yards to search, the most promising by `estimate`.
    start
        An answer that is known; what is returned is never dearer.

    Returns
    -------
    RoundsSolution
        With every stop left out if no answer within the capacities was found.
    """
    started = perf_counter()
    pool = Pool(siting, started + effort.seconds)
    pool.add([])
    for s in range(len(siting.task.stops)):
        pool.add([Tour(0, ((s,),))])
    if start is not None:
        pool.add(list(start.tours))
    begin = () if start is None else used_bases(siting, start)
    sets = promising(siting, begin)[:most_sets]
    found: dict[tuple[int, ...], float] = {}
    for low, bases in sets:
        if pool.rest() < 0.6 * effort.seconds and found:
            break
        if pool.incumbent is None or low < pool.incumbent[0]:
            found[bases] = _explore(pool, bases, effort, 3)
    _pick(pool, effort, None)
    more = effort.iterations and 4 * effort.iterations
    for again in range(1, AGAIN + 1):
        before = pool.incumbent
        for bases in sorted(found, key=lambda bases: found[bases])[:3]:
            longer = replace(effort, iterations=more, seed=effort.seed + again)
            least = min(_explore(pool, bases, longer, 3), _shaken(pool, bases, longer))
            found[bases] = min(found[bases], least)
        _pick(pool, effort, None)
        if pool.rest() <= 0 or (again > 1 and pool.incumbent == before):
            break
    timed_out = pool.cut or pool.rest() <= 0
    if pool.incumbent is None:
        return RoundsSolution((), tuple(range(len(siting.task.stops))), timed_out)
    return replace(pool.incumbent[1], timed_out=timed_out)


def promising(siting: Siting, begin: Bases = ()) -> list[tuple[float, tuple[int, ...]]]:
    """
    List sets of yards with room for everything, least estimate first.

    All of them where the candidates are few; else those met while the estimate is
    lowered by one yard more, one less or one in place of another, from two sets.

    Parameters
    ----------
    siting
        Candidate yards.
    begin
        A set to begin from, besides the one of the least cost for its capacity.
    """
    bases = range(len(siting.task.bases))
    found: dict[Bases, float] = {}
    if len(bases) <= MOST_ENUMERATED:
        for size in range(1, len(bases) + 1):
            _rate(siting, combinations(bases, size), found)
    else:
        for some in (begin, _cheapest_room(siting)):
            _descend(siting, some, found)
    return sorted((low, some) for some, low in found.items())


def _rate(
    siting: Siting, sets: Iterable[Bases], found: dict[Bases, float]
) -> list[tuple[float, Bases]]:
    """Estimate the sets that can take everything, new ones only once."""
    total = sum(stop.take_t for stop in siting.task.stops)
    rated = []
    for bases in sets:
        capacity = sum(siting.capacity_t[b] for b in bases)
        if capacity >= total - SLACK and np.isfinite(opened(siting, bases)[0]):
            if bases not in found:
                found[bases] = estimate(siting, bases)
            rated.append((found[bases], bases))
    return rated


def _cheapest_room(siting: Siting) -> Bases:
    """Take yards in the order of cost per tonne until everything has room."""
    total = sum(stop.take_t for stop in siting.task.stops)
    taken: list[int] = []
    by_cost = sorted(
        range(len(siting.capacity_t)),
        key=lambda b: siting.opening_money[b] / max(siting.capacity_t[b], SLACK),
    )
    for b in by_cost:
        if sum(siting.capacity_t[c] for c in taken) >= total:
            break
        if np.isfinite(opened(siting, [*taken, b])[0]):
            taken.append(b)
    return tuple(sorted(taken))


def _descend(siting: Siting, begin: Bases, found: dict[Bases, float]) -> None:
    """Lower the estimate from a set by one step after the other."""
    here = min(_rate(siting, [begin], found), default=(np.inf, begin))
    while True:
        old = set(here[1])
        fewer = [old, *({*old} - {b} for b in old)]
        more = [rest | {b} for rest in fewer for b in range(len(siting.site))]
        sets = sorted({tuple(sorted(new)) for new in (*fewer[1:], *more)})
        best = min(_rate(siting, sets, found), default=here)
        if best[0] >= here[0]:
            return
        here = best


def _explore(
    pool: Pool, bases: tuple[int, ...], effort: SearchLimits, searches: int
) -> float:
    """Search a set of yards by subgradient steps; the least total within capacities."""
    siting, least = pool.siting, np.inf
    takes = [stop.take_t for stop in siting.task.stops]
    ways = siting.task.legs[siting.task.trucks[0].legs]
    usual = float(ways.money[np.isfinite(ways.hours)].mean())
    step = usual / max(float(np.mean(takes)), SLACK)
    multipliers = dict.fromkeys(bases, 0.0)
    everything = tuple(range(len(takes)))
    for k in range(searches):
        if pool.rest() <= 0:
            break
        once = replace(effort, seed=effort.seed + 100 * k)
        tours = _search(pool, bases, everything, once, multipliers)
        pool.add(tours)
        loads = loads_t(siting, tours)
        over = {b: loads[b] - siting.capacity_t[b] for b in bases}
        if max(over.values()) > SLACK:
            groups = moved(siting, bases, tours)
            if groups is not None:
                tours = _each_alone(pool, groups, once)
        least = min(least, pool.total(tours))
        for b in bases:
            rise = over[b] / siting.capacity_t[b] * step / sqrt(1 + k)
            multipliers[b] = max(0.0, multipliers[b] + rise)
        if max(multipliers.values()) <= 0:
            break
    return least


def _each_alone(
    pool: Pool, groups: dict[int, set[int]], effort: SearchLimits
) -> list[Tour]:
    """Search every yard for the stops it has."""
    tours = []
    for base, group in groups.items():
        key = (base, frozenset(group), effort.iterations)
        if group and key not in pool.alone:
            pool.alone[key] = _search(pool, (base,), tuple(sorted(group)), effort, {})
        tours += pool.alone[key] if group else []
    pool.add(tours)
    return tours


def _search(
    pool: Pool,
    bases: tuple[int, ...],
    stops: tuple[int, ...],
    effort: SearchLimits,
    multipliers: dict[int, float],
) -> list[Tour]:
    """Search tours from some yards to some stops, tonnes charged by multipliers."""
    part, kinds = cut_out(pool.siting.task, bases, stops, multipliers)
    answer = solve_task(part, replace(effort, seconds=max(0.05, pool.rest())))
    return [
        Tour(kinds[t.truck], tuple(tuple(stops[s] for s in trip) for trip in t.trips))
        for t in answer.tours
    ]


def cut_out(
    task: Task,
    bases: tuple[int, ...],
    stops: tuple[int, ...],
    multipliers: dict[int, float],
) -> tuple[Task, list[int]]:
    """Cut out some yards and stops, with multipliers of tonnes; and the trucks left."""
    cut = np.ix_(*[[*bases, *(task.place(s) for s in stops)]] * 2)
    takes = np.array([task.stops[s].take_t for s in stops])
    unit = money_unit(task)
    kinds = [v for v, truck in enumerate(task.trucks) if truck.base in bases]
    trucks, legs = [], []
    for n, v in enumerate(kinds):
        truck, ways = task.trucks[v], task.legs[task.trucks[v].legs]
        money: Floats = ways.money[cut].copy()
        penalty = multipliers.get(truck.base, 0.0) * takes
        money[:, len(bases) :] += np.round(penalty / unit) * unit
        legs.append(
            Legs(
                ways.km[cut], ways.hours[cut], money, ways.before[cut], ways.after[cut]
            )
        )
        trucks.append(replace(truck, base=bases.index(truck.base), legs=n))
    part = replace(
        task,
        bases=tuple(task.bases[b] for b in bases),
        stops=tuple(task.stops[s] for s in stops),
        trucks=tuple(trucks),
        legs=tuple(legs),
    )
    return part, kinds


def _pick(
    pool: Pool, effort: SearchLimits, bases: tuple[int, ...] | None
) -> list[Tour]:
    """Choose yards and tours of the pool; search each of these yards alone."""
    tours = chosen(pool, bases)
    pool.add(tours)
    groups: dict[int, set[int]] = {}
    for tour in tours:
        base = pool.siting.task.trucks[tour.truck].base
        groups.setdefault(base, set()).update(tour.stops)
    return _each_alone(pool, groups, effort)


def _shaken(pool: Pool, bases: tuple[int, ...], effort: SearchLimits) -> float:
    """
    Drive stops that lie together to other yards, keep what is not much dearer.

    How much dearer falls from one in a hundred to nothing (threshold accepting).
    Returns the least total within capacities.
    """
    siting, rng = pool.siting, np.random.default_rng(effort.seed)
    short = replace(
        effort, iterations=effort.iterations and max(1, effort.iterations // 8)
    )
    tours = _pick(pool, short, bases)
    least = pool.total(tours)
    if not np.isfinite(least):
        return least
    shakes = SHAKES if short.iterations is None else min(SHAKES, short.iterations)
    for k in range(shakes):
        groups = moved(siting, bases, tours, shove(siting, bases, rng))
        if pool.rest() <= 0 or groups is None:
            break
        tried = _each_alone(pool, groups, short)
        total = pool.total(tried)
        if total <= least * (1 + 0.01 * (1 - (k + 1) / shakes)):
            tours, least = tried, min(least, total)
    return least
