"""Many futures: the ranking is right, the runs agree, the risk is what it says."""

import json
import math
import os
import re
import signal
import subprocess
import sys
import time
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from support.dask_loopback import cluster
from support.fair_district import BASE, LOSSES, write_fair
from support.places import DEMO, ROOT, SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, find_changes, parse_change
from logistics.changes.ranges import read_ranges
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.studies.runs import open_store
from logistics.studies.stress_figures import (
    cost_at_risk,
    cvar,
    ranking,
    runs_table,
    swings,
    yard_shares,
)
from logistics.studies.stress_runs import (
    OPERATE,
    REPLAN,
    Setup,
    base_yards,
    one_thread,
    prepare,
    run_future,
    same_ways,
    still_owed,
    stress,
)
from logistics.studies.stress_scenarios import Future, draws, ends, losses
from maps.commands.command_line import app
from maps.studies.stress_page import stress_html

pytestmark = pytest.mark.slow

FEW = ("season", "price", "fuel")
RUNNER = CliRunner()


def stressed(scenario, path, count=3, workers=1, replan=False, **more):
    """Stress a scenario with a few of its ranges."""
    scenario = one_thread(scenario)
    ranges = [r for r in read_ranges(scenario) if r.code in FEW]
    with open_store(path) as store:
        yards = base_yards(scenario, store)
        futures = losses(scenario, [yard for yard, _ in yards])
        futures += [*ends(ranges), *draws(ranges, count, 1)]
        return stress(
            scenario, yards, futures, ranges, store,
            workers=workers, replan=replan, **more,
        )  # fmt: skip


@pytest.fixture(scope="module")
def fair(tmp_path_factory):
    """The district reckoned by hand under all losses and ends."""
    folder = tmp_path_factory.mktemp("fair")
    scenario = read_scenario(write_fair(folder / "s"))
    return stressed(scenario, folder / "s.jsonl", count=0)


@pytest.fixture(scope="module")
def small():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def found(small, tmp_path_factory):
    """The small district under all losses, ends and three draws, yards free too."""
    path = tmp_path_factory.mktemp("small") / "s.jsonl"
    return stressed(small, path, workers=1, replan=True)


def test_the_ranking_is_what_one_reckons_by_hand(fair):
    table = runs_table(fair)
    base = table[table["kind"] == "base"].iloc[0]
    assert base["cost"] == pytest.approx(BASE, abs=0.01)
    worst = ranking(table)
    assert worst["future"].tolist() == list(LOSSES)
    assert worst["against_base"].tolist() == pytest.approx(
        list(LOSSES.values()), abs=0.01
    )
    left = dict(zip(worst["future"], worst["left_mash"], strict=True))
    assert left["lose_yard_heap"] == pytest.approx(1500, abs=0.01)
    assert left["lose_source_rich"] == pytest.approx(0, abs=0.01)


def test_ends_of_a_price_are_what_one_reckons_by_hand(fair):
    """6,750 of sales: a quarter less costs 1,687.50, 15 % more brings 1,012.50."""
    price = swings(fair, runs_table(fair)).set_index("range").loc["price"]
    assert price["cost_low"] == pytest.approx(1687.5, abs=0.01)
    assert price["cost_high"] == pytest.approx(-1012.5, abs=0.01)


def some_again(found, path, **where):
    """Every third future once more, and elsewhere; their records."""
    some = found.futures[1::3]
    assert len({f.kind for f in some}) >= 4
    with open_store(path) as store:
        scenario, ranges = one_thread(found.scenario), found.ranges
        again = stress(scenario, found.yards, some, ranges, store, **where)
    assert {code for code, _ in again.records} >= {f.change.code for f in some}
    return again.records


@pytest.mark.thorough
def test_two_workers_give_the_same(found, tmp_path):
    for where, record in some_again(found, tmp_path / "s.jsonl", workers=2).items():
        cost = found.records[where]["cost"]
        assert record["cost"] == pytest.approx(cost, rel=1e-9, abs=1e-6)


@pytest.mark.thorough
def test_a_cluster_of_two_workers_gives_the_same(found, tmp_path):
    with cluster(2) as address:
        there = some_again(found, tmp_path / "s.jsonl", cluster=address)
    for where, other in there.items():
        record = found.records[where]
        assert other["cost"] == pytest.approx(record["cost"], rel=1e-9, abs=1e-6)
        assert other["uncollected"] == pytest.approx(
            record["uncollected"], rel=1e-9, abs=1e-6
        )


