"""Groups of districts on their own: what they may use, and who pays in the end."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from openpyxl import load_workbook
from support.places import SMALL
from typer.testing import CliRunner

from logistics.accounts.cost_shares import dearer_together
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.studies.coalitions import NOWHERE, by_work, restricted, share_cost
from maps.commands.command_line import app
from maps.studies.shares_page import share_tables

pytestmark = pytest.mark.slow

EXACT = Effort(gap=1e-6, seconds=60, threads=1, seed=1)


@pytest.fixture(scope="module")
def result():
    """Three piers in two districts, solved to the end."""
    scenario = read_scenario(SMALL)
    solve_ = scenario.settings.solve.model_copy(update={"gap": 1e-6})
    settings = scenario.settings.model_copy(update={"solve": solve_})
    return run(replace(scenario, settings=settings))


@pytest.fixture(scope="module")
def sharing(result):
    return share_cost(result, EXACT, "all")


def test_shares_and_standing_cost_add_up_to_the_ledger(result, sharing):
    table = sharing.table
    ledger = result.ledger["amount"].sum()
    standing = result.ledger.query("line == 'owned trucks'")["amount"].sum()
    assert sharing.standing == pytest.approx(standing)
    for rule in ("by_tonnes", "by_tonne_km", "shapley"):
        assert table[rule].sum() + table["standing"].sum() == pytest.approx(ledger)


def test_two_districts_by_hand(sharing):
    """With two the saving is halved."""
    alone = dict(zip(sharing.table["district"], sharing.table["alone"], strict=True))
    saving = sum(alone.values()) - sharing.total
    paid = dict(zip(sharing.table["district"], sharing.table["shapley"], strict=True))
    assert paid == pytest.approx({k: v - saving / 2 for k, v in alone.items()})


@pytest.fixture(scope="module")
def of_three(result):
    """The same plan with the pier as a district of its own: seven groups solved."""
    scenario = result.scenario
    pier = scenario.sources["source"] == "pier"
    sources = scenario.sources.assign(
        district=scenario.sources["district"].mask(pier, "quay")
    )
    tables = scenario.tables | {"sources": sources}
    districts = tuple(sources["district"])
    supply = replace(result.instance.supply, districts=districts)
    apart = replace(
        result,
        scenario=replace(scenario, tables=tables),
        instance=replace(result.instance, supply=supply),
    )
    return share_cost(apart, EXACT, "all")


def test_three_districts_pay_the_mean_over_all_orders(of_three):
    """Every order of joining, one after another, over the costs that were solved."""
    orders = list(permutations(of_three.parties))
    assert len(orders) == 6
    brute = dict.fromkeys(of_three.parties, 0.0)
    for order in orders:
        so_far, before = 0.0, frozenset()
        for party in order:
            before |= {party}
            cost = of_three.coalitions[before].cost
            brute[party] += (cost - so_far) / len(orders)
            so_far = cost
    table = of_three.table.set_index("district")
    assert len({round(x, 2) for x in brute.values()}) == 3
    assert table["shapley"].to_dict() == pytest.approx(brute)
    assert table["shapley"].sum() == pytest.approx(of_three.total)


@pytest.mark.slow
def test_a_group_alone_is_the_scenario_without_the_other_sources(result, sharing):
    """An independent way: cross out the sources, shorten the day, plan again."""
    scenario = result.scenario
    arises = result.supply.set_index("source")["tonnes_per_year"]
    for district in ("north", "south"):
        other = scenario.sources["district"] != district
        sources = scenario.sources.assign(
            amount=scenario.sources["amount"].where(~other, 0.0)
        )
        mine = arises[scenario.sources["source"][~other]].sum() / arises.sum()
        hours = scenario.settings.work.hours_per_day * float(mine)
        work = scenario.settings.work.model_copy(update={"hours_per_day": hours})
        settings = scenario.settings.model_copy(update={"work": work})
        tables = scenario.tables | {"sources": sources}
        alone = run(replace(scenario, tables=tables, settings=settings))
        found = sharing.coalitions[frozenset([district])]
        anyway = sharing.standing
        assert found.cost + anyway == pytest.approx(alone.plan.objective, rel=1e-5)


def test_tonnes_and_tonne_km_are_those_of_the_lanes(result, sharing):
    lanes = result.lanes[result.lanes["kind"] == "in"]
    table = sharing.table
    assert table["tonnes"].sum() == pytest.approx(lanes["tonnes"].sum())
    work = (lanes["tonnes"] * lanes["km"]).sum()
    assert table["tonne_km"].sum() == pytest.approx(work)


@pytest.mark.slow
def test_with_own_yards_and_markets_cooperation_never_costs_more(result):
    """
    Subadditive where it must be.

    Two groups that share no yard, no market and no truck hour may go on as before
    when they join.
    """
    sharing = share_cost(result, EXACT, "own")
    assert dearer_together(sharing.game, tolerance=1e-6) == []
    everything = share_cost(result, EXACT, "all")
    for district in ("north", "south"):
        group = frozenset([district])
        own, open_ = sharing.game[group], everything.game[group]
        assert own >= open_ - 1e-6 * abs(open_)


def test_own_leaves_no_lane_to_another_districts_site(result):
    instance, scenario = result.instance, result.scenario
    small = restricted(instance, scenario, frozenset(["north"]), "own")
    yards = scenario.yards["district"].to_numpy()
    assert set(yards[small.inbound.yard]) <= {"north"}
    assert set(yards[small.outbound.yard]) <= {"north"}
    markets = scenario.markets["district"].to_numpy()
    assert set(markets[small.outbound.site]) <= {"north"}
    assert small.supply.tonnes.sum() < instance.supply.tonnes.sum()


def test_sources_without_a_district_are_a_party(result):
    instance = result.instance
    supply = replace(instance.supply, districts=("", "south", "south", "south"))
    blank = replace(instance, supply=supply)
    small = restricted(blank, result.scenario, frozenset([NOWHERE]))
    left = small.supply.tonnes.sum(axis=1)
    assert left[0] > 0
    assert not np.any(left[1:])
    plan = solve(small, EXACT)
    assert set(plan.hauls["source"]) <= {"mill_north"}


def test_the_tables_say_who_would_leave(result, sharing):
    tables = share_tables(sharing, result.scenario)
    assert set(tables) == {"shares", "groups", "core"}
    assert len(tables["groups"]) == 3
    core = tables["core"].set_index("rule")
    assert core.loc["steadiest", "does a group pay more than alone"] in ("no", "yes")
    assert not any("money/yr" in head for t in tables.values() for head in t)


def test_split_by_work_solves_nothing_and_is_the_same(result, sharing):
    table = by_work(result)
    same = sharing.table[list(table)]
    assert list(table["district"]) == list(same["district"])
    for column in table.columns.drop("district"):
        assert table[column].tolist() == pytest.approx(same[column].tolist()), column


@pytest.mark.slow
def test_the_command(tmp_path):
    answer = CliRunner().invoke(app, ["shares", str(SMALL), "--out", str(tmp_path)])
    assert answer.exit_code == 0, answer.output
    assert "Who pays, coin a year" in answer.output
    book = load_workbook(tmp_path / "shares.xlsx")
    assert book.sheetnames == ["cover", "shares", "groups", "core"]
    assert (tmp_path / "shares.csv" / "core.csv").is_file()
    assert "Shapley value of each district" in (tmp_path / "shares.html").read_text()
