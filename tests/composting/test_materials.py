"""Feedstocks, laboratory values and mixtures."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal
from support.blending import partner_for_cn, water_to_reach
from support.ground_tables import MATERIALS, SOURCE_DEFAULTS, rows, scenario

from logistics.composting.materials import feedstocks, properties, source_feedstock
from logistics.composting.mixing import (
    describe_mix,
    mean_moisture,
)

SETTINGS = scenario().settings
share = st.floats(0.01, 0.9)
part = st.tuples(st.floats(0.1, 1e4), share, share, share)


def with_sources(*records):
    return scenario(sources=rows(records, SOURCE_DEFAULTS))


def test_only_feedstocks_that_somebody_brings_are_listed():
    made = with_sources(
        {"source": "mill", "material": "husk"}, {"source": "quay", "material": "fish"}
    )
    assert feedstocks(made)["feedstock"].tolist() == ["husk", "fish"]
    assert feedstocks(made)["hauled_t_m3"].tolist() == [0.130, 0.950]


def test_a_lab_value_beats_the_default_and_leaves_the_rest():
    """A source with a laboratory value has a feedstock of its own."""
    made = with_sources(
        {"source": "quay", "material": "fish", "lab_nitrogen": 0.065, "name": "Quay"},
        {"source": "dock", "material": "fish"},
        {"source": "mole", "material": "fish", "lab_moisture": 0.81},
    )
    table = feedstocks(made).set_index("feedstock")
    assert list(table.index) == ["fish", "fish__quay", "fish__mole"]
    assert table["nitrogen"].tolist() == [0.106, 0.065, 0.106]
    assert table["moisture"].tolist() == [0.76, 0.76, 0.81]
    assert set(table["material"]) == {"fish"}
    assert table.loc["fish__quay", "name"] == "Fish waste (Quay)"
    assert table.loc["fish__mole", "name"] == "Fish waste (mole)"
    assert table["loose_t_m3"].tolist() == [0.95] * 3
    assert source_feedstock(made).to_dict() == {
        "quay": "fish__quay",
        "dock": "fish",
        "mole": "fish__mole",
    }


def test_every_source_has_a_feedstock_in_the_table():
    made = with_sources(
        {"source": "a", "material": "straw", "lab_carbon": 0.41},
        {"source": "b", "material": "husk"},
    )
    assert set(source_feedstock(made)) == set(feedstocks(made)["feedstock"])


def test_inputs_are_left_alone():
    made = with_sources({"source": "a", "material": "fish", "lab_carbon": 0.30})
    before = made.materials.copy(), made.sources.copy()
    feedstocks(made)
    source_feedstock(made)
    assert_frame_equal(made.materials, before[0])
    assert_frame_equal(made.sources, before[1])


def mixed(tonnes, moisture, carbon, nitrogen):
    """A dry-built mix of feedstocks with these shares, all else as straw's."""
    table = MATERIALS.iloc[[0] * len(tonnes)].assign(
        material=[f"part {n}" for n in range(len(tonnes))],
        moisture=np.asarray(moisture, dtype=float),
        carbon=np.asarray(carbon, dtype=float),
        nitrogen=np.asarray(nitrogen, dtype=float),
    )
    return describe_mix(tonnes, 0.0, properties(table), SETTINGS)


@pytest.mark.slow
@given(st.lists(part, min_size=1, max_size=6), st.floats(0, 1e4))
def test_mixture_lies_between_its_feedstocks(parts, water):
    """No mixture beats its richest part, nor falls below its poorest."""
    wet, moisture, carbon, nitrogen = np.array(parts).T
    ratio = mixed(wet, moisture, carbon, nitrogen).cn
    alone = carbon / nitrogen
    assert alone.min() * (1 - 1e-9) <= ratio <= alone.max() * (1 + 1e-9)
    dry_mix = mean_moisture(wet, moisture)
    assert moisture.min() - 1e-9 <= dry_mix <= moisture.max() + 1e-9
    assert dry_mix - 1e-12 <= mean_moisture(wet, moisture, water) < 1


@given(st.lists(st.floats(0.01, 1e4), min_size=3, max_size=3), st.floats(0.01, 100))
def test_ten_such_heaps_are_as_one(tonnes, scale):
    """Shares and ratios do not depend on the size of the heap; masses grow with it."""
    table = properties(MATERIALS)
    one = describe_mix(tonnes, 1.0, table, SETTINGS)
    many = describe_mix(np.multiply(tonnes, scale), scale, table, SETTINGS)
    for name in ("cn", "moisture", "n", "free_air", "product_cn", "structure"):
        assert getattr(many, name) == pytest.approx(getattr(one, name))
    for name in ("charge_t", "windrow_m3", "product_t"):
        assert getattr(many, name) == pytest.approx(scale * getattr(one, name))


