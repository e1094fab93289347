"""
Rows of the programme, with a drawn plan put in for the solver's answer.

The plan and the district in which it only just fits are reckoned one entry at a time
in `fitted_plan`, which knows no rows: so how far each row is from its limit is known.
"""

from collections import defaultdict
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from support.fitted_plan import (
    BASES,
    DAYS,
    FISH,
    OPEN,
    OWN,
    STRAW,
    Drawn,
    T,
    before,
    district,
)

from logistics.model.problem.contents import SUBSTANCES
from logistics.model.problem.own_hours import PART, STEP
from logistics.model.rules import siting
from logistics.model.rules.blocks import build
from logistics.model.rules.capacity import yearly_intake
from logistics.model.rules.siting import most_delivered, most_hauled
from logistics.model.rules.variables import EVERY

D = Drawn()
INST = district(D)
NAMES = {0: "y0.small", 1: "y1.large"}
FEED = INST.feed.codes
NEARBY = {
    "exposed.2": 1.0, "exposed.3": 1.0,  # 60 and 100 heads, each near two yards
    "counted.n0.y0": 1.0, "counted.n1.y1": 1.0,
    "worst_farms.eta": 4.0, "worst_farms.n1": 9.0 - 4.0,
}  # fmt: skip
"""What the rows of people and farms say of the open yards y0 and y1."""


def filled(inst, **given):
    """Amount of every column in the plan, and the programme."""
    programme, var = build(inst, **given)
    x = np.zeros(len(programme.columns))

    def fill(table, amounts) -> None:
        for key, amount in amounts.items():
            if amount:
                x[table[key].number] = amount

    def on_lanes(table, lanes, flows) -> None:
        lane = {
            k: a
            for a, k in enumerate(zip(lanes.site, lanes.yard, lanes.truck, strict=True))
        }
        fill(table, {(lane[k[:3]], OPEN[k[1]], k[3]): n for k, n in flows.items()})

    def in_yards(table, amounts) -> None:
        fill(table, {(OPEN[k[0]], *k[1:]): n for k, n in amounts.items()})

    fill(var.opened, dict.fromkeys(OPEN.values(), 1.0))
    on_lanes(var.hauled, inst.inbound, D.inbound)
    on_lanes(var.delivered, inst.outbound, D.outbound)
    fill(var.left, D.left)
    fill(var.held, D.held)
    for table, amounts in (
        (var.arrived, D.arrived),
        (var.stock, D.stock),
        (var.charge, D.charge),
        (var.water, D.water),
        (var.compost, D.compost),
        (var.leftover, D.leftover),
    ):
        in_yards(table, amounts)
    types = range(len(inst.trucks.codes))
    fill(var.based, {(OPEN[j], v): count for (v, j), count in BASES.items()})
    busy = {(v, j, t): STEP * BASES.get((v, j), 0) * D.one[v, t] for v, j, t in D.hired}
    rent = {k: x - PART * busy[k] for k, x in D.hired.items()}
    for table, amounts in ((var.busy, busy), (var.hired_at, rent)):
        fill(table, {(OPEN[j], v, t): x for (v, j, t), x in amounts.items()})
    saved = {(OPEN[j], v, t): 0.0 for v, j, t in product(types, OPEN, T)}
    for key, trips in D.pairs.items():
        saved[OPEN[key[1]], *key[3:]] += trips * D.saved[key][1]
    fill(var.saved, saved)
    p = inst.backhauls
    place = {
        k: n
        for n, k in enumerate(zip(p.source, p.yard, p.market, p.truck, strict=True))
    }
    fill(var.paired, {(place[k[:4]], k[4]): n for k, n in D.pairs.items()})
    column = {each.name: each.number for each in programme.columns}
    for name, value in NEARBY.items():
        x[column[name]] = value
    return programme, var, x


