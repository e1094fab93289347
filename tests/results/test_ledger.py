"""Every line of the ledger and of the trips, from a plan written by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.composting.materials import feedstocks
from logistics.composting.mixing import (
    describe_mix,
    free_air_space,
    product_carbon_nitrogen,
)
from logistics.costs.money import annuity_factor
from logistics.costs.trips import Trips
from logistics.model.problem.plan import Plan
from logistics.results.haulage import lane_table
from logistics.results.pipeline import run
from logistics.results.plan_ledger import budget, ledger, net_cost
from logistics.scenario.scenario import Scenario, read_scenario


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """Three piers, with a fee at the fish pier and a cost of compost left over."""
    base = read_scenario(SMALL)
    fee = base.sources["source"].map({"pier": 7.0}).fillna(0.0)
    price = base.sources["source"].map({"pier": 3.0}).fillna(2.0)
    sources = base.sources.assign(tipping_fee_per_t=fee, price_per_t=price)
    finance = base.settings.finance.model_copy(update={"leftover_cost_per_t": 1.5})
    return replace(
        base,
        settings=base.settings.model_copy(update={"finance": finance}),
        tables={**base.tables, "sources": sources},
    )


def rows(columns: str, *values: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(list(values), columns=columns.split())


@pytest.fixture(scope="module")
def plan() -> Plan:
    """Fish and husk to a grown yard, compost out of it, a little of everything."""
    none = pd.DataFrame()
    return Plan(
        status="optimal",
        objective=0.0,
        bound=0.0,
        gap=0.0,
        seconds=0.0,
        yards=rows("yard size", ("shoal", "large"), ("mole", "small")),
        hauls=rows(
            "source yard truck period tonnes",
            ("pier", "shoal", "light", "m01", 12.0),
            ("pier", "mole", "light", "m01", 8.0),
            ("mill_north", "shoal", "heavy", "m02", 9.1),
        ),
        deliveries=rows(
            "yard market truck period tonnes", ("shoal", "garden", "light", "m03", 6.0)
        ),
        uncollected=rows("source period tonnes", ("pier", "m02", 5.0)),
        held=none,
        stock=none,
        charges=rows(
            "yard feedstock period tonnes",
            ("shoal", "fish", "m01", 12.0),
            ("shoal", "husk", "m01", 10.0),
            ("mole", "fish", "m02", 8.0),
        ),
        water=rows("yard period tonnes", ("shoal", "m01", 30.0)),
        compost=rows(
            "yard period made_t stock_t leftover_t", ("shoal", "m03", 10.0, 0.0, 4.0)
        ),
        hired=rows("truck period hours", ("heavy", "m02", 20.0)),
        shortages=none,
        worth=none,
    )


def trips(scenario: Scenario, start: str, end: str) -> Trips:
    """Every lane by every truck: each number tells origin, destination and truck."""
    count = [len(scenario.table(f"{kind}s")) for kind in (start, end, "truck")]
    i, j, v = (grid.ravel() for grid in np.indices(count))
    mark = (1 + i + 10 * j + 100 * v)[:, None] + 0.01 * np.arange(12)
    return Trips(
        origin=i,
        destination=j,
        truck=v,
        load_t=np.full(mark.shape, 2.0),
        km=mark,
        km_back=mark + 3,
        local_km=mark / 10,
        stops=np.ones(mark.shape),
        hours=mark / 4,
        fuel_l=mark / 5,
        fuel=mark / 6,
        repair=mark / 7,
        crew=mark / 8,
        fare=mark / 9,
        usable=np.ones(mark.shape, dtype=bool),
    )


@pytest.fixture(scope="module")
def lanes(scenario, plan) -> pd.DataFrame:
    inward = trips(scenario, "source", "yard")
    return lane_table(scenario, plan, inward, trips(scenario, "yard", "market"))


def test_each_flow_finds_its_own_trip(lanes):
    """Sources mill_north, mill_south, pier, herd; yards reef, mole, shoal."""
    marks = [
        1 + 2 + 10 * 2,  # pier, shoal, light, January
        1 + 2 + 10 * 1,  # pier, mole
        1 + 0 + 10 * 2 + 100 + 0.01,  # mill_north, shoal, heavy, February
        1 + 2 + 10 * 1 + 0.02,  # shoal, garden, light, March
    ]
    count = np.array([6.0, 4.0, 4.55, 3.0])
    km = np.array(marks)
    assert lanes["kind"].tolist() == ["in", "in", "in", "out"]
    assert lanes["material"].tolist() == ["fish", "fish", "husk", "compost"]
    assert lanes["km"].to_numpy() == pytest.approx(km)
    assert lanes["trips"].to_numpy() == pytest.approx(count)
    assert lanes["vehicle_km"].to_numpy() == pytest.approx((2.1 * km + 3) * count)
    assert lanes["hours"].to_numpy() == pytest.approx(km / 4 * count)
    each = 1 / 6 + 1 / 7 + 1 / 8 + 1 / 9
    assert lanes["money"].to_numpy() == pytest.approx(each * km * count)


@pytest.fixture(scope="module")
def table(scenario, plan, lanes) -> pd.DataFrame:
    return ledger(scenario, plan, lanes)


CAPITAL = {n: float(annuity_factor(0.10, n)) for n in (20, 9)}
LINES = [
    # grown from small: the difference of the works; all machines wear out; rent and
    # running as large
    ("works annuity", "shoal", "year", 1, 60_000 * CAPITAL[20]),
    ("machine annuity", "shoal", "year", 1, 80_000 * CAPITAL[9]),
    ("land rent", "shoal", "year", 10_000, 0.4 * 10_000),
    ("fixed running cost", "shoal", "year", 1, 16_000),
    ("works annuity", "mole", "year", 1, 1.1 * 60_000 * CAPITAL[20]),
    ("machine annuity", "mole", "year", 1, 40_000 * CAPITAL[9]),
    ("land rent", "mole", "year", 4000, 0.6 * 4000),
    ("fixed running cost", "mole", "year", 1, 9000),
    ("handling", "shoal", "m01", 22, 22 * 4),
    ("turning water", "shoal", "m01", 22 * 0.2, 22 * 0.2 * 0.2),
    ("handling", "mole", "m02", 8, 8 * 5),
    ("turning water", "mole", "m02", 8 * 0.2, 8 * 0.2 * 0.4),
    ("mixing water", "shoal", "m01", 30, 30 * 0.2),
    ("owned trucks", "light", "year", 2, 2 * 4000),
    ("owned trucks", "heavy", "year", 2, 2 * 8000),
    ("hired trucks", "heavy", "m02", 20, 20 * 11),
    ("purchase", "pier", "m01", 20, 20 * 3),
    ("tipping fee", "pier", "m01", 20, -20 * 7),
    ("fee paid", "pier", "m01", 20, 20 * 7),
    ("purchase", "mill_north", "m02", 9.1, 9.1 * 2),
    ("present disposal", "pier", "m02", 5, 5 * 30),
    ("sale", "garden", "m03", 6, -6 * 32),
    ("left over", "shoal", "m03", 4, 4 * 1.5),
]


@pytest.mark.parametrize("line", LINES, ids=lambda line: "-".join(map(str, line[:3])))
def test_a_line_by_hand(table, line):
    name, place, period, quantity, amount = line
    found = table[
        (table["line"] == name)
        & (table["place"] == place)
        & (table["period"] == period)
    ]
    assert len(found) == 1
    row = found.iloc[0]
    assert row["quantity"] == pytest.approx(quantity)
    assert row["amount"] == pytest.approx(amount)
    assert row["rate"] == pytest.approx(amount / quantity)


def test_haulage_is_booked_at_the_yard_in_and_out_apart(table, lanes):
    """Fuel by litre, repair by kilometre, crew by hour, fares by trip."""
    units = {"fuel": "fuel_l", "repair": "vehicle_km", "crew": "hours", "fare": "trips"}
    hauled = table[table["account"].str.startswith("haulage")]
    places = hauled[["account", "place", "period"]].drop_duplicates()
    assert sorted(places.itertuples(index=False, name=None)) == [
        ("haulage in", "mole", "m01"),
        ("haulage in", "shoal", "m01"),
        ("haulage in", "shoal", "m02"),
        ("haulage out", "shoal", "m03"),
    ]
    for row in hauled.to_dict("records"):
        kind = row["account"].removeprefix("haulage ")
        yard = lanes["destination"] if kind == "in" else lanes["origin"]
        mine = lanes[
            (lanes["kind"] == kind)
            & (yard == row["place"])
            & (lanes["period"] == row["period"])
        ]
        assert row["quantity"] == pytest.approx(mine[units[row["line"]]].sum())
        assert row["amount"] == pytest.approx(mine[row["line"]].sum())


def test_there_is_no_other_line(table, lanes):
    total = sum(amount for *_, amount in LINES) + lanes["money"].sum()
    assert len(table) == len(LINES) + 4 * 4
    assert net_cost(table) == pytest.approx(total)
    assert budget(table)["amount"].sum() == pytest.approx(total)


def test_compost_and_air_of_a_mix_by_hand(scenario):
    """Losses weigh by dry mass, and the heap is what is left after packing."""
    table = feedstocks(scenario).set_index("feedstock").loc[["husk", "fish"]]
    values = describe_mix([10.0, 4.0], 6.0, table, scenario.settings)
    dry = np.array([10 * 0.88, 4 * 0.24])
    carbon = dry @ [0.37, 0.382] / dry.sum()
    nitrogen = dry @ [0.0035, 0.106] / dry.sum()
    loss = dry @ [0.22, 0.35] / dry.sum()
    lost = 0.45 - 0.0225 * (carbon / nitrogen - 20)
    assert 0 < lost < 1
    cn = product_carbon_nitrogen(carbon, nitrogen, loss, lost)
    assert values.product_cn == pytest.approx(cn)
    heap = (10 / 0.110 + 4 / 0.950) * scenario.settings.windrow.packing
    moisture = 1 - dry.sum() / 20
    air = free_air_space(20 / heap, moisture, dry @ [0.20, 0.21] / dry.sum())
    assert values.windrow_m3 == pytest.approx(heap)
    assert values.free_air == pytest.approx(air)


def test_each_laboratory_value_goes_to_its_property(scenario):
    lab = {"lab_moisture": 0.71, "lab_carbon": 0.33, "lab_nitrogen": 0.09}
    lab["lab_available_carbon"] = 0.8
    pier = scenario.sources["source"] == "pier"
    sources = scenario.sources.copy()
    for column, value in lab.items():
        sources.loc[pier, column] = value
    tables = {**scenario.tables, "sources": sources}
    table = feedstocks(replace(scenario, tables=tables)).set_index("feedstock")
    fish = table.loc["fish__pier"]
    assert fish[["moisture", "carbon", "nitrogen"]].tolist() == [0.71, 0.33, 0.09]
    assert fish["available_carbon"] == 0.8
    assert fish[["ash", "p2o5", "k2o"]].tolist() == [0.21, 0.05, 0.01]


@pytest.mark.slow
@pytest.mark.parametrize("fee", [0.0, 20.0, 70.0])
def test_a_fee_changes_hands_and_saves_nobody_anything(fee):
    """A tonne that costs 40 to dump today and 20 to us saves the district 40."""
    base = read_scenario(SMALL)
    sources = base.sources.assign(tipping_fee_per_t=0.0, disposal_cost_per_t=40.0)
    free = run(replace(base, tables={**base.tables, "sources": sources}))
    sources = sources.assign(tipping_fee_per_t=fee)
    paid = run(replace(base, tables={**base.tables, "sources": sources}))
    tonnes = paid.plan.hauls["tonnes"].sum()
    assert tonnes > 100
    assert paid.plan.objective == pytest.approx(free.plan.objective, rel=1e-6)
    assert net_cost(paid.ledger) == pytest.approx(paid.plan.objective, rel=1e-6)
    assert paid.plan.yard_sizes == free.plan.yard_sizes
    moved = fee * tonnes
    before, after = free.summary, paid.summary
    assert after["programme_cost"] - before["programme_cost"] == pytest.approx(-moved)
    assert after["sources_pay"] - before["sources_pay"] == pytest.approx(moved)