@given(st.lists(st.floats(0.01, 1e4), min_size=3, max_size=3))
def test_what_goes_in_comes_out_or_is_lost(tonnes):
    """Phosphate and potash stay; dry matter and nitrogen leave by their shares."""
    table = properties(MATERIALS)
    mix = describe_mix(tonnes, 0.0, table, SETTINGS)
    dry_out = mix.product_t * (1 - SETTINGS.process.product_moisture)
    assert dry_out * mix.product_p2o5 == pytest.approx(mix.dry_t * mix.p2o5)
    assert dry_out * mix.product_k2o == pytest.approx(mix.dry_t * mix.k2o)
    assert dry_out * mix.product_n == pytest.approx(0.7 * mix.dry_t * mix.n)
    assert 0.65 * mix.dry_t <= dry_out * (1 + 1e-9)
    assert dry_out <= 0.78 * mix.dry_t * (1 + 1e-9)


def test_many_mixes_at_once_equal_one_by_one():
    table = properties(MATERIALS)
    tonnes = np.array([[2.0, 1.0, 0.0], [0.0, 1.0, 3.0], [1.0, 0.2, 1.0]])
    water = np.array([1.0, 0.5, 0.0])
    together = describe_mix(tonnes, water, table, SETTINGS)
    for k in range(3):
        alone = describe_mix(tonnes[k], water[k], table, SETTINGS)
        assert together.cn[k] == pytest.approx(alone.cn)
        assert together.product_n[k] == pytest.approx(alone.product_n)


def test_water_fills_pores_and_adds_no_volume():
    table = properties(MATERIALS)
    dry = describe_mix([2, 1, 0], 0.0, table, SETTINGS)
    wet = describe_mix([2, 1, 0], 1.5, table, SETTINGS)
    assert (
        wet.windrow_m3 == dry.windrow_m3 == pytest.approx(0.5 * (2 / 0.11 + 1 / 0.95))
    )
    assert wet.density_t_m3 > dry.density_t_m3
    assert wet.free_air < dry.free_air
    assert wet.cn == dry.cn


def test_available_carbon_lowers_the_ratio_but_not_the_carbon_of_the_product():
    table = properties(MATERIALS)
    slow = table.assign(available_carbon=[0.4, 1.0, 1.0])
    all_counted = describe_mix([2, 1, 0], 1.0, table, SETTINGS)
    some_counted = describe_mix([2, 1, 0], 1.0, slow, SETTINGS)
    assert some_counted.cn == all_counted.cn == all_counted.cn_available
    assert some_counted.cn_available < all_counted.cn
    assert some_counted.product_cn == all_counted.product_cn


def test_salt_is_of_wet_mass_and_structure_of_loose_volume():
    """1 t of fish with 1 % salt in 4 t wet; husk and straw keep the heap open."""
    mix = describe_mix([2, 1, 0], 1.0, properties(MATERIALS), SETTINGS)
    assert mix.salt == pytest.approx(0.01 / 4)
    husk_m3, fish_m3 = 2 / 0.11, 1 / 0.95
    assert mix.structure == pytest.approx(husk_m3 / (husk_m3 + fish_m3))
    assert mix.ash == pytest.approx((1.76 * 0.20 + 0.24 * 0.21) / 2.0)


def test_empty_mix_has_no_ratio_and_no_mass():
    mix = describe_mix([0, 0, 0], 0.0, properties(MATERIALS), SETTINGS)
    assert np.isnan(mix.cn)
    assert mix.product_t == 0
    assert mix.windrow_m3 == 0


def test_carbon_without_nitrogen_is_an_infinite_ratio():
    assert mixed([1.0], [0.1], [0.4], [0.0]).cn == np.inf


@pytest.mark.slow
@given(st.floats(25, 60), st.floats(0.1, 100))
def test_recipe_by_hand_reaches_its_goal(goal, fish_t):
    husk, fish = (0.12, 0.37, 0.0035), (0.76, 0.382, 0.106)
    husk_t = partner_for_cn(goal, fish_t, fish, husk)
    m, c, n = np.array([fish, husk]).T
    assert mixed([fish_t, husk_t], m, c, n).cn == pytest.approx(goal)
    water = water_to_reach(0.55, [fish_t, husk_t], m)
    assert mean_moisture([fish_t, husk_t], m, water) == pytest.approx(0.55)


def test_no_sources_no_feedstocks():
    made = with_sources({"source": "a", "material": "husk"})
    made.sources = made.sources.iloc[:0]
    assert len(feedstocks(made)) == 0
    assert len(source_feedstock(made)) == 0
    assert isinstance(feedstocks(made), pd.DataFrame)
