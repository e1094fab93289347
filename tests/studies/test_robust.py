"""Robust yards: laws, brute force on a small district, and the command."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change
from logistics.model.solving.consistent_plan import operate
from logistics.model.solving.highs import Effort
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.risk import Risk, weighed
from logistics.studies.robust_yards import (
    BASE,
    Chance,
    Robust,
    futures_table,
    robust,
    yards_table,
)
from maps.commands.command_line import app
from maps.studies.tables import robust_tables

pytestmark = pytest.mark.slow

EXACT = Effort(gap=1e-6, threads=1)
TEXTS = (
    "scale_price:percent=-40",
    "scale_fuel:percent=60",
    "scale_demand:percent=80",
    "close_yard:yard=shoal",
    "scale_works:percent=50",
)


@pytest.fixture(scope="module")
def scenario():
    found = read_scenario(SMALL)
    return replace(
        found, settings=change_setting(found.settings, "solve.gap_pct", 1e-4)
    )


@pytest.fixture(scope="module")
def chances():
    return [Chance(BASE, 2), *(Chance(parse_change(text)) for text in TEXTS)]


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(Risk(), id="mean"),
        pytest.param(Risk(1.0, 0.7), id="cvar", marks=pytest.mark.thorough),
    ],
)
def found(request, scenario, chances) -> Robust:
    return robust(scenario, chances, request.param)


def test_one_future_is_the_plain_plan(scenario):
    plan = run(scenario).plan
    alone = robust(scenario, [Chance(BASE)])
    assert alone.decision.value == pytest.approx(plan.objective, rel=1e-6)
    assert sorted(alone.yard_sizes) == sorted(plan.yard_sizes)
    assert alone.evpi[1] == pytest.approx(0, abs=1e-4 * abs(plan.objective))
    assert alone.vss[0] == pytest.approx(0, abs=1e-6 * abs(plan.objective))


def test_one_changed_future_is_its_own_plan(scenario):
    wanted = parse_change("scale_price:percent=-40")
    plan = run(apply_changes(scenario, wanted)).plan
    alone = robust(scenario, [Chance(wanted)])
    assert alone.decision.value == pytest.approx(plan.objective, rel=1e-5)


def test_values_are_what_theory_says(found):
    low, high = found.evpi
    assert 0 <= low <= high
    assert found.vss[1] >= found.vss[0] >= -1e-6 * abs(found.decision.value)
    assert found.decision.bound <= found.decision.value
    assert found.decision.gap <= 1e-5


def test_every_column_of_money_is_read_as_a_cost(found):
    """A bound was printed as -5 beside a cost of "surplus 4"."""
    heads = [h for h in robust_tables(found, "coin", {})["futures"] if "[coin" in h]
    assert len(heads) == 4
    assert all("cost" in head for head in heads)


def test_no_future_costs_less_than_its_own_plan(found):
    table = futures_table(found)
    slack = 1e-6 * table["alone"].abs()
    assert (table["robust"] >= table["alone_bound"] - slack).all()
    assert (table["base"] >= table["alone_bound"] - slack).all()


def test_the_value_is_the_weighed_cost_of_the_futures(found):
    table = futures_table(found)
    counted = weighed(
        table["robust"].to_numpy(), table["weight"].to_numpy(), found.risk
    )
    assert counted == pytest.approx(found.decision.value)
    assert table["weight"].sum() == pytest.approx(1.0)


@pytest.fixture(scope="module")
def tried():
    """Costs of a choice of yards in each future: the same for every taste of risk."""
    return {}


@pytest.mark.thorough
def test_same_optimum_as_every_choice_of_yards(found, tried):
    """Each choice run by the plain pipeline in each future."""
    codes = list(dict.fromkeys(code for code, _ in found.keys))
    sizes = [[None, *(k for j, k in found.keys if j == c)] for c in codes]
    weights = np.array([c.weight for c in found.chances])
    best = np.inf
    for choice in itertools.product(*sizes):
        pairs = tuple((c, k) for c, k in zip(codes, choice, strict=True) if k)
        if pairs not in tried:
            base = found.base.instance
            tried[pairs] = [_cost(base, one.instance, pairs) for one in found.alone]
        best = min(best, weighed(np.array(tried[pairs]), weights, found.risk))
    assert found.decision.value == pytest.approx(best, rel=1e-5)


def _annual(inst):
    codes = [inst.yards.codes[j] for j in inst.options.yard]
    pairs = zip(codes, inst.options.size, strict=True)
    return dict(zip(pairs, inst.options.annual.tolist(), strict=True))


def _cost(base, inst, pairs):
    """Plan with the yards that stand; those that cannot be used are paid for too."""
    here = _annual(inst)
    plan = operate(inst, inst.options_of(pairs), EXACT)
    return plan.objective + sum(_annual(base)[p] for p in pairs if p not in here)


def test_yards_are_named_once(found):
    table = yards_table(found)
    assert table["yard"].is_unique
    assert set(table.loc[table["robust"] != "", "yard"]) == {
        j for j, _ in found.yard_sizes
    }


def test_the_command_writes_and_prints(tmp_path):
    arguments = ["robust", str(SMALL), "--out", str(tmp_path), "--risk", "0.5"]
    wanted = [
        "--change",
        "scale_price:percent=-30",
        "--change",
        "scale_fuel:percent=9@3",
    ]
    done = CliRunner().invoke(app, [*arguments, *wanted])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "robust.xlsx").exists()
    assert "EVPI" in done.output
    table = (tmp_path / "robust.csv" / "futures.csv").read_text()
    assert "60" in table.splitlines()[-1]


def test_a_weight_that_is_no_number_is_wrong_usage(tmp_path):
    arguments = ["robust", str(SMALL), "--change", "scale_fuel:percent=9@much"]
    assert CliRunner().invoke(app, arguments).exit_code == 2
