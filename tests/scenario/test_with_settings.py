"""Settings given in a call are checked as those of a file are."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL

from logistics.scenario import (
    ScenarioError,
    change_setting,
    flat_settings,
    read_scenario,
    with_settings,
)

SCENARIO = read_scenario(SMALL)


def refused(values, scenario=SCENARIO):
    with pytest.raises(ScenarioError) as found:
        with_settings(scenario, values)
    return str(found.value)


def test_only_the_settings_given_change():
    before = flat_settings(SCENARIO.settings)
    made = with_settings(SCENARIO, {"solve.gap_pct": np.float64(2), "solve.seconds": 7})
    after = flat_settings(made.settings)
    assert {k: v for k, v in after.items() if v != before[k]} == {
        "solve.gap_pct": 2,
        "solve.seconds": 7,
    }
    assert flat_settings(SCENARIO.settings) == before


def test_nothing_given_changes_nothing():
    assert with_settings(SCENARIO, {}).settings == SCENARIO.settings


def test_none_takes_a_limit_away():
    limited = with_settings(SCENARIO, {"policy.max_yards": np.int64(2)})
    assert limited.settings.policy.max_yards == 2
    free = with_settings(limited, {"policy.max_yards": None})
    assert free.settings.policy.max_yards is None


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"solve.gap": 2}, "setting 'solve.gap': is not a known setting"),
        ({"solve.gap_pct": 50.1}, "setting 'solve.gap_pct': 50.1 is above 50"),
        ({"solve.gap_pct": "2"}, "is text, not a number"),
        ({"goal.minimise": "fame"}, "'fame' is not one of the choices"),
        (
            {"policy.most_share_material": "huskk", "policy.most_share_pct": 40},
            "'huskk' is not a code in the table materials. Write 'husk' if you meant",
        ),
        ({"policy.most_share_pct": 40}, "has no effect without policy.most_share_mat"),
        (
            {"mix.cn_high": 19},
            "'mix.cn_low': 20 must be at most mix.cn_high, which is 19",
        ),
    ],
)
def test_faults_name_the_setting_and_the_remedy(values, words):
    assert words in refused(values)


def test_a_code_that_its_table_has_is_taken():
    cap = {"policy.most_share_material": "husk", "policy.most_share_pct": 40}
    policy = with_settings(SCENARIO, cap).settings.policy
    assert (policy.most_share_material, policy.most_share) == ("husk", 0.4)


def test_at_the_limit_is_allowed():
    made = with_settings(SCENARIO, {"solve.gap_pct": 50, "mix.cn_high": 20})
    assert (made.settings.solve.gap, made.settings.mix.cn_high) == (0.5, 20)


def test_what_was_out_of_range_before_is_kept_and_not_blamed():
    """A change may drive a setting past what a file may hold."""
    odd = replace(
        SCENARIO, settings=change_setting(SCENARIO.settings, "solve.gap_pct", 60)
    )
    made = with_settings(odd, {"solve.seconds": 7})
    assert (made.settings.solve.gap, made.settings.solve.seconds) == (0.6, 7)
    assert "60" not in refused({"solve.seconds": -1}, odd)
