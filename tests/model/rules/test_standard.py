"""Compost is made to a product standard where one is asked for."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL

from logistics.accounts.nutrients import batches, failings
from logistics.results.audit_standard import standard_met
from logistics.results.pipeline import run
from logistics.scenario.edits import set_values, with_table
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import Scenario, read_scenario
from logistics.scenario.settings import change_setting


@pytest.fixture(scope="module")
def base() -> Scenario:
    return read_scenario(SMALL)


def to(scenario: Scenario, code: str = "strict", **limits: float) -> Scenario:
    """Ask for a standard of these limits and no other."""
    row = scenario.standards.iloc[:1].copy()
    for column in row.columns:
        if column.endswith(("_low", "_high")):
            row[column] = np.nan
    row = row.assign(standard=code, name="Strict", **limits)
    changed = with_table(scenario, "standards", row)
    settings = change_setting(changed.settings, "product.standard", code)
    return replace(changed, settings=settings)


@pytest.fixture(scope="module")
def plain(base):
    return run(base)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("limit", "column", "share"),
    [
        ("cn_high", "product_cn", 0.97),
        ("cn_low", "product_cn", 1.05),
        ("n_low", "n", 1.05),
        ("p2o5_low", "p2o5", 1.02),
    ],
)
def test_every_charge_keeps_it_and_it_costs_money(base, plain, limit, column, share):
    """What the free plan makes breaks it; what is made to it does not."""
    asked = float(plain.mixes[column].mean()) * share
    scenario = to(base, **{limit: asked})
    (check,) = standard_met(scenario, plain.mixes).itertuples()
    assert not check.passed
    result = run(scenario)
    assert result.plan.status == "optimal"
    assert result.plan.objective > plain.plan.objective
    worst = result.mixes[column].max() if share < 1 else result.mixes[column].min()
    assert worst == pytest.approx(asked, rel=1e-5)
    row = scenario.standards.iloc[0].to_dict()
    row[limit] = asked * (1 + 1e-5 * np.sign(1 - share))
    made = batches(result).to_dict("records")
    assert made
    assert all(failings(batch, row) == [] for batch in made)
    assert result.audit["check"].str.startswith("standard strict").sum() == 1


@pytest.mark.parametrize(("more", "passed"), [(0.9e-5, True), (1.1e-5, False)])
def test_the_audit_holds_it_just_inside_and_just_outside(base, plain, more, passed):
    limit = float(plain.mixes["product_cn"].max()) / (1 + more)
    found = standard_met(to(base, cn_high=limit), plain.mixes)
    assert found["passed"].tolist() == [passed]


def test_without_a_standard_nothing_is_checked(base, plain):
    assert standard_met(base, plain.mixes).empty


@pytest.mark.thorough
def test_a_standard_that_demands_cannot_meet_is_named(base):
    """All fish must be fetched, and fish makes compost of low C:N."""
    fish = base.sources["material"] == "fish"
    forced = set_values(base, "sources", fish, {"must_collect": True})
    result = run(to(forced, cn_low=150.0))
    assert result.plan.status == "shortage"
    words = " ".join(result.plan.shortages["words"])
    assert "carbon for C:N 150 (Strict)" in words
    assert "falls short by" in words


@pytest.mark.parametrize(
    ("limits", "code", "words"),
    [
        ({"moisture_high": 0.2}, "strict", "allows 20 % moisture"),
        ({"cn_high": 20.0}, "other", "is not a code in the table standards"),
    ],
)
def test_what_no_mix_can_mend_is_a_fault(base, limits, code, words):
    scenario = to(base, **limits)
    settings = change_setting(scenario.settings, "product.standard", code)
    with pytest.raises(ScenarioError, match=words):
        run(replace(scenario, settings=settings))