@pytest.mark.thorough
def test_a_future_alone_gives_what_the_stress_test_said(small, found, tmp_path):
    """Written down, found by its path and planned in the ordinary way."""
    from logistics.changes.files import write_change_file

    chosen = [f for f in found.futures if f.kind == "draw"][:2]
    chosen += [f for f in found.futures if f.kind in {"source", "high"}][:3]
    for future in chosen:
        file = tmp_path / f"{future.change.code}.toml"
        write_change_file(future.change, file)
        (wanted,) = find_changes(SMALL, [str(file)])
        alone = run(apply_changes(one_thread(small), wanted), yards=found.yards)
        record = found.records[future.change.code, OPERATE]
        assert alone.summary["total_cost"] == pytest.approx(record["cost"], rel=1e-9)


@pytest.mark.thorough
def test_freeing_the_yards_never_costs_more(found):
    for future in found.futures:
        operate, free = (
            found.records[future.change.code, a] for a in (OPERATE, REPLAN)
        )
        if operate["status"] == "optimal" and free["status"] == "optimal":
            slack = free["gap"] * abs(free["cost"]) + 1e-6
            assert free["cost"] <= operate["cost"] + slack


@pytest.mark.thorough
def test_a_lost_yard_is_closed_and_its_annuity_still_owed(small, found):
    owed = still_owed(small, found.yards)
    lost = [f for f in found.futures if f.kind == "yard"]
    assert {f.what for f in lost} == {yard for yard, _ in found.yards}
    for future in lost:
        record = found.records[future.change.code, OPERATE]
        assert future.what not in {yard for yard, _ in record["yards"]}
        built = small.yards.set_index("yard").loc[future.what, "existing_size"]
        assert owed[future.what] > 0 or built
        assert found.cost(future, OPERATE) == pytest.approx(
            record["cost"] + owed[future.what]
        )


@pytest.mark.thorough
def test_shares_count_the_plans_with_free_yards(found):
    shares = yard_shares(found)
    drawn = [f for f in found.futures if f.kind == "draw"]
    for row in shares.itertuples():
        open_ = [
            row.yard in dict(found.records[f.change.code, REPLAN]["yards"])
            for f in drawn
        ]
        assert row.draws == pytest.approx(sum(open_) / len(drawn))
    assert set(shares.loc[shares["in_base"], "yard"]) == {y for y, _ in found.yards}


def test_bridges_ferries_and_low_roads_are_lost_and_no_other():
    scenario = read_scenario(DEMO)
    lost = {f.what for f in losses(scenario, []) if f.kind == "road"}
    roads = scenario.roads.set_index("road")
    assert set(roads.index[roads["bridge"]]) <= lost
    assert "quay_pier" in lost
    for code in lost:
        row = roads.loc[code]
        assert row["bridge"] or row["class"] == "ferry" or row["closed_periods"]
    counted = [f.kind for f in losses(scenario, ["yard_d3"])]
    assert counted.count("source") == len(scenario.sources)
    assert counted.count("market") == len(scenario.markets)
    assert counted.count("yard") == 1


@pytest.mark.thorough
@settings(max_examples=4, deadline=None)
@given(st.floats(100, 5000), st.sampled_from(["husk", "fish", "manure"]))
def test_losing_an_unused_source_changes_nothing(found, price, material):
    """
    A source too dear to be used, whose feedstock costs nothing where it lies.

    It lies far off: the estimate of rounds takes near sources of a feedstock as fetched
    together, whether the plan uses them or not.
    """
    scenario = one_thread(read_scenario(SMALL))
    text = f"add_source:source=dear,material={material},lon=-30.95,lat=0.05,tonnes=300,"
    scenario = apply_changes(scenario, parse_change(text + "season=even"))
    text = f"price_source:source=dear,price_per_t={price}"
    scenario = apply_changes(scenario, parse_change(text))
    with_it = run(scenario, yards=found.yards)
    assert "dear" not in set(with_it.plan.hauls["source"])
    lost = apply_changes(scenario, parse_change("close_source:source=dear"))
    without = run(lost, yards=found.yards, ways=with_it.travel)
    assert without.summary["total_cost"] == pytest.approx(
        with_it.summary["total_cost"], rel=1e-9
    )