PROGRAMME, VARIABLES, X = filled(INST)
SLACK = {
    name: min(r.above - left, left - r.below)
    for name, r in PROGRAMME.rows.items()
    for left in [float(np.dot(r.values, X[r.columns]))]
}
"""How far each row is from its limit."""


def test_the_plan_is_allowed():
    assert min(SLACK.values()) > -1e-6
    for quantity, amount in zip(PROGRAMME.columns, X, strict=True):
        high = np.inf if quantity.high is None else quantity.high
        assert quantity.low <= amount <= high + 1e-9, quantity.name


TIGHT = [
    "supply", "arrive", "stock", "compost", "cover",
    "cn_high", "cn_low", "moist_high", "moist_low", "density",
    "structure", "salt", "product", "standard_p2o5_low", "pad", "store",
    "water", "ripe", "compost_store", "demand", "trucks", "bases", "hire",
    *(f"{row}_{key}" for row in ("content", "nutrients") for key in SUBSTANCES),
    "least_share", "whole", "most_yards", "capital", "budget", "emissions",
    "one_size", "most_exposed", "exposes", "worst_farms", "farther", "counted_once",
]  # fmt: skip


@pytest.mark.parametrize("family", TIGHT)
def test_a_limit_met_to_the_last_tonne_is_a_row_without_slack(family):
    slack = [s for name, s in SLACK.items() if name.split(".")[0] == family]
    assert min(slack) == pytest.approx(0.0, abs=1e-6)


def expected() -> dict[str, float]:
    """How far rows are from their limits, entry by entry."""
    found = {}
    fresh = {0: [0, 2], 1: [1], 2: [2]}
    for t in T:
        when = INST.periods[t]
        came = sum(D.supply(4, r) for r in fresh[t])
        found[f"held_fresh.s4.{when}"] = came - D.held[4, t]
        for v, truck in enumerate(INST.trucks.codes):
            found[f"hire.{truck}.{when}"] = 0.0
            for j, name in NAMES.items():
                found[f"trucks.{truck}.{name}.{when}"] = 0.0
                found[f"based.{truck}.{name}"] = OWN[v] - BASES.get((v, j), 0)
                assert D.hours(v, t, j) > 0
        for j, name in NAMES.items():
            arrived = sum(D.arrived[j, STRAW, r] for r in fresh[t])
            found[f"stock_fresh.{name}.straw.{when}"] = arrived - D.stock[j, STRAW, t]
            there, fish = D.covers(j, t)
            found[f"cover.{name}.{when}"] = there - fish * D.cover(t)
            found[f"water.{name}.{when}"] = 0.0
            in_store = sum(
                D.stock[j, m, t] / INST.feed.loose_t_m3[m] for m in (0, STRAW)
            )
            found[f"store.{name}.{when}"] = D.in_store(j) - in_store
            full = D.in_compost_store(j) - D.compost[j, t] / INST.product_t_m3
            found[f"compost_store.{name}.{when}"] = full
            found |= mix_rows(f"{name}.{when}", j, t)
            for part, evening in ((0.0, 38), (0.5, 88)):
                day = sum(map(int, DAYS[:t])) + evening
                left = D.ripe(j, t, part) - D.sent_by(t, part) * D.sent(j, t)
                found[f"ripe.{name}.{when}.{day}"] = left
    for j, name in NAMES.items():
        for m in (0, STRAW):
            lost = sum((1 - INST.feed.keep[m, t]) * D.stock[j, m, before(t)] for t in T)
            used = sum(D.charge[j, m, t] for t in T)
            found[f"decay.{name}.{FEED[m]}"] = used - lost
    for s in (0, 4):
        m = D.of[s]
        lost = sum((1 - INST.feed.keep[m, t]) * D.held[s, before(t)] for t in T)
        # what is taken, less what is lost
        found[f"decay_held.s{s}"] = D.collected(s) - lost
    return found | backhaul_rows()


