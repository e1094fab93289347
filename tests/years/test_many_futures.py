"""The first year for many futures: against every first year there is, and laws."""

from itertools import product

import numpy as np
import pytest
from support.years_whole import Ready, ahead_of

from logistics.changes import ChangeSet, Step
from logistics.results import run
from logistics.scenario import with_settings
from logistics.studies import BASE, Chance
from logistics.years import plan_years, years_ahead, years_for_futures
from logistics.years.many_futures import _ahead


def demand(title, percent):
    step = Step("scale_demand", {"percent": percent}, "")
    return ChangeSet(title, title, "", (step,))


MORE, LESS, SAME = demand("more", 60), demand("less", -70), demand("same", 0)
CAPITAL, SUPPLY = (120_000, 120_000), (1.0, 1.2)


def district():
    """Return the small district with two years, planned closely."""
    scenario, _ = ahead_of(CAPITAL, SUPPLY)
    return with_settings(scenario, {"solve.gap_pct": 0.01})


def first_years(ready):
    """
    List what may be decided in the first year: columns, and what their sum is held at.

    Each site is bought in a size or not, and what stands works or not.
    """
    bought, keys = ready.bought, ready.keys
    works = ready.stage.working[0].tolist()
    new = [
        np.flatnonzero((bought.year == 0) & ~bought.stands & (bought.size_to == k))
        for k in range(len(keys))
    ]
    old = {int(k) for k in bought.size_to[bought.stands]}
    per_site = []
    for site in dict.fromkeys(site for site, _ in keys):
        mine = [k for k, (other, _) in enumerate(keys) if other == site]
        ways = [()]
        for k in mine:
            if k in old or len(new[k]):
                ways += [((k, 0),), ((k, 1),)]
        per_site.append(ways)
    for choice in product(*per_site):
        runs = dict(pair for way in choice for pair in way)
        buys = {k for k in runs if k not in old}
        yield [
            *((columns, int(k in buys)) for k, columns in enumerate(new)),
            *(([column], runs.get(k, 0)) for k, column in enumerate(works)),
        ]


@pytest.mark.thorough
def test_no_first_year_is_cheaper_in_expectation():
    """Every first year is tried, each future then given to the solver in one piece."""
    scenario = district()
    chances = [Chance(BASE, 1.0), Chance(LESS, 3.0)]
    found = years_for_futures(scenario, {}, chances, seconds=120)
    ready = []
    for chance in chances:
        ahead = _ahead(scenario, {}, chance.change)
        last = run(ahead[-1].scenario).plan
        ready.append(Ready(ahead, held=last.contents))
    base, other = ready
    assert base.keys == other.keys
    scale, best, tried = base.stage.scale, np.inf, 0
    for held in first_years(base):
        costs = [one.in_one_piece(held) for one in ready]
        if None not in costs:
            tried += 1
            best = min(best, 0.25 * costs[0] + 0.75 * costs[1])
    assert tried >= 4
    assert found.value == pytest.approx(best * scale, rel=2e-4)
    assert found.bound <= best * scale * (1 + 1e-6)


@pytest.mark.slow
def test_knowing_and_waiting_are_never_worth_less_than_nothing():
    scenario = district()
    chances = [Chance(BASE, 2.0), Chance(MORE, 1.0), Chance(LESS, 1.0)]
    found = years_for_futures(scenario, {}, chances, seconds=120)
    assert found.weights.tolist() == [0.5, 0.25, 0.25]
    assert found.weights @ found.alone_bound <= found.value
    assert found.value == pytest.approx(found.weights @ found.cost, rel=1e-6)
    assert found.bound <= found.now
    assert 0 <= found.evpi[0] <= found.evpi[1]
    assert 0 <= found.waiting[0] <= found.waiting[1]
    first = [
        steps[steps["year"] == found.years[0]].drop(columns="capital").values.tolist()
        for steps in found.steps
    ]
    assert first[0] == first[1] == first[2]


@pytest.mark.slow
def test_a_future_that_is_certain_is_the_way_of_the_years():
    """One future, or two that are alike: knowing is worth nothing, nor is waiting."""
    scenario = district()
    way = plan_years(scenario, years_ahead(scenario, {}))
    for chances in (
        [Chance(BASE)],
        [Chance(BASE), Chance(ChangeSet("same", "Same", "", ()))],
    ):
        found = years_for_futures(scenario, {}, chances, seconds=120)
        assert found.value == pytest.approx(way.with_parts, rel=2e-4)
        assert found.evpi[1] <= 2e-4 * abs(found.value)
        assert found.waiting[1] <= 2e-4 * abs(found.value)
