"""What a pair of trips saves, on roads that are not the same both ways."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.model.assembly.assembler import assemble
from logistics.results.haulage import paired_trip_table
from logistics.roads.travel_matrices import TravelState, travel
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting


@pytest.fixture(scope="module")
def scenario():
    made = read_scenario(SMALL)
    return replace(
        made, settings=change_setting(made.settings, "fleet.pairing", "washed")
    )


@pytest.fixture(scope="module")
def ways(scenario):
    """Every way of its own length, there and back; twice as slow back."""
    made = travel(scenario)
    rng = np.random.default_rng(1)
    km = rng.uniform(10, 30, made.states[0].km.shape)
    np.fill_diagonal(km, 0.0)
    state = TravelState(km=km, hours=km / 30, fare=km / 100)
    return replace(
        made, states=(state,), state_of=dict.fromkeys(made.state_of, 0), driven=None
    )


@pytest.fixture(scope="module")
def inst(scenario, ways):
    return assemble(scenario, ways).instance


def saved(ways, source, yard, market) -> float:
    """Empty ways yard to source and market to yard, less market to source. [km]"""
    at = {site: n for n, site in enumerate(ways.sites)}
    i, j, n = at[f"source:{source}"], at[f"yard:{yard}"], at[f"market:{market}"]
    km = ways.states[0].km
    return float(km[j, i] + km[n, j] - km[n, i])


def names(inst, n):
    p = inst.backhauls
    return (
        inst.supply.codes[p.source[n]],
        inst.yards.codes[p.yard[n]],
        inst.markets.codes[p.market[n]],
        inst.trucks.codes[p.truck[n]],
    )


def test_pairs_save_the_empty_ways_in_their_direction(scenario, ways, inst):
    assert len(inst.backhauls) > 5
    trucks = scenario.trucks.set_index("truck")
    keeps = scenario.materials.set_index("material")["keep_hours"]
    material = scenario.sources.set_index("source")["material"]
    price = scenario.settings.finance.fuel_price_per_l
    for n in range(len(inst.backhauls)):
        source, yard, market, code = names(inst, n)
        km, truck = saved(ways, source, yard, market), trucks.loc[code]
        wash = 0.0 if np.isnan(keeps[material[source]]) else truck["wash_minutes"] / 60
        hours = km / 30 - wash
        for t in np.flatnonzero(inst.backhauls.usable[n]):
            assert inst.backhauls.km[n, t] == pytest.approx(km)
            assert inst.backhauls.hours[n, t] == pytest.approx(hours)
            litres = km * truck["fuel_l_per_km_empty"]
            money = litres * price + km * truck["repair_cost_per_km"]
            money += hours * truck["crew_cost_per_hour"] + km / 100
            assert inst.backhauls.money[n, t] == pytest.approx(money)


def test_the_ledger_counts_the_same_ways(scenario, ways, inst):
    rows = [
        (*names(inst, n), inst.periods[t], 3.0)
        for n, t in zip(*np.nonzero(inst.backhauls.usable), strict=True)
    ]
    columns = ["source", "yard", "market", "truck", "period", "trips"]
    plan = SimpleNamespace(paired=pd.DataFrame(rows, columns=columns))
    table = paired_trip_table(scenario, plan, ways)
    for name in ("km", "hours", "money"):
        own = getattr(inst.backhauls, name)[np.nonzero(inst.backhauls.usable)]
        assert table[name].to_numpy() == pytest.approx(3.0 * own)
    trucks = scenario.trucks.set_index("truck")
    price = scenario.settings.finance.fuel_price_per_l
    for row in table.to_dict("records"):
        truck = trucks.loc[row["truck"]]
        assert row["fuel_l"] == pytest.approx(row["km"] * truck["fuel_l_per_km_empty"])
        assert row["fuel"] == pytest.approx(row["fuel_l"] * price)
        assert row["repair"] == pytest.approx(row["km"] * truck["repair_cost_per_km"])
        assert row["crew"] == pytest.approx(row["hours"] * truck["crew_cost_per_hour"])
        assert row["fare"] == pytest.approx(row["km"] / 100)
