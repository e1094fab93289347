"""Paired trips: never dearer, never more than the trips there are, right by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import DEMO, SMALL
from support.small_instances import paired, small_instance

from logistics.accounts.chart import parts
from logistics.accounts.emissions import emission_account
from logistics.changes.files import parse_change
from logistics.land.screening import screen
from logistics.model.assembly.assembler import assemble
from logistics.model.assembly.calibration import as_reckoned
from logistics.model.problem.instance import Mix
from logistics.model.problem.parts import Backhauls
from logistics.model.rules.backhaul_lanes import lanes_of_backhauls
from logistics.model.rules.blocks import build
from logistics.model.solving.branch_and_price import search
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.column_generation import ColumnGeneration, generate_columns
from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.lagrangian import lagrangian_bound
from logistics.model.solving.master import master_of
from logistics.model.solving.matrix import matrix_of, relax
from logistics.model.solving.pool import lane_columns, with_pool
from logistics.model.solving.temporal_aggregation import aggregate_periods
from logistics.model.solving.warm_columns import Incumbent
from logistics.results.pipeline import run
from logistics.results.plan_amounts import AuditError, amounts
from logistics.results.plan_audit import audit, emissions, require
from logistics.roads.load import shifted_by_paired_trips
from logistics.roads.travel_matrices import travel
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.robust_yards import BASE, Chance, robust
from maps.geo.geopackage import layers
from maps.report.report import report_html
from maps.report.sections.months import _without_savings
from maps.tables.all_tables import tables
from maps.tables.backhaul import paired_on, saved_by_period

EXACT = Effort(gap=0.0, seconds=60, threads=1)
SEEDS = [1, 4, 9]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("goal", ["cost", "co2e"])
def test_pairing_never_costs_more_and_both_ways_agree(seed, goal):
    inst = replace(paired(seed), goal=goal)
    alone = solve(replace(inst, backhauls=None), EXACT)
    whole = solve(inst, EXACT)
    assert whole.objective <= alone.objective + 1e-6 * abs(alone.objective)
    require(audit(inst, whole))
    if goal == "cost":
        assert whole.paired["trips"].sum() > 0
    incumbent = Incumbent(np.zeros(len(inst.options.yard), dtype=bool))
    answer = search(inst, master_of(inst), Session(EXACT), incumbent)
    near = 2e-4 * abs(whole.objective)
    assert answer.incumbent == pytest.approx(whole.objective, abs=near)
    assert answer.bound <= whole.objective + 1e-6 * abs(whole.objective)
    assert answer.bound == pytest.approx(whole.objective, abs=near)


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_hours_saved_at_a_yard_are_those_of_its_own_trucks(seed):
    """With homes: both ways of solving agree, and the audit counts hours by yard."""
    inst = paired(seed)
    own, hours = np.array([2, 1]), np.array([18.0, 12.0])
    trucks = replace(
        inst.trucks,
        own=own,
        owned_hours=(own * hours)[:, None] * np.ones(len(inst.periods)),
        hire_hours=np.full(inst.trucks.hire_hours.shape, np.inf),
        hire_per_hour=np.array([12.0, 25.0]),
    )
    inst = replace(inst, trucks=trucks)
    whole = solve(inst, EXACT)
    require(audit(inst, whole))
    incumbent = Incumbent(np.zeros(len(inst.options.yard), dtype=bool))
    answer = search(inst, master_of(inst), Session(EXACT), incumbent)
    near = 5e-4 * abs(whole.objective)
    assert answer.incumbent == pytest.approx(whole.objective, abs=near)
    assert answer.bound <= whole.objective + 1e-6 * abs(whole.objective)


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_pairs_that_save_nothing_change_nothing(seed):
    inst = paired(seed)
    nothing = {
        k: np.zeros_like(inst.backhauls.money) for k in ("money", "hours", "co2e")
    }
    idle = replace(inst, backhauls=replace(inst.backhauls, **nothing))
    alone = solve(replace(inst, backhauls=None), EXACT)
    assert solve(idle, EXACT).objective == pytest.approx(alone.objective, rel=1e-6)
    none = replace(inst, backhauls=inst.backhauls.take(np.zeros(0, dtype=np.int64)))
    found = solve(none, EXACT)
    assert found.objective == pytest.approx(alone.objective, rel=1e-6)
    assert found.paired.empty


@pytest.mark.parametrize("seed", SEEDS)
def test_any_duals_give_a_valid_bound_and_fitted_ones_a_better(seed):
    inst = paired(seed)
    master, session = master_of(inst), Session(EXACT)
    best = relax(matrix_of(build(inst)[0]), session).value
    branch = master.root_branch()
    solution = generate_columns(
        master,
        branch,
        initial_columns(master, None, inst),
        session,
        ColumnGeneration(1e-6),
    )
    assert solution.proven.bound == pytest.approx(best, rel=1e-3)
    rng = np.random.default_rng(seed)
    for size in (0.1, 1.0, 10.0):
        inexact = solution.duals + rng.normal(0, size, len(solution.duals))
        fitted = master.backhaul_rows.fitted(master.frame, inexact)
        plain, better = (
            lagrangian_bound(master, y, branch).bound for y in (inexact, fitted)
        )
        assert plain <= better + 1e-6 * abs(better)
        assert better <= best + 1e-6 * abs(best)
        left = master.frame.reduced_cost(fitted)[master.backhaul_rows.columns]
        assert left.min() >= -1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_limit_of_a_pair_is_never_reached(seed):
    inst = paired(seed)
    plan = solve(inst, EXACT)
    found = lanes_of_backhauls(inst)
    offered = dict(zip(found.names, found.most, strict=True))
    for s, j, n, v, t, trips in plan.paired.itertuples(index=False):
        most = offered[f"{s}.{j}.{n}.{v}"][inst.periods.index(t)]
        assert trips < 1.0 + 2.0 * most - 1e-6


def test_the_aggregated_year_keeps_its_backhauls():
    aggregated = aggregate_periods(paired(4))
    assert aggregated.backhauls.money.shape == (len(aggregated.backhauls), 1)
    assert solve(aggregated, EXACT).paired["trips"].sum() > 0


def test_given_yards_pair_as_the_free_plan_does():
    inst = paired(9)
    free = solve(inst, EXACT)
    given = operate(inst, inst.options_of(free.yard_sizes), EXACT)
    assert given.objective == pytest.approx(free.objective, rel=1e-6)
    assert given.paired["trips"].sum() == pytest.approx(
        free.paired["trips"].sum(), rel=1e-4
    )


def by_hand():
    """One source of husk, one yard, one market, no store: every trip is known."""
    inst = small_instance(2)
    load, periods = 4.0, 3
    every = np.ones((1, periods), dtype=bool)
    one = replace(
        inst.inbound.take(np.array([0])),
        load_t=np.full((1, periods), load),
        usable=every,
    )
    tonnes = np.zeros_like(inst.supply.tonnes)
    tonnes[0] = [200.0, 120.0, 40.0]
    options = replace(
        inst.options,
        pad_m3=np.full(6, 1e6),
        store_m3=np.zeros(6),
        compost_store_m3=np.zeros(6),
    )
    must = np.zeros(5, dtype=bool)
    must[0] = True
    backhauls = Backhauls(
        *(np.array([0]) for _ in range(4)),
        money=np.array([[2.0, 3.0, 5.0]]),
        hours=np.array([[0.5, 0.5, 0.5]]),
        co2e=np.array([[1.0, 1.0, 1.0]]),
        km=np.array([[4.0, 4.0, 4.0]]),
        usable=every,
    )
    return replace(
        inst,
        supply=replace(
            inst.supply, tonnes=tonnes, must_collect=must, hold_t=np.zeros(5)
        ),
        options=options,
        yards=replace(inst.yards, water_t=np.full((3, periods), 1e6)),
        markets=replace(
            inst.markets,
            demand=np.array([[1e4] * 3, [0.0] * 3]),
        ),
        trucks=replace(
            inst.trucks,
            owned_hours=np.zeros((2, 3)),
            hire_hours=np.full((2, 3), np.inf),
        ),
        inbound=one,
        outbound=one,
        mix=Mix(),
        backhauls=backhauls,
    )


def test_a_district_reckoned_by_hand():
    inst = by_hand()
    into = inst.supply.tonnes[0] / 4.0
    made = inst.supply.tonnes[0] * inst.feed.product_per_t[0] @ inst.ripening
    trips = np.minimum(into, made / 4.0)
    assert (into < made / 4.0).any()
    assert (into > made / 4.0).any()
    hire = inst.trucks.hire_per_hour[0]
    saved = float(trips @ (inst.backhauls.money[0] + 0.5 * hire))
    plan = solve(inst, EXACT)
    assert plan.paired["trips"].to_numpy() == pytest.approx(trips)
    alone = solve(replace(inst, backhauls=None), EXACT)
    assert alone.objective - plan.objective == pytest.approx(saved, rel=1e-6)
    require(audit(inst, plan))


def test_audit_refuses_more_pairs_than_trips_and_pairs_not_offered():
    inst = by_hand()
    plan = solve(inst, EXACT)
    more = plan.paired.assign(trips=plan.paired["trips"] * 1.01)
    checks = audit(inst, replace(plan, paired=more)).set_index("check")["passed"]
    assert not (
        checks["paired trips within trips in"]
        and checks["paired trips within trips out"]
    )
    strange = plan.paired.assign(market="n1")
    with pytest.raises(AuditError, match="truck hours"):
        require(audit(inst, replace(plan, paired=strange)))


@pytest.fixture(scope="module")
def small():
    scenario = read_scenario(SMALL)
    settings = change_setting(scenario.settings, "fleet.pairing", "washed")
    settings = change_setting(settings, "solve.gap_pct", 0.001)
    return run(replace(scenario, settings=settings))


def test_ledger_reckons_the_saving_from_the_ways(small):
    """Empty km by hand from the matrices; the audit has held ledger and instance."""
    table, lanes = small.paired_trips, small.lanes
    assert len(table)
    row = table.iloc[table["trips"].to_numpy().argmax()]
    state = small.travel.pick(row["truck"], row["period"])
    at = {site: n for n, site in enumerate(small.travel.sites)}
    i, j, n = (at[f"{k}:{row[k]}"] for k in ("source", "yard", "market"))
    km = state.km[j, i] + state.km[n, j] - state.km[n, i]
    assert row["km"] == pytest.approx(row["trips"] * km)
    assert row["km"] > 0
    assert (table["money"] > 0).all()
    booked = small.ledger[small.ledger["account"] == "pairing"]["amount"].sum()
    assert booked == pytest.approx(-table["money"].sum())
    driven = small.driven
    for name, saved in (("hours", "hours"), ("fuel_l", "fuel_l"), ("vehicle_km", "km")):
        assert driven[name].sum() == pytest.approx(
            lanes[name].sum() - table[saved].sum()
        )
    assert (paired_on(small) <= lanes["trips"] + 1e-6).all()
    assert paired_on(small).sum() == pytest.approx(2 * table["trips"].sum())
    periods = saved_by_period(small)
    assert periods["km"].sum() == pytest.approx(small.summary["paired_km_saved"])
    assert periods["empty_km"].sum() == pytest.approx(small.summary["empty_km"])


def test_gases_count_the_saved_litres(small):
    """The account of gases is the goal as the audit counts it, with pairs."""
    account = emission_account(small)
    lines = account[account["case"] == "plan"]
    inst, plan = small.instance, small.plan
    counted = emissions(inst, amounts(inst, plan))
    assert lines["co2e"].sum() == pytest.approx(counted, rel=1e-9)
    alone = emissions(inst, amounts(inst, replace(plan, paired=plan.paired.iloc[:0])))
    litres = small.paired_trips["fuel_l"].sum()
    per = small.scenario.factors.set_index("factor")["value"]["diesel_co2_kg_per_l"]
    assert alone - counted == pytest.approx(litres * per)
    assert litres > 0


def test_washed_fish_pays_a_wash_out_more(small):
    """A pair with fish saves less time than the ways do, by the wash of its truck."""
    spoils = small.scenario.sources["material"].str.contains("fish")
    fish = set(small.scenario.sources["source"][spoils])
    trucks = small.scenario.trucks.set_index("truck")["wash_minutes"]
    backhauls, inst = small.instance.backhauls, small.instance
    found = 0
    for p in range(len(backhauls)):
        code, truck = (
            inst.supply.codes[backhauls.source[p]],
            inst.trucks.codes[backhauls.truck[p]],
        )
        t = int(backhauls.usable[p].argmax())
        state = small.travel.pick(truck, inst.periods[t])
        at = {site: n for n, site in enumerate(small.travel.sites)}
        i, j = at[f"source:{code}"], at[f"yard:{inst.yards.codes[backhauls.yard[p]]}"]
        n = at[f"market:{inst.markets.codes[backhauls.market[p]]}"]
        ways = state.hours[j, i] + state.hours[n, j] - state.hours[n, i]
        wash = trucks[truck] / 60 if code in fish else 0.0
        assert backhauls.hours[p, t] == pytest.approx(ways - wash)
        found += code in fish
    assert found


def test_off_by_default_and_yes_keeps_fish_apart(small):
    scenario = read_scenario(SMALL)
    ways, screening = travel(scenario), screen(scenario)
    assert assemble(scenario, ways, screening).instance.backhauls is None
    settings = change_setting(scenario.settings, "fleet.pairing", "yes")
    dry = replace(scenario, settings=settings)
    backhauls = assemble(dry, ways, screening).instance.backhauls
    spoils = scenario.sources["material"].str.contains("fish").to_numpy()
    assert len(backhauls)
    assert not spoils[backhauls.source].any()
    measured = assemble(dry, ways, screening, as_reckoned(dry)).instance
    assert measured.backhauls is None


def test_empty_trips_on_roads_move_with_the_pairs():
    """A road that goes straight from market to source gets what the others lose."""
    scenario = read_scenario(DEMO)
    ways = travel(scenario)
    place = scenario.sources["source"].iloc[0], scenario.yards["yard"].iloc[0]
    backhauls = pd.DataFrame(
        [(*place, scenario.markets["market"].iloc[0], "light", "m01", 3.0)],
        columns=["source", "yard", "market", "truck", "period", "trips"],
    )
    found = shifted_by_paired_trips(ways, backhauls)
    state = ways.pick("light", "m01")
    roads = found.groupby("road")["empty_trips"].sum()
    assert len(roads)
    assert set(roads.abs().round(6)) <= {0.0, 3.0, 6.0}
    assert np.isfinite(state.km).any()
    assert not found["trips"].any()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("share", [0.0, 0.3, 0.8])
def test_a_pool_for_lanes_left_out_stays_a_relaxation(seed, share):
    inst, session = paired(seed), Session(EXACT)
    programme, variables = build(inst)
    full = matrix_of(programme)
    flows = lane_columns(programme, variables, inst)
    best = relax(full, session)
    rng = np.random.default_rng(seed)
    kept = rng.random(flows.lanes) < share
    for noise in (0.0, 1.0):
        duals = best.duals * (1 + noise * rng.standard_normal(len(best.duals)))
        smaller, _ = with_pool(full, flows, kept, np.where(flows.links, 0.0, duals))
        value = relax(smaller, session).value
        assert value <= best.value + 1e-5 * abs(best.value)
    duals = np.where(flows.links, 0.0, best.duals)
    kept = flows.least(full.reduced_cost(duals)) <= 1e-6
    smaller, _ = with_pool(full, flows, kept, duals)
    assert relax(smaller, session).value == pytest.approx(best.value, rel=1e-4)


def test_an_unpaired_plan_is_a_good_start():
    inst = paired(4)
    before = solve(replace(inst, backhauls=None), EXACT)
    fresh = solve(inst, EXACT)
    start = inst.options_of(before.yard_sizes)
    again = solve(inst, EXACT, start=start, warm_start=before.warm_start)
    assert again.objective == pytest.approx(fresh.objective, rel=1e-6)


@pytest.mark.slow
def test_yards_for_many_futures_pair_as_well(small):
    """Alone it is the plan; with a second future the bound stays below the value."""
    alone = robust(small.scenario, [Chance(BASE)])
    assert alone.decision.value == pytest.approx(small.plan.objective, rel=1e-4)
    more = [Chance(BASE), Chance(parse_change("scale_price:percent=-40"))]
    decision = robust(small.scenario, more).decision
    assert decision.bound <= decision.value * (1 + 1e-6)
    assert decision.bound == pytest.approx(decision.value, rel=1e-2)


@pytest.mark.slow
def test_outputs_say_what_pairing_saves(small):
    """Report, tables, geodata and budget speak of the pairs; no bar is below 0."""
    page = report_html(small)
    assert "Paired trips: feedstock in, compost out" in page
    assert 'height="-' not in page
    sheets = tables(small)
    assert len(sheets["paired"]) == len(small.paired_trips)
    assert sheets["paired_by_period"]["paired trips [1]"].sum() == pytest.approx(
        small.paired_trips["trips"].sum()
    )
    assert layers(small)["lanes"]["paired"].sum() == pytest.approx(
        2 * small.paired_trips["trips"].sum()
    )
    amounts = small.ledger["amount"]
    assert parts(small)["amount"].sum() == pytest.approx(amounts.sum())
    cost = pd.DataFrame(
        {"haulage in": [4.0, 0.0], "haulage out": [6.0, 3.0], "pairing": [-5.0, -1.0]}
    )
    drawn = _without_savings(cost)
    assert drawn["haulage in"].tolist() == [2.0, 0.0]
    assert drawn["haulage out"].tolist() == [3.0, 2.0]
    assert list(drawn) == ["haulage in", "haulage out"]