def mix_rows(name: str, j: int, t: int) -> dict[str, float]:
    """Each ratio's distance from its limit, times what it is a share of."""
    mix, own = INST.mix, D.mix(j, t)
    total, volume, left = own["total_t"], own["volume_m3"], own["left_t"]
    floors = dict(zip(("n_line", "p2o5", "k2o"), mix.product, strict=True))
    floors["n_most"] = floors["n_line"]
    ends = D.at_their_ends({m: D.charge[j, m, t] for m in range(3)})
    return {
        f"cn_high.{name}": min(mix.cn[1] * n - c for c, n in ends),
        f"cn_low.{name}": min(c - mix.cn[0] * n for c, n in ends),
        f"moist_high.{name}": (mix.moisture[1] - own["moisture_high"]) * total,
        f"moist_low.{name}": (own["moisture_low"] - mix.moisture[0]) * total,
        f"density.{name}": (mix.density_t_m3 - own["density"]) * volume,
        f"structure.{name}": (own["structure"] - mix.structure) * volume,
        f"salt.{name}": (mix.salt - own["salt"]) * total,
        **{
            f"product.{c.removesuffix('_line')}.{name}": (own[c] - f) * left
            for c, f in floors.items()
        },
    }


def backhaul_rows() -> dict[str, float]:
    """Trips of each lane less those that are paired."""
    paired: dict = defaultdict(float)
    for (s, j, n, v, t), trips in D.pairs.items():
        place = f"y{j}.{INST.trucks.codes[v]}.{INST.periods[t]}"
        paired[f"backhaul_in.s{s}.{place}", (s, j, v, t)] += trips
        paired[f"backhaul_out.n{n}.{place}", (n, j, v, t)] += trips
    return {
        name: D.trips(key, inwards=name.startswith("backhaul_in")) - trips
        for (name, key), trips in paired.items()
    }


def test_slack_is_what_one_reckons_entry_by_entry():
    for name, slack in expected().items():
        assert SLACK[name] == pytest.approx(slack, abs=1e-6), name


@pytest.mark.parametrize("goal", ["cost", "co2e", "uncollected"])
def test_the_goal_is_what_one_reckons_line_by_line(goal):
    programme, _, x = filled(replace(INST, goal=goal))
    found = sum(c * x[q.number] for q, c in programme.goal) + programme.constant
    left = sum(D.left.values())
    assert found == pytest.approx(
        {"cost": D.money(), "co2e": D.co2e(), "uncollected": left}[goal]
    )


@pytest.mark.parametrize("limit", ["some", "nothing"])
def test_demands_give_way_as_shares_of_what_was_asked(limit):
    policy = INST.policy
    if limit == "nothing":
        policy = replace(
            policy, max_yards=0, capital_limit=0.0, budget_limit=0.0, co2e_limit=0.0,
            most_exposed=0.0, worst_farms_km=0.0,
        )  # fmt: skip
    inst = replace(INST, policy=policy)
    programme, var, x = filled(inst, elastic=EVERY)
    scales = {g.what: g.scale for g in var.slacks}
    fish = sum(D.supply(s, t) for s in (2, 3) for t in T)
    least = policy.least_shares[0]
    some = limit == "some"
    annual = float(INST.options.annual.sum())
    assert scales == pytest.approx(
        {
            "collect every tonne of sources that must be collected": sum(
                D.supply(1, t) for t in T
            ),
            f"collect {least.share * 100:.4g}% of fish": least.share * fish,
            f"at most {D.husk_share() * 100:.4g}% husk in a yard's intake": float(
                INST.supply.tonnes.sum()
            ),
            "most yards open": 2 if some else 1,
            "sites of another plan": 1,  # of two cuts the last
            "collection of all": sum(D.supply(0, t) for t in T),
            "delivery of all that is asked": D.sold(0, 0) + 1 + D.sold(0, 1),
            "capital limit": 75000.0 if some else 60000.0,
            "annual budget": D.money() if some else 1200.0 + annual,
            "emissions limit": D.co2e() if some else 1.0,
            "most people near yards": 160.0 if some else 1.0,
            "worst tenth of farms": 6.0 if some else 1.0,
            "P2O5": float(INST.supply.tonnes.sum()),
        }
    )
    each = {q.number: c for q, c in programme.goal}
    assert each == pytest.approx({g.variable.number: 1e3 / g.scale for g in var.slacks})
    given = {g.what: g.variable.number for g in var.slacks}
    x[given["most yards open"]] = 0 if some else 2
    x[given["capital limit"]] = 0 if some else 75000.0
    x[given["annual budget"]] = 0 if some else D.money()
    x[given["emissions limit"]] = 0 if some else D.co2e()
    x[given["most people near yards"]] = 0 if some else 160.0
    x[given["worst tenth of farms"]] = 0 if some else 6.0
    for name in (
        "most_yards",
        "capital",
        "budget",
        "emissions",
        "most_exposed",
        "worst_farms",
    ):
        row = programme.rows[name]
        slack = row.above - np.dot(row.values, x[row.columns])
        assert slack == pytest.approx(0.0, abs=1e-6), name
    row = programme.rows["least_share.fish"]
    share = given[f"collect {least.share * 100:.4g}% of fish"]
    assert row.values[row.columns.index(share)] == 1.0


