"""The choice of what stands when, against trying every way there is."""

from dataclasses import dataclass, replace
from itertools import product
from math import ceil

import numpy as np
import pandas as pd
import pytest
from support.small_way import district

from logistics.model import Effort, Session, YardCut
from logistics.scenario import change_setting, with_table
from logistics.years.cutting import choose
from logistics.years.first_stage import Money, first_stage_of
from logistics.years.purchases import purchases

YEARS, SIZES = 3, ("small", "large")
SITES = ("reef", "shoal", "mole", "spit")
"""The second has a small yard today, the others none."""


@dataclass
class Linear:
    """A year whose running costs so much for each yard and size that works."""

    years: tuple[int, ...]
    costs: np.ndarray

    def at(self, works):
        return YardCut(float(self.costs @ works), 0.0, self.costs)

    def by_duals(self, _known):
        return YardCut(np.nan, 0.0, self.costs)


def case(seed):
    """Draw prices, lives, rates, budgets and what running costs."""
    draw = np.random.default_rng(seed)
    base = district()
    settings = base.settings
    rates = {
        "finance.discount_pct": draw.choice([0, 5, 12]),
        "finance.salvage_pct": draw.choice([0, 50, 100]),
        "finance.closing_pct": draw.choice([0, 5, 30]),
    }
    for name, value in rates.items():
        settings = change_setting(settings, name, float(value))
    works, machines = np.sort(draw.integers(5, 60, (2, 2)), axis=1)
    sizes = base.yard_sizes.assign(
        works_cost=works.astype(float),
        machine_cost=machines.astype(float),
        works_life_years=draw.choice([1.5, 2.0, 4.0, 20.0]),
        machine_life_years=draw.choice([1.0, 2.0, 2.5, 9.0]),
    )
    scenario = with_table(replace(base, settings=settings), "yard_sizes", sizes)
    yards = base.yards
    spit = yards[yards["yard"] == "reef"].assign(yard="spit")
    yards = pd.concat([yards, spit], ignore_index=True)
    yards["works_factor"] = draw.choice([0.6, 1.0, 1.7], len(yards))
    scenario = with_table(scenario, "yards", yards)
    keys = [(site, size) for site in SITES for size in SIZES]
    idle = draw.uniform(0, 6, (YEARS, len(keys)))
    capital = draw.choice([0.0, 20.0, 50.0, 90.0, np.inf], YEARS)
    carry = draw.integers(0, 2, YEARS).astype(float)
    run = draw.uniform(-60, 15, (YEARS, len(keys)))
    return (
        scenario,
        keys,
        Money(capital, carry, idle, 1.0, settings.finance.discount),
        run,
    )


def chosen(scenario, keys, money, run):
    """Choose as the engine does, in present money; None where no way can be paid."""
    offered = [set(keys)] * YEARS
    bought = purchases([scenario] * YEARS, keys, offered)
    stage = first_stage_of(keys, bought, offered, set(), None, money)
    kinds = [Linear((y,), run[y]) for y in range(YEARS)]
    session = Session(Effort(seconds=30, threads=1))
    found = choose(stage, kinds, {}, None, session, gap=1e-9)
    return None if found is None else found.value * stage.scale


def ways_of(site, start):
    """
    List what a site may be in each year: size, whether it works, whether it is new.

    A yard may grow or go on; anything else takes a new one, and the place of a yard
    that stands today takes no second one.
    """
    states = [None, *product(SIZES, (True, False), (True, False))]
    for way in product(states, repeat=YEARS):
        before, gone = start, False
        for y, state in enumerate(way):
            if state is None:
                if start and y == 0:
                    break
                gone = gone or before is not None
                before = None
                continue
            size, _works, new = state
            if new and start:
                break
            goes_on = before is not None and SIZES.index(size) >= SIZES.index(before)
            if (not new and not goes_on) or (before is None and gone and start):
                break
            before = size
        else:
            yield way


