"""Operate, re-plan and regret: what must hold between them."""

from dataclasses import replace

import numpy as np
import pytest
from markupsafe import escape
from support.places import DEMO, SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change, read_changes
from logistics.costs.disposal import disposal_co2e
from logistics.costs.emissions import composting_co2e, fuel_co2, machine_co2
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.studies.comparison import (
    _proven_by,
    by_district,
    by_line,
    co2e,
    compare,
    overview,
    winners,
    yard_changes,
)
from maps.commands.command_line import app
from maps.studies.comparison import comparison_tables
from maps.studies.comparison_lines import columns, table
from maps.studies.comparison_sheet import sheet_html

pytestmark = pytest.mark.slow

RUNNER = CliRunner()


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def base(scenario):
    return run(scenario)


def mill_collected(base):
    """A source that is collected, and that burns for nothing what is not."""
    collected = base.plan.hauls["source"]
    return collected[collected.str.startswith("mill")].iloc[0]


@pytest.fixture(scope="module")
def outcomes(scenario, base):
    unused = sorted(set(scenario.yards["yard"]) - set(base.plan.yards["yard"]))[0]
    used = base.plan.yards["yard"].iloc[0]
    mill = mill_collected(base)
    texts = (
        "scale_price:percent=-30",
        "scale_fuel:percent=40",
        f"close_source:source={mill},from=6",
        f"close_yard:yard={unused}",
        f"close_yard:yard={used}",
        "scale_demand:percent=50",
    )
    return compare(scenario, base, [parse_change(text) for text in texts])


def test_operate_never_beats_replan(outcomes):
    for outcome in outcomes:
        gap = outcome.replan.plan.gap * abs(outcome.replan.plan.objective)
        assert outcome.regret >= -1e-6
        bound = outcome.replan.plan.bound
        assert outcome.operate.plan.objective >= bound - 1e-6
        assert outcome.replan.plan.objective - bound == pytest.approx(gap, abs=1e-6)


def test_old_yards_that_are_best_are_no_better_proven(outcomes):
    """Operate is exact for its yards; for any yards only re-planning proves a gap."""
    operate, replan = outcomes[1].operate, outcomes[1].replan
    bound = operate.plan.objective - 0.02 * abs(operate.plan.objective)
    proof = replace(replan, plan=replace(replan.plan, bound=bound, status="time_limit"))
    told = _proven_by(operate, proof)
    assert told.plan.gap == told.summary["gap"] == pytest.approx(0.02)
    assert told.plan.status == told.summary["status"] == "time_limit"
    assert told.plan.objective == operate.plan.objective


def test_closing_an_unused_yard_changes_nothing(base, outcomes):
    unused = outcomes[3]
    assert unused.operate.plan.objective == pytest.approx(base.plan.objective, rel=1e-6)
    assert yard_changes(base.plan, unused.replan.plan) == ([], [], [])
    assert unused.regret == pytest.approx(0, abs=1e-6 * abs(base.plan.objective))


def test_operate_keeps_the_yards_that_may_stay(base, outcomes):
    closed = base.plan.yards["yard"].iloc[0]
    for place, outcome in enumerate(outcomes):
        expected = set(base.plan.yard_sizes)
        if place == 4:
            expected = {pair for pair in expected if pair[0] != closed}
        assert set(outcome.operate.plan.yard_sizes) == expected


def test_worse_prices_never_save(base, outcomes):
    for outcome in outcomes[:3]:
        floor = base.plan.bound
        assert outcome.replan.plan.objective >= floor - 1e-6 * abs(floor)


def test_more_demand_never_costs(base, outcomes):
    assert outcomes[5].operate.plan.objective <= base.plan.objective * (1 + 1e-6)


def test_tables_add_up(base, outcomes):
    table = overview(base, outcomes)
    assert len(table) == 1 + 2 * len(outcomes)
    lines = by_line(base, outcomes)
    for outcome in outcomes:
        total = outcome.replan.summary["total_cost"]
        assert lines[outcome.change.title].sum() == pytest.approx(total)
        gains = winners(base, outcome)
        after = outcome.replan.plan.hauls["tonnes"].sum()
        assert gains["after"].sum() == pytest.approx(after)


def test_districts_add_up_to_the_plans(base, outcomes):
    for outcome in outcomes:
        table = by_district(base, outcome)
        for when, plan in (("before", base.plan), ("after", outcome.replan.plan)):
            for what, flows in (
                ("collected", plan.hauls),
                ("compost", plan.deliveries),
            ):
                total = table[f"{what}_{when}"].sum()
                assert total == pytest.approx(flows["tonnes"].sum())


