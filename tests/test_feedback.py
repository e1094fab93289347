"""Planning with what driving takes, on the starter district."""

import numpy as np
import pytest

from logistics.feedback import feedback, measure
from logistics.pipeline import run
from logistics.realised import as_reckoned
from logistics.scenario import read_scenario
from logistics.starter import new_scenario


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    folder = tmp_path_factory.mktemp("feedback") / "starter"
    new_scenario(folder, "csv")
    return read_scenario(folder)


@pytest.fixture(scope="module")
def turns(scenario):
    chosen = list(scenario.periods["period"])[:2]
    return feedback(scenario, most=2, periods=chosen, workers=1, iterations=20)


def test_factors_of_one_change_nothing(scenario, turns):
    same = run(scenario, realised=as_reckoned(scenario))
    assert same.summary["objective"] == pytest.approx(
        turns[0].result.summary["objective"]
    )


def test_planned_comes_nearer_to_driven(turns):
    assert len(turns) > 1
    assert abs(turns[-1].difference) <= abs(turns[0].difference) + 1e-6
    assert turns[-1].worst_hours <= turns[0].worst_hours + 1e-6


def test_measured_factors_are_sound(scenario, turns):
    found = measure(turns[0].result, turns[0].driven, as_reckoned(scenario))
    for values in (found.source_hours, found.source_money, found.market_money):
        assert np.isfinite(values).all()
        assert (values > 0).all()
    assert ((found.usable >= 0) & (found.usable <= 1)).all()
