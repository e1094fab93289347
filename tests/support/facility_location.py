"""The capacitated facility location set (OR-Library) as instances of our programme."""

import gzip
from pathlib import Path

import numpy as np

from logistics.model.problem.feed import Feed
from logistics.model.problem.instance import Instance, Mix, Policy
from logistics.model.problem.parts import Lanes, Markets, Options, Supply, Trucks, Yards


def read_file(path: Path, capacity: float | None = None) -> tuple[np.ndarray, ...]:
    """Read capacities, opening costs, demands and costs of serving all of a demand."""
    text = (
        gzip.decompress(path.read_bytes())
        if path.suffix == ".gz"
        else path.read_bytes()
    )
    words = text.decode().split()
    numbers = np.array(
        [capacity if w == "capacity" else float(w) for w in words], dtype=float
    )
    sites, customers = int(numbers[0]), int(numbers[1])
    head = numbers[2 : 2 + 2 * sites].reshape(sites, 2)
    body = numbers[2 + 2 * sites :].reshape(customers, sites + 1)
    return head[:, 0], head[:, 1], body[:, 0], body[:, 1:]


def one_feed() -> Feed:
    """One feedstock that fills the pad tonne for cubic metre and vanishes."""
    one, zero = np.ones(1), np.zeros(1)
    return Feed(
        codes=("load",),
        materials=("load",),
        moisture=zero,
        carbon=one,
        nitrogen=one,
        p2o5=zero,
        k2o=zero,
        salt=zero,
        loose_t_m3=one,
        dry_matter_loss=zero,
        structure=np.zeros(1, dtype=bool),
        store_periods=np.zeros((1, 1), dtype=np.int64),
        keep=np.ones((1, 1)),
        pad_m3_per_t=one,
        product_per_t=zero,
        nitrogen_kept=np.ones((2, 1)),
    )


def instance(capacity, opening, demand, cost) -> Instance:
    """Customers as sources that must be collected; sites as yards of one size."""
    sites, customers = len(capacity), len(demand)
    i, j = np.divmod(np.arange(customers * sites), sites)
    per_tonne = (cost / demand[:, None]).reshape(-1, 1)
    lanes = Lanes(
        site=i,
        yard=j,
        truck=np.zeros_like(i),
        load_t=np.ones_like(per_tonne),
        money=per_tonne,
        hours=np.zeros_like(per_tonne),
        co2e=np.zeros_like(per_tonne),
        usable=np.ones_like(per_tonne, dtype=bool),
        km=np.ones_like(per_tonne),
    )
    none = np.zeros(0)
    return Instance(
        periods=("year",),
        feed=one_feed(),
        supply=Supply(
            codes=tuple(f"c{n}" for n in range(customers)),
            districts=("",) * customers,
            feedstock=np.zeros(customers, dtype=np.int64),
            tonnes=demand.reshape(-1, 1),
            money_per_t=np.zeros(customers),
            left_money_per_t=np.zeros(customers),
            left_co2e_per_t=np.zeros(customers),
            must_collect=np.ones(customers, dtype=bool),
            hold_t=np.zeros(customers),
        ),
        yards=Yards(
            codes=tuple(f"s{n}" for n in range(sites)),
            decision=("free",) * sites,
            water_t=np.full((sites, 1), 1e9),
            water_per_t=np.zeros(sites),
        ),
        options=Options(
            yard=np.arange(sites),
            size=("one",) * sites,
            annual=opening,
            capital=np.zeros(sites),
            pad_m3=capacity,
            store_m3=np.zeros(sites),
            compost_store_m3=np.zeros(sites),
            handling_per_t=np.zeros(sites),
        ),
        markets=Markets((), np.zeros((0, 1)), none, none),
        trucks=Trucks(
            codes=("any",),
            owned_hours=np.full((1, 1), np.inf),
            hire_hours=np.zeros((1, 1)),
            hire_per_hour=np.zeros(1),
            fixed_annual=0.0,
        ),
        inbound=lanes,
        outbound=lanes.take(np.zeros(0, dtype=np.int64)),
        mix=Mix(),
        policy=Policy(),
        occupancy=np.ones((1, 1)),
        pad_days=np.ones((1, 1)),
        pad_period=np.zeros(1, dtype=np.int64),
        ripening=np.ones((1, 1)),
        turning_water=0.0,
        product_t_m3=1.0,
        charge_co2e=np.zeros(1),
        leftover_per_t=0.0,
    )
