"""
Which yard opens in which year and size: cuts by year, against HiGHS in one piece.

    python tests/benchmarks/bench_phases.py [sites] [seconds]

Sites, customers and ten years with three capacity levels as the recipe of Jena, Cordeau
and Gendron has them (Transportation Science 49(3), 2015; INFORMS Journal on Computing
29(2), 2017: 50 x 50 and 100 x 100, 3, 5 and 10 levels, demand by period, prices of
levels that show economies of scale, capacity that may be added and given up). The
figures of their prices could not be had; ours are named below. The whole programme
has one flow a site, customer and year, linked to what works there (the strong form).
"""

import sys
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
from scipy import sparse

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.facility_location import instance  # noqa: E402

from logistics.model import Effort, Matrix, Session, optimum  # noqa: E402
from logistics.years.cutting import choose  # noqa: E402
from logistics.years.first_stage import Money, first_stage_of  # noqa: E402
from logistics.years.futures import keys_in, kind_of  # noqa: E402
from logistics.years.purchases import Purchases  # noqa: E402

YEARS, LEVELS, GAP = 10, 3, 0.01
SCALE_ECONOMY = 0.7
"""Power of a level in its price. [1]"""
YEARLY = 0.1
"""Running cost of a year as a share of the price. [1]"""

say = partial(print, flush=True)  # a benchmark speaks


def generated(sites: int, seed: int) -> tuple[np.ndarray, ...]:
    """Demand (y, i), cost of a tonne (i, j), capacity (l) and price (j, l)."""
    rng = np.random.default_rng(seed)
    at, to = rng.random((sites, 2)), rng.random((sites, 2))
    base = rng.integers(5, 35, sites).astype(float)
    growth = np.linspace(0.6, 1.4, YEARS)[:, None]
    demand = base * growth * rng.uniform(0.8, 1.2, (YEARS, sites))
    cost = 10 * np.linalg.norm(at[:, None] - to[None], axis=2)
    capacity = np.arange(1, LEVELS + 1) * base.sum() / (0.3 * sites)
    price = 20 * base.mean() * rng.uniform(0.8, 1.2, (sites, 1))
    return demand, cost, capacity, price * np.arange(1, LEVELS + 1) ** SCALE_ECONOMY


def bought_of(price: np.ndarray, keys) -> Purchases:
    """Buy a level, or the next larger ones; kept to the end or given up for nothing."""
    place, rows = {key: n for n, key in enumerate(keys)}, []
    for j in range(len(price)):
        for new in range(LEVELS):
            for old in range(-1, new):
                less = price[j, old] if old >= 0 else 0.0
                for year in range(1 if old >= 0 else 0, YEARS):
                    for until in range(year + 1, YEARS + 1):
                        paid = np.zeros(YEARS)
                        paid[year] = price[j, new] - less
                        before = place[(f"s{j}", f"l{old}")] if old >= 0 else -1
                        rows.append(
                            (before, place[(f"s{j}", f"l{new}")], year, until, paid)
                        )
    columns = list(zip(*rows, strict=True))
    return Purchases(
        *(np.array(c, dtype=np.int64) for c in columns[:4]),
        stands=np.zeros(len(rows), dtype=bool),
        capital=np.array(columns[4]),
        salvage=np.zeros(len(rows)),
    )


def year_of(demand, cost, capacity, price):
    """One year: every site in every level, its running cost."""
    sites = cost.shape[1]
    one = instance(np.ones(sites), np.zeros(sites), demand, cost * demand[:, None])
    annual = (YEARLY * price).ravel()
    nothing = np.zeros(sites * LEVELS)
    options = replace(
        one.options,
        yard=np.repeat(np.arange(sites), LEVELS),
        size=tuple(f"l{n}" for _ in range(sites) for n in range(LEVELS)),
        annual=annual,
        pad_m3=np.tile(capacity, sites),
        capital=nothing,
        store_m3=nothing,
        compost_store_m3=nothing,
        handling_per_t=nothing,
    )
    return replace(one, options=options)