def test_emissions_are_counted_by_hand(base):
    """Factors x tonnes and litres, without the instance."""
    scenario, plan = base.scenario, base.plan
    stuff = scenario.materials.set_index("material").to_dict("index")
    row = scenario.sources.set_index("source")
    litres = base.lanes["fuel_l"].sum()
    kg = float(fuel_co2(litres, scenario.factors))
    each = composting_co2e(scenario.factors) + machine_co2(scenario.factors)
    kg += each * plan.charges["tonnes"].sum()
    kg -= base.mixes.eval("product_t * n").sum() * 650 * 0.15 * 3.5  # 65 % is dry
    assert plan.compost["leftover_t"].sum() == pytest.approx(0, abs=1e-3)
    for source, tonnes in plan.uncollected.groupby("source")["tonnes"].sum().items():
        material = stuff[row.loc[source, "material"]]
        fate = row.loc[source, "disposal"]
        kg += tonnes * disposal_co2e(material, fate, scenario.factors)
    assert co2e(base) * 1000 == pytest.approx(kg, rel=1e-6)


def test_the_page_names_its_units(base, outcomes):
    tables = comparison_tables(base, outcomes)
    assert set(tables) == {"overview", "money", "sources", "districts", "stories"}
    assert any("[coin/yr]" in heading for heading in tables["overview"].columns)


def test_the_sheet_repeats_the_base_on_every_page(base, outcomes):
    """Six changes make two pages, each with the base and three of them."""
    page = sheet_html(base, outcomes)
    assert page.count('class="sheet"') == 2
    assert page.count("Base: no change</bdi>") == 2
    assert page.count("<svg class=") == 8
    for outcome in outcomes:
        assert f"<bdi>{escape(outcome.change.title)}</bdi>" in page
    assert "1 of 2" in page
    assert page == sheet_html(base, outcomes)


def test_one_change_makes_one_page(base, outcomes):
    assert sheet_html(base, outcomes[:1]).count('class="sheet"') == 1


def line_of(lines, label):
    """Numbers of a line of the sheet, plan by plan."""
    (cells,) = (one.cells for one in lines if one.cells and one.label == label)
    return [float(c[0].replace(",", "").replace("\N{MINUS SIGN}", "-")) for c in cells]


def test_accounts_of_the_sheet_add_up_to_its_net_costs(base, outcomes):
    """A reader who adds the lines up, or subtracts the base, finds what is printed."""
    lines = table(columns(base, outcomes))
    start = [one.label for one in lines].index("Net cost")
    accounts = [one.label for one in lines[start + 1 :]]
    accounts = accounts[: accounts.index("Regret of the base's yards")]
    sums = np.sum([line_of(lines, label) for label in accounts], axis=0)
    net = line_of(lines, "Net cost")
    assert sums == pytest.approx(net, abs=0.01)
    assert net[1:] == pytest.approx(
        [o.replan.summary["total_cost"] for o in outcomes], abs=0.6
    )
    (cells,) = (one.cells for one in lines if one.label == "Collected")
    after, difference = cells[3][0], cells[3][1]
    told = float(difference.replace("\N{MINUS SIGN}", "-").replace(",", ""))
    assert float(after.replace(",", "")) - line_of(lines, "Collected")[0] == (
        pytest.approx(told)
    )


def test_the_sheet_says_who_loses_and_what_is_as_good_as_equal(base, outcomes):
    """A mill that closes loses; a yard that nobody used changes nothing."""
    lines = {one.label: one.cells for one in table(columns(base, outcomes))}
    mill = base.scenario.sources.set_index("source")["name"][mill_collected(base)]
    assert any(f"{mill} \N{MINUS SIGN}" in str(text) for text in lines["Lose"][3])
    assert "as good as equal" in lines["Net cost"][4]
    assert lines["Gain"][4] == lines["Lose"][4] == ["nobody"]


def test_the_command_writes_and_prints(tmp_path):
    done = RUNNER.invoke(
        app,
        [
            "compare",
            str(SMALL),
            "--change",
            "scale_fuel:percent=40",
            "--out",
            str(tmp_path),
        ],
    )
    assert done.exit_code == 0, done.output
    assert {path.name for path in tmp_path.iterdir()} == {
        *("compare_sheet.html", "compare.xlsx", "compare.csv")
    }
    assert "Regret" in done.output


def test_plan_takes_changes(tmp_path, summary_only):
    arguments = ["plan", str(SMALL), "--out", str(tmp_path / "o"), "--change"]
    assert RUNNER.invoke(app, [*arguments, "scale_fuel:percent=40"]).exit_code == 0
    done = RUNNER.invoke(app, [*arguments, "scale_fule"])
    assert done.exit_code == 2
    assert "Write 'scale_fuel'" in done.output


def test_no_changes_is_wrong_usage(tmp_path):
    assert RUNNER.invoke(app, ["compare", str(SMALL)]).exit_code == 2


def test_the_demo_has_a_dozen_changes_with_stories():
    scenario, found = read_scenario(DEMO), read_changes(DEMO)
    assert len(found) >= 12
    for wanted in found.values():
        assert wanted.story
        apply_changes(scenario, wanted)
