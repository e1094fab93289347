"""Small random districts as instances: three yards, two sizes, a few sources."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from support.evenly_charged import moments, occupancy, ripening

from logistics.model.problem.contents import Contents
from logistics.model.problem.feed import Feed, Margin
from logistics.model.problem.instance import (
    CompostDays,
    Instance,
    LeastLoads,
    LeastShare,
    Mix,
    MostShare,
    OtherSites,
    Policy,
    ServedWhole,
)
from logistics.model.problem.nearby import FarmDistances, PeopleNear
from logistics.model.problem.parts import (
    Backhauls,
    Lanes,
    Markets,
    Options,
    Supply,
    Trucks,
    Yards,
)
from logistics.model.problem.standard import Standard, StandardRow
from logistics.model.rules.backhaul_lanes import lanes_of_backhauls

DAYS = np.array([120.0, 125.0, 120.0])
AVAILABLE = np.array([0.6, 1.0, 0.9])
"""Share of carbon that microbes can use: mixes of `fitted_plan` stay below C:N 40."""


def feed(rng: np.random.Generator) -> Feed:
    """Husk that keeps, fish that spoils, straw that keeps one period."""
    moisture = np.array([0.12, 0.76, 0.15])
    loss = np.array([0.22, 0.35, 0.35])
    loose = np.array([0.11, 0.95, 0.06])
    keep = 1 - np.array([0.01, 0.5, 0.05])
    carbon = np.array([0.37, 0.382, 0.40])
    nitrogen = np.array([0.0035, 0.106, 0.0065]) * rng.uniform(0.8, 1.2, 3)
    return Feed(
        codes=("husk", "fish", "straw"),
        materials=("husk", "fish", "straw"),
        moisture=moisture,
        carbon=carbon,
        nitrogen=nitrogen,
        p2o5=np.array([0.003, 0.05, 0.002]),
        k2o=np.array([0.004, 0.01, 0.017]),
        salt=np.array([0.0, 0.02, 0.001]),
        loose_t_m3=loose,
        dry_matter_loss=loss,
        structure=np.array([True, False, True]),
        store_periods=np.array([[3] * 3, [0] * 3, [1] * 3]),
        keep=keep[:, None] ** (DAYS / 30),
        pad_m3_per_t=0.375 / loose,
        product_per_t=(1 - moisture) * (1 - loss) / 0.65,
        nitrogen_kept=(1 - moisture)
        * np.array([0.1 * nitrogen + 0.0225 * AVAILABLE * carbon, nitrogen]),
    )


def lanes(rng: np.random.Generator, sites: int, yards: int, trucks: int) -> Lanes:
    """Every site with every yard and truck, a tenth of them closed."""
    s, j, v = (
        grid.ravel()
        for grid in np.meshgrid(
            np.arange(sites), np.arange(yards), np.arange(trucks), indexing="ij"
        )
    )
    km = rng.uniform(2, 40, (sites, yards))[s, j][:, None] * np.ones(len(DAYS))
    return Lanes(
        site=s,
        yard=j,
        truck=v,
        load_t=np.full(km.shape, 4.0),
        money=km * rng.uniform(0.1, 0.3, (len(s), 1)) + 2,
        hours=km * 0.02 + 0.1,
        co2e=km * 0.3,
        usable=rng.random(km.shape) > 0.1,
        km=km,
    )


def small_instance(seed: int, **changes: object) -> Instance:
    """Draw a district; the same seed gives the same one."""
    rng = np.random.default_rng(seed)
    sources, yards, markets, periods = 5, 3, 2, len(DAYS)
    options = np.repeat(np.arange(yards), 2)
    size = np.tile([0, 1], yards)
    supply = rng.uniform(50, 400, (sources, periods))
    supply *= rng.random((sources, periods)) > 0.15
    instance = Instance(
        periods=("p1", "p2", "p3"),
        feed=feed(rng),
        supply=Supply(
            codes=tuple(f"s{i}" for i in range(sources)),
            districts=("north",) * sources,
            feedstock=np.array([0, 0, 1, 1, 2]),
            tonnes=supply,
            money_per_t=rng.uniform(-2, 4, sources),
            left_money_per_t=np.array([1.0, 0.0, 45.0, 60.0, 0.0]),
            left_co2e_per_t=np.array([80.0, 80.0, 300.0, 300.0, 60.0]),
            must_collect=np.zeros(sources, dtype=bool),
            hold_t=np.array([50.0, 0.0, 0.0, 0.0, 80.0]),
        ),
        yards=Yards(
            codes=tuple(f"y{j}" for j in range(yards)),
            decision=("free",) * yards,
            water_t=rng.uniform(300, 3000, (yards, periods)),
            water_per_t=rng.uniform(0.2, 2.0, yards),
        ),
        options=Options(
            yard=options,
            size=tuple(np.array(["small", "large"])[size]),
            annual=np.array([2500.0, 6500.0])[size] * rng.uniform(0.7, 1.3, 2 * yards),
            capital=np.array([15000.0, 60000.0])[size],
            pad_m3=np.array([400.0, 2000.0])[size],
            store_m3=np.array([300.0, 1500.0])[size],
            compost_store_m3=np.array([100.0, 800.0])[size],
            handling_per_t=np.array([4.0, 3.0])[size],
        ),
        markets=Markets(
            codes=("n0", "n1"),
            demand=rng.uniform(0, 400, (markets, periods)),
            price_per_t=rng.uniform(20, 40, markets),
        ),
        trucks=Trucks(
            codes=("own", "hired"),
            owned_hours=np.array([[150.0] * periods, [0.0] * periods]),
            hire_hours=np.array([[60.0] * periods, [np.inf] * periods]),
            hire_per_hour=np.array([3.0, 6.0]),
            fixed_annual=1200.0,
        ),
        inbound=lanes(rng, sources, yards, 2),
        outbound=lanes(rng, markets, yards, 2),
        mix=Mix(cn=(22.0, 40.0), moisture=(0.45, 0.62)),
        policy=Policy(),
        occupancy=occupancy(DAYS, 56),
        pad_days=occupancy(DAYS, 56),
        pad_period=moments(DAYS, 56)[1],
        ripening=ripening(DAYS, 86),
        turning_water=0.2,
        product_t_m3=0.55,
        charge_co2e=np.array([178.0, 172.0, 175.0]),
        leftover_per_t=1.5,
        leftover_co2e=4.0,
    )
    instance = replace(instance, contents=contents_of(instance, rng))
    return replace(instance, **changes)


def contents_of(inst: Instance, rng: np.random.Generator) -> Contents:
    """Let the first market limit nitrogen, both phosphate; contents given by period."""
    kept = inst.feed.kept
    keys = ("n", "p2o5")
    shape = (1, len(inst.yards.codes), len(inst.periods))
    return Contents(
        keys=keys,
        limit_t=np.array([[5.0, np.inf], [4.0, 9.0]]),
        kept=np.array([kept[key] for key in keys]),
        made=inst.feed.product_per_t,
        held=np.concatenate(
            [rng.uniform(0.009, 0.013, shape), rng.uniform(0.007, 0.010, shape)]
        ),
        given=np.ones(2, dtype=bool),
    )


MARGIN = np.array([[0.005, 0.01, 0.01], [0.01, 0.01, 0.01], [0.0002, 0.002, 0.0003]])
"""How far husk, fish and straw may be off: moisture, carbon, nitrogen."""
FISH_RULE = LeastShare("fish", "fish", (2, 3), 0.5)


def backhauls_of(inst, seed, share=0.5):
    """Draw what pairs of a small district save: up to half of both trips."""
    rng = np.random.default_rng(seed)
    rows = [
        (s, j, n, v)
        for s in (0, 1, 4)
        for j in range(3)
        for n in range(2)
        for v in range(2)
        if rng.random() < 0.8
    ]
    source, yard, market, truck = np.array(rows).T
    bare = Backhauls(
        source, yard, market, truck, *np.zeros((4, len(rows), 3)),
        usable=rng.random((len(rows), 3)) < 0.9,
    )  # fmt: skip
    found = lanes_of_backhauls(replace(inst, backhauls=bare))
    saved = {}
    for name in ("money", "hours", "co2e", "km"):
        into, out = (
            (getattr(lanes, name) * lanes.load_t)[at]
            for lanes, at in (
                (inst.inbound, found.inbound),
                (inst.outbound, found.outbound),
            )
        )
        saved[name] = rng.uniform(0.1, share, into.shape) * np.minimum(into, out)
    return replace(bare, **saved)


def paired(seed, **changes):
    inst = small_instance(seed, **changes)
    return replace(inst, backhauls=backhauls_of(inst, seed))


def phosphate_standard(feed: Feed, least: float) -> Standard:
    """A standard that asks for a content of phosphate, share of dry compost."""
    per_tonne = feed.dry * (least * (1 - feed.dry_matter_loss) - feed.p2o5)
    return Standard("s", "S", (StandardRow("p2o5_low", "least", "P2O5", per_tonne),))


def every_rule(seed: int, **changes: object) -> Instance:
    """
    Draw a district in which every rule is switched on.

    Rules of mixes and demands that are off say nothing: what holds for all rules must
    be tried with this one. A new field of `Mix` or `Policy` has to be given here.
    """
    inst = paired(
        seed,
        mix=Mix(
            cn=(22.0, 40.0),
            moisture=(0.45, 0.62),
            density_t_m3=0.64,
            structure=0.3,
            salt=0.02,
            product=(0.008, 0.002, 0.002),
            margin=Margin(*MARGIN),
        ),
        policy=Policy(
            least_shares=(FISH_RULE,),
            max_yards=2,
            capital_limit=80000.0,
            budget_limit=1e6,
            co2e_limit=1e7,
            most_share=MostShare("husk", (0,), 0.6),
            apart=(OtherSites(frozenset({0, 1, 2}), 1),),
            whole=(ServedWhole("source", 0, (0, 1, 2), 1e4),),
            most_exposed=160.0,
            worst_farms_km=30.0,
        ),
        neighbours=neighbours(),
        farms=farms(),
        cover=np.array([[0.0] * 3, [12.0 * 0.2] * 3, [0.0] * 3]),
        least_loads=LeastLoads(np.full(3, 1e-3), 1e-3),
        compost_days=ready_twice(),
        **changes,
    )
    inst = replace(inst, standard=phosphate_standard(inst.feed, 0.0021))
    off = [
        f"{type(record).__name__}.{f.name}"
        for record in (inst.mix, inst.policy, inst)
        for f in fields(record)
        if f.name != "goal" and not _on(getattr(record, f.name), f.default)
    ]
    assert off == [], f"switch it on in every_rule: {off}"
    return inst


def neighbours() -> PeopleNear:
    """Three places; two of them are near two yards each."""
    near = np.array([[1, 1, 0], [0, 1, 1], [0, 0, 1], [0, 0, 0]], dtype=bool)
    return PeopleNear(np.array([100.0, 60.0, 40.0, 900.0]), near)


def farms() -> FarmDistances:
    """Two markets; the small one, 4 % of the demand, is far from the first yard."""
    km = np.array([[4.0, 12.0, 20.0], [30.0, 9.0, 5.0]])
    return FarmDistances(km, np.array([0.96, 0.04]))


def ready_twice() -> CompostDays:
    """Compost that is ready in two halves, on the 40th and the 90th day of a period."""
    period = np.repeat(np.arange(len(DAYS)), DAYS.astype(int))
    begin = np.cumsum(DAYS).astype(int) - DAYS.astype(int)
    ready = np.zeros((len(DAYS), len(period)))
    for u, first in enumerate(begin):
        ready[:, [first + 39, first + 89]] = ripening(DAYS, 86)[:, [u]] / 2
    sent = (np.arange(len(period)) + 1 - begin[period]) / DAYS[period]
    return CompostDays(ready, sent, period)


def _on(value: object, default: object) -> bool:
    """Whether a field holds something else than its default, in all its parts."""
    if isinstance(value, tuple):
        return value != default and None not in value
    return isinstance(value, np.ndarray | Backhauls) or value != default