def whole(stage, keys, demand, cost, capacity, price) -> Matrix:
    """All years in one piece."""
    years, customers, sites = len(demand), *cost.shape
    first, flows = stage.matrix, customers * sites
    width = len(first.cost) + years * flows

    def laid(values, rows, columns, count):
        return sparse.csr_matrix((values, (rows, columns)), shape=(count, width))

    site = np.array([int(yard[1:]) for yard, _ in keys])
    level = np.array([int(size[1:]) for _, size in keys])
    beside = sparse.csc_matrix((len(first.below), width - len(first.cost)))
    rows, below, above = (
        [sparse.hstack([first.rows, beside])],
        [first.below],
        [first.above],
    )
    running, costs, ones = first.cost.copy(), [], np.ones(flows)
    i, j = np.divmod(np.arange(flows), sites)
    for y in range(years):
        at = len(first.cost) + y * flows + np.arange(flows)
        works = stage.working[y]
        running[works] += YEARLY * price[site, level] / years
        costs.append((cost * demand[y][:, None]).ravel() / years)
        room = laid(capacity[level], site, works, sites)
        there = laid(np.ones(len(keys)), site, works, sites)
        rows += [
            laid(ones, i, at, customers),
            laid(demand[y][i], j, at, sites) - room,
            laid(ones, np.arange(flows), at, flows) - there[j],
        ]
        below += [np.ones(customers), np.full(sites + flows, -np.inf)]
        above += [np.ones(customers), np.zeros(sites + flows)]
    return Matrix(
        rows=sparse.vstack(rows).tocsc(),
        cost=np.concatenate([running, *costs]),
        low=np.zeros(width),
        high=np.append(first.high, np.ones(years * flows)),
        below=np.concatenate(below),
        above=np.concatenate(above),
        constant=0.0,
        integer=np.append(first.integer, np.zeros(years * flows, dtype=bool)),
    )


def everywhere(stage, keys) -> np.ndarray:
    """Begin with every site at the middle level in every year."""
    wanted = np.array([float(size == "l1") for _, size in keys])
    cost = 1e-6 * stage.matrix.cost / stage.matrix.cost.max()
    cost[stage.working] -= wanted
    return np.round(optimum(replace(stage.matrix, cost=cost), integer=True).values)


def main(sites: int, seconds: float) -> None:
    """Print a line for ours and one for the whole programme."""
    demand, cost, capacity, price = generated(sites, 1)
    runs = [year_of(d, cost, capacity, price) for d in demand]
    keys = keys_in(runs[0])
    free = Money(
        np.full(YEARS, np.inf), np.zeros(YEARS), np.zeros((YEARS, len(keys))), 0.0, 0.0
    )
    bought = bought_of(price, keys)
    stage = first_stage_of(keys, bought, [set(keys)] * YEARS, set(), None, free)
    begin = time.perf_counter()
    session = Session(Effort(seconds=seconds, threads=2))
    kinds = [kind_of(inst, keys, [y], session) for y, inst in enumerate(runs)]

    def told(at, best, bound):
        say(f"  {at:.0f} s: {best and best * YEARS:,.0f} {bound * YEARS:,.0f}")

    start = everywhere(stage, keys)
    found = choose(stage, kinds, {}, start, session, gap=GAP, report=told)
    took = time.perf_counter() - begin
    if found is not None:
        gap = 1 - found.bound / found.value
        say(f"cuts: {found.value * YEARS:,.1f}, gap {gap:.2%}, {took:.0f} s")
    begin = time.perf_counter()
    session = Session(Effort(seconds=seconds, threads=2))
    made = whole(stage, keys, demand, cost, capacity, price)
    one = optimum(made, session=session, integer=True, gap=GAP)
    took = time.perf_counter() - begin
    if one is None:
        say(f"whole: nothing in {took:.0f} s")
    else:
        gap = 1 - one.bound / one.value
        say(f"whole: {one.value * YEARS:,.1f}, gap {gap:.2%}, {took:.0f} s")


if __name__ == "__main__":
    words = [float(word) for word in sys.argv[1:]]
    main(int(words[0]) if words else 50, words[1] if len(words) > 1 else 300.0)
