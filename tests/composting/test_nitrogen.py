"""Nitrogen that a mix keeps: a line in its available C:N, and so a sum of its parts."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.ground_tables import MATERIALS

from logistics.composting.materials import properties
from logistics.composting.mixing import describe_mix
from logistics.composting.nitrogen import nitrogen_bounds, nitrogen_lost
from logistics.scenario.settings import settings_from

FOLLOW = settings_from({"name": "T"})
MEASURED = settings_from({"name": "T", "process.nitrogen_loss_pct": 42})
TABLE = properties(MATERIALS).assign(available_carbon=[0.5, 1.0, 0.95])
tonnes = st.lists(st.floats(0.01, 1e3), min_size=3, max_size=3)


def test_the_two_points_and_what_lies_about_them():
    """45 % at an available C:N of 20, 22.5 % at 30; never below nothing."""
    assert nitrogen_lost([20, 30]).tolist() == pytest.approx([0.45, 0.225])
    assert nitrogen_lost([40, 41, np.inf]).tolist() == pytest.approx([0, 0, 0])
    assert nitrogen_lost([0]).tolist() == pytest.approx([0.9])


@given(tonnes)
def test_what_parts_keep_adds_up_to_what_the_mix_keeps(wet):
    """However they are mixed: the smaller of the two sums."""
    mix = describe_mix(wet, 0.0, TABLE, FOLLOW)
    each = nitrogen_bounds(TABLE, FOLLOW) @ np.array(wet)
    left = mix.product_t * (1 - FOLLOW.process.product_moisture)
    assert each.min() == pytest.approx(float(left * mix.product_n))
    assert each.min() == pytest.approx(
        float(mix.dry_t * mix.n * (1 - nitrogen_lost(mix.cn_available)))
    )


@given(tonnes)
def test_a_measured_share_holds_whatever_the_mix(wet):
    mix = describe_mix(wet, 0.0, TABLE, MEASURED)
    assert mix.nitrogen_lost == pytest.approx(0.42)
    kept = nitrogen_bounds(TABLE, MEASURED) @ np.array(wet)
    assert kept.tolist() == pytest.approx([0.58 * float(mix.dry_t * mix.n)] * 2)


@given(tonnes, st.floats(0.1, 0.9))
def test_less_available_carbon_keeps_less_nitrogen(wet, share):
    poor = TABLE.assign(available_carbon=TABLE["available_carbon"] * share)
    rich, less = (describe_mix(wet, 0.0, t, FOLLOW) for t in (TABLE, poor))
    assert less.cn == rich.cn
    assert less.cn_available < rich.cn_available
    assert less.nitrogen_lost >= rich.nitrogen_lost


def test_an_empty_mix_loses_nothing_known():
    assert np.isnan(nitrogen_lost(pd.Series([np.nan]))).all()