@pytest.mark.thorough
def test_demands_that_cannot_be_met_are_told_and_ranked_first(small, tmp_path):
    demand = apply_changes(small, parse_change("must_collect:material=fish"))
    found = stressed(demand, tmp_path / "s.jsonl", count=0)
    worst = ranking(runs_table(found))
    unmet = worst["status"] == "shortage"
    assert unmet.any()
    assert not unmet.all()
    assert unmet.tolist() == sorted(unmet, reverse=True)
    assert worst.loc[unmet, "shortages"].str.len().min() > 0


def test_a_future_that_asks_for_another_yard_is_unmet_and_no_fault(small):
    small = one_thread(small)
    yards = (("shoal", "small"),)
    future = Future("forced", "", parse_change("force_yard:yard=reef"))
    record = run_future(prepare(Setup(small, yards)), (future, OPERATE))
    assert record["status"] == "shortage"
    assert record["shortages"] == ["Reef yard must be open and is not."]
    freed = run_future(prepare(Setup(small, yards)), (future, REPLAN))
    assert freed["status"] == "optimal"
    assert "reef" in dict(freed["yards"])


def test_travel_is_shared_only_where_trucks_travel_alike():
    base = read_scenario(DEMO)
    road = base.roads["road"].iloc[0]
    for text, alike in [
        ("scale_source:percent=-20", True),
        ("scale_fuel:percent=20", True),
        (f"close_source:source={base.sources['source'].iloc[0]}", True),
        (f"close_road:road={road}", False),
        (f"set_fare:road={road},fare=9", False),
        (f"move_yard:yard={base.yards['yard'].iloc[0]},lon=-31,lat=-1", False),
        ("setting:name=travel.access_kmh,value=9", False),
    ]:
        changed = apply_changes(base, parse_change(text))
        assert same_ways(base, changed) == alike, text


weights = st.lists(st.floats(0.01, 10), min_size=1, max_size=40)


@given(st.data(), weights, st.floats(0, 0.99))
def test_cvar_against_the_linear_programme(data, weight, level):
    """
    Rockafellar and Uryasev, Journal of Risk 2(3), 2000 (from memory): least over eta
    of eta + sum p u / (1 - level), with u >= x - eta and u >= 0; here with scipy.
    """
    number = st.floats(-1e4, 1e4).map(lambda x: round(x, 3))
    size = len(weight)
    cost = np.array(data.draw(st.lists(number, min_size=size, max_size=size)))
    share = np.array(weight) / sum(weight)
    answer = linprog(
        np.append(share / (1 - level), 1.0),
        A_ub=np.column_stack([-np.eye(size), -np.ones(size)]),
        b_ub=-cost,
        bounds=[(0, None)] * size + [(None, None)],
    )
    assert cvar(cost, level, weight) == pytest.approx(answer.fun, rel=1e-6, abs=1e-4)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=50))
def test_cvar_lies_between_mean_and_worst_and_grows(values):
    levels = [cvar(values, level) for level in (0.0, 0.5, 0.9, 0.95, 0.999)]
    slack = 1e-9 * max(1.0, max(map(abs, values)))
    assert levels[0] == pytest.approx(math.fsum(values) / len(values), abs=slack)
    for less, more in pairwise(levels):
        assert more >= less - slack
    assert levels[-1] <= max(values) + slack


@pytest.mark.parametrize(
    ("values", "level", "weight"),
    [([], 0.9, None), ([1], 1.0, None), ([1], -0.1, None), ([1, 2], 0.5, [0, 0])],
)
def test_cvar_of_nonsense_is_refused(values, level, weight):
    with pytest.raises(ValueError, match=r"level|cases|weights"):
        cvar(values, level, weight)


@pytest.mark.thorough
def test_risk_is_that_of_the_draws(found):
    table = runs_table(found)
    cost = table[(table["kind"] == "draw") & (table["answer"] == OPERATE)]["cost"]
    row = cost_at_risk(found, table).set_index("measure").loc["cost"]
    assert row["mean"] == pytest.approx(cost.mean())
    assert row["cvar_95"] == pytest.approx(cost.max())
    assert row["draws"] == 3
    # of a sample: divided by one draw less than there are
    squares = sum((x - sum(cost) / 3) ** 2 for x in cost)
    assert row["deviation"] == pytest.approx(math.sqrt(squares / 2))


def test_a_base_stopped_by_hand_is_not_kept(small, tmp_path, monkeypatch):
    """Ctrl-C while the base is planned: all futures would rest on a poor base."""
    from logistics.studies import stress_runs as module

    plan = run(small).plan
    halted = SimpleNamespace(plan=replace(plan, status="stopped"))
    monkeypatch.setattr(module, "run", lambda *_, **__: halted)
    with open_store(tmp_path / "s.jsonl") as store:
        with pytest.raises(KeyboardInterrupt):
            base_yards(small, store)
        assert store.records == {}


