"""What is voted is what is paid: the budget takes the cost of driven rounds."""

from dataclasses import replace

import openpyxl
import pandas as pd
import pytest
from support.places import SMALL

from logistics.accounts import book, identities, unit_costs
from logistics.results.pipeline import run
from logistics.rounds.driven_money import above_plan, as_driven
from logistics.rounds.driving import drive
from logistics.rounds.tables import summary
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario
from maps.field.round_overview import overview_lines, write_all_rounds
from maps.tables import write_budget

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def result():
    """Three piers; what is left at the pier is dumped for 30 a tonne."""
    base = read_scenario(SMALL)
    piers = base.sources["source"] == "pier"
    return run(set_values(base, "sources", piers, {"tipping_fee_per_t": 4.0}))


@pytest.fixture(scope="module")
def driven(result):
    periods = list(result.scenario.periods["period"])
    return [drive(result, p, workers=1, iterations=10) for p in periods]


@pytest.fixture(scope="module")
def known(result, driven):
    return [summary(result, one) for one in driven]


def test_both_sides_are_those_of_the_rounds_and_of_the_plan(result, driven, known):
    table = above_plan(result, driven)
    for side in ("planned", "driven"):
        by_period = table.groupby("period")[side].sum()
        said = {one["period"]: one[f"{side}_money"] for one in known}
        assert by_period.to_dict() == pytest.approx(said)
    trips = result.ledger["account"].str.startswith(("haulage", "pairing"))
    trips |= result.ledger["line"] == "hired trucks"
    planned = result.ledger.loc[trips, "amount"].sum()
    assert table["planned"].sum() == pytest.approx(planned)
    assert abs(table["driven"].sum() / planned - 1) > 0.01


def test_the_budget_pays_what_is_driven(result, driven, known):
    """The net cost, the year by month, and the cost of a tonne all take it."""
    found = as_driven(result, driven)
    more = sum(one["driven_money"] - one["planned_money"] for one in known)
    left = {
        one.period: float(one.left.query("kind == 'in'")["tonnes"].sum())
        for one in driven
    }
    assert sum(left.values()) == 0
    before, after = book(result), book(found)
    assert after.net - before.net == pytest.approx(more)
    assert found.summary["total_cost"] == pytest.approx(after.net)
    assert found.summary["rounds_above_plan"] == pytest.approx(more)
    haul = found.summary["haul_cost"] - result.summary["haul_cost"]
    assert haul == pytest.approx(more)
    assert identities(after, found.ledger)["passed"].all()
    for one in known:
        month = after.parts["period"] == one["period"]
        rounds = after.parts["entry"] == "rounds_above_plan"
        paid = after.parts.loc[month & rounds, "amount"].sum()
        assert paid == pytest.approx(one["driven_money"] - one["planned_money"])
    units = unit_costs(after).set_index(["what", "basis"])
    haulage = units.loc[("haulage, a tonne collected", "full"), "money"]
    assert haulage == pytest.approx(found.summary["haul_cost"])
    each = units.loc[("a tonne collected", "net"), "cost"]
    assert found.summary["cost_per_t_collected"] == pytest.approx(each)
    assert result.summary["income"] == found.summary["income"]


def test_a_year_that_is_not_driven_whole_has_no_budget(result, driven):
    with pytest.raises(ValueError, match="periods not driven: m12"):
        as_driven(result, driven[:-1])


def test_what_no_truck_fetches_is_disposed_of_as_today(result, driven):
    first = driven[0]
    rows = pd.DataFrame(
        [("in", "pier", "fish", 7.0), ("out", "garden", "compost", 3.0)],
        columns=["kind", "place", "material", "tonnes"],
    )
    short = [replace(first, left=rows), *driven[1:]]
    more = as_driven(result, short).summary["sources_pay"]
    assert more - as_driven(result, driven).summary["sources_pay"] == 7.0 * 30


def estimates(path):
    rows = openpyxl.load_workbook(path, data_only=True)["estimates"]
    return {row[1]: row[2] for row in rows.iter_rows(values_only=True)}


def test_the_workbooks_have_the_line(result, driven, tmp_path, monkeypatch):
    """Before rounds are driven it says so; after, it is in every sum."""
    write_budget(result, tmp_path / "budget.xlsx")
    plan = estimates(tmp_path / "budget.xlsx")
    assert plan["Of it rounds above plan"] == "not driven yet"
    monkeypatch.setattr("maps.field.round_overview.write_rounds", lambda *_: None)
    folder = write_all_rounds(result, driven, tmp_path)
    paid = estimates(folder / "budget.xlsx")
    above = as_driven(result, driven).summary["rounds_above_plan"]
    assert paid["Of it rounds above plan"] == pytest.approx(above)
    more = paid["Net annual cost"] - plan["Net annual cost"]
    assert more == pytest.approx(above)
    (line,) = [x for x in overview_lines(result, driven) if x.startswith("Rounds")]
    side = "above" if above > 0 else "below"
    assert line.startswith(f"Rounds {side} plan: {abs(above):,.0f} coin a year, ")
    assert f"costs {paid['Net annual cost']:,.0f} coin net" in line