def test_a_flow_is_linked_to_what_its_pad_can_take_and_its_store_lose(monkeypatch):
    """A full store loses (1 - keep) of its tonnes in each period."""
    keep, loose = INST.feed.keep, INST.feed.loose_t_m3
    lost = {m: sum(1 - keep[m, t] for t in T) * loose[m] for m in range(3)}
    year = [sum(D.supply(s, t) for t in T) for s in range(5)]
    for intake in (0.0, 0.02, np.inf):
        monkeypatch.setattr(
            siting, "yearly_intake", lambda _, each=intake: np.full(3, each)
        )
        most = most_hauled(INST)
        for s, o in ((0, 0), (2, 0), (4, 3)):
            pad, store = INST.options.pad_m3[o], INST.options.store_m3[o]
            cap = intake * pad + lost[D.of[s]] * store
            assert most[s, o] == pytest.approx(min(year[s], cap))
    monkeypatch.setattr(siting, "yearly_product", lambda _: 0.01)
    most = most_delivered(INST)
    for n, o in ((0, 0), (1, 3)):
        most_t = [D.sold(n), 0.01 * INST.options.pad_m3[o]]
        if n == 0:
            for key in SUBSTANCES:
                poorest = min(c for (j, _), c in D.contents(key).items() if j == 0)
                most_t.append(D.dressing(key, 0) / poorest)
        assert most[n, o] == pytest.approx(min(most_t))
    row = PROGRAMME.rows["link_in.s2.y0.small"]
    own = most_hauled_as_built()[2, 0]
    opened = VARIABLES.opened[0].number
    coefficients = dict(zip(row.columns, row.values, strict=True))
    assert coefficients[opened] == pytest.approx(-own)
    assert SLACK["link_in.s2.y0.small"] == pytest.approx(
        own - sum(x for k, x in D.inbound.items() if k[:2] == (2, 0))
    )


def most_hauled_as_built():
    """What the rows of the programme above were written with."""
    pad, store = INST.options.pad_m3, INST.options.store_m3
    lost = (1 - INST.feed.keep).sum(axis=1) * INST.feed.loose_t_m3
    taken = np.outer(yearly_intake(INST), pad) + np.outer(lost, store)
    year = INST.supply.tonnes.sum(axis=1)
    return np.minimum(taken[INST.supply.feedstock], year[:, None])


def test_fish_waits_nowhere():
    assert (0, FISH) not in {(o, m) for o, m, _ in VARIABLES.stock}
    assert not any(s in (2, 3) for s, _ in VARIABLES.held)


def test_what_must_be_collected_has_no_way_to_stay():
    assert not any(s == 1 for s, _ in VARIABLES.left)