def part(scenario, price, life, bought, ends, *, free):
    """Say what a part costs each year, and what it is worth after the last."""
    paid, at, last = np.zeros(YEARS), float(bought), None
    while at < ends - 1e-9:
        year = ceil(at - 1e-9)
        if year < min(ends, YEARS) and not (free and at == bought):
            paid[year] += price
            last = at
        at += life
    if ends < YEARS or last is None:
        return paid, 0.0
    left = max(0.0, life - (YEARS - last))
    rate = scenario.settings.finance.discount
    if rate == 0:
        return paid, price * left / life
    of_one = [(1 - (1 + rate) ** -t) / rate for t in (left, life)]
    return paid, price * of_one[0] / of_one[1]


def money_of(scenario, site, start, way):
    """Say what a way of one site costs each year in capital, and its salvage."""
    sizes = scenario.yard_sizes.set_index("size")
    (factor,) = scenario.yards.set_index("yard").loc[[site], "works_factor"]
    finance = scenario.settings.finance
    paid, salvage = np.zeros(YEARS), 0.0
    spells, before = [], None
    if start:
        spells.append([(None, start, 0)])
        before = start
    for y, state in enumerate(way):
        if state is None:
            if before is not None:
                spells[-1].append(("end", None, y))
            before = None
            continue
        size, _works, new = state
        if new or before is None:
            if before is not None:
                spells[-1].append(("end", None, y))
            spells.append([("", size, y)])
        elif size != before:
            spells[-1].append((before, size, y))
        before = size
    for spell in spells:
        ends = next((y for kind, _, y in spell if kind == "end"), YEARS)
        for old, size, y in spell:
            if old == "end":
                continue
            less = sizes.loc[old] if old else {"works_cost": 0, "machine_cost": 0}
            works = factor * (sizes.loc[size, "works_cost"] - less["works_cost"])
            machine = sizes.loc[size, "machine_cost"] - less["machine_cost"]
            lives = sizes.loc[size, ["works_life_years", "machine_life_years"]]
            parts = [(machine, lives.iloc[1], old is None)]
            if old is not None:
                parts.append((works, lives.iloc[0], False))
            for price, life, free in parts:
                more, worth = part(scenario, price, life, y, ends, free=free)
                paid += more
                salvage += worth
            if ends < YEARS:
                paid[ends] += finance.closing * works
    return paid, finance.salvage * salvage


def not_worse(ways):
    """Keep ways that no other beats in cost and in what each year pays."""
    ways = np.unique(np.round(ways, 9), axis=0)
    kept = np.empty((0, ways.shape[1]))
    for way in ways:  # in order of cost
        if not (kept <= way + 1e-9).all(axis=1).any():
            kept = np.vstack([kept, way])
    return kept


def enumerated(scenario, keys, money, run):
    """Try every way of all sites together; None where none can be paid."""
    tables = []
    for site in SITES:
        start = "small" if site == "shoal" else None
        rows = []
        for way in ways_of(site, start):
            paid, salvage = money_of(scenario, site, start, way)
            running = np.zeros(YEARS)
            for y, state in enumerate(way):
                if state is not None:
                    key = keys.index((site, state[0]))
                    if state[1]:
                        running[y] += run[y, key]
                    else:
                        paid[y] += money.idle[y, key]
            end = money.ends[-1] * salvage
            cost = paid @ money.begins + running @ money.ends - end
            rows.append((cost, *paid))
        tables.append(np.array(rows))
    all_ways = not_worse(tables[0])
    for table in map(not_worse, tables[1:]):
        both = all_ways[:, None] + table[None, :]
        all_ways = not_worse(both.reshape(-1, 1 + YEARS))
    cost, spent = all_ways[:, 0], all_ways[:, 1:]
    left, fits = np.zeros(cost.shape), np.ones(cost.shape, dtype=bool)
    for y in range(YEARS):
        there = money.capital[y] + left
        fits &= spent[..., y] <= there + 1e-9
        carries = money.carry_over[y] > 0 and np.isfinite(money.capital[y])
        left = np.maximum(there - spent[..., y], 0.0) if carries else 0.0 * cost
    return cost[fits].min() if fits.any() else None


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_no_way_is_cheaper_than_the_one_chosen(seed):
    """Four sites, three years, two sizes."""
    drawn = case(seed)
    best = enumerated(*drawn)
    found = chosen(*drawn)
    assert found == (None if best is None else pytest.approx(best, abs=1e-6))