def done_lines(path):
    whole = path.read_bytes() if path.exists() else b""
    lines = whole[: whole.rfind(b"\n") + 1].splitlines()
    return [json.loads(line)["key"] for line in lines]


@pytest.mark.thorough
def test_the_command_killed_halfway_goes_on_where_it_was(tmp_path):
    folder, out = write_fair(tmp_path / "s"), tmp_path / "o"
    command = [sys.executable, "-m", "maps", "stress", str(folder), "--out", str(out)]
    command += ["--draws", "3", "--workers", "1"]
    here = {**os.environ, "PYTHONPATH": str(ROOT)}
    first = subprocess.Popen(command, env=here, stderr=subprocess.DEVNULL)
    end = time.monotonic() + 120
    while len(done_lines(out / "stress.jsonl")) < 12 and time.monotonic() < end:
        time.sleep(0.01)
    first.send_signal(signal.SIGKILL)
    first.wait()
    before = done_lines(out / "stress.jsonl")
    assert not (out / "stress.csv").exists()
    subprocess.run(command, env=here, check=True, capture_output=True)
    after = done_lines(out / "stress.jsonl")
    assert after[: len(before)] == before
    assert len(after) == len(set(after))
    lines = (out / "stress.csv").read_text().splitlines()
    assert len(after) == len(lines)  # the base's yards, and a line for each future
    assert len(after) > len(before) >= 12


@pytest.mark.thorough
def test_the_page_stands_alone_and_says_what_was_found(found):
    page = stress_html(found)
    assert "<script" not in page
    assert not re.search(r'(src|href)="(?!#)', page)
    for heading in ("In short", "What hurts most", "Effect of each range",
                    "Results of the draws", "Which yards are right"):  # fmt: skip
        assert heading in page
    assert page.count("<svg") >= 4
    worst = ranking(runs_table(found)).iloc[0]
    assert f"+{worst['against_base']:,.0f}" in page
    assert page == stress_html(found)


def test_the_command_writes_its_files_and_does_nothing_twice(tmp_path):
    folder = write_fair(tmp_path / "s")
    arguments = ["stress", str(folder), "--draws", "2", "--workers", "1"]
    done = RUNNER.invoke(app, [*arguments, "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert "What hurts most" in done.output
    assert (tmp_path / "stress.html").exists()
    assert (tmp_path / "stress.xlsx").exists()
    futures = list((tmp_path / "stress_futures").glob("*.toml"))
    rows = (tmp_path / "stress.csv").read_text().splitlines()
    assert len(futures) == len(rows) - 2  # a heading, and the base
    size = (tmp_path / "stress.jsonl").stat().st_size
    again = RUNNER.invoke(app, [*arguments, "--out", str(tmp_path)])
    assert again.exit_code == 0
    assert (tmp_path / "stress.jsonl").stat().st_size == size, "nothing is done twice"


def test_faults_come_before_any_solving(tmp_path, small):
    folder = tmp_path / "s"
    from logistics.scenario.scenario import write_scenario

    write_scenario(replace(small), folder)
    (folder / "ranges.csv").write_text(
        "range,change,argument,low,high\nfuel,scale_fule,percent,-5,5\n"
    )
    done = RUNNER.invoke(app, ["stress", str(folder), "--out", str(tmp_path / "o")])
    assert done.exit_code == 1
    assert "Write 'scale_fuel'" in done.output


@pytest.mark.slow
@pytest.mark.parametrize("lacks", ["cost", "shortages"])
def test_a_kept_run_that_lacks_a_field_is_planned_again(lacks, tmp_path):
    scenario, path = read_scenario(write_fair(tmp_path / "s")), tmp_path / "s.jsonl"
    first = stressed(scenario, path, count=0)
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    lines[1].pop(lacks)
    path.write_text("".join(json.dumps(line) + "\n" for line in lines))
    again = stressed(scenario, path, count=0)
    assert cost_of(again) == pytest.approx(cost_of(first))
    assert len(path.read_text().splitlines()) == len(lines) + 1
    stressed(scenario, path, count=0)  # the run done again is the one that counts
    assert len(path.read_text().splitlines()) == len(lines) + 1


def cost_of(found) -> dict:
    return {where: record["cost"] for where, record in found.records.items()}
