"""Money and emissions per unit."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.composting.nutrients import fertiliser_saving
from logistics.costs.disposal import (
    WAYS,
    disposal_co2e,
    disposal_gases,
    without_factor,
)
from logistics.costs.emissions import composting_co2e, fuel_co2
from logistics.costs.money import (
    annuity_factor,
    option_annual_cost,
    trip_cost,
    trip_hours,
    truck_load_t,
)
from logistics.scenario.factors import factor_value
from logistics.scenario.faults import ScenarioError
from logistics.scenario.schema import columns_of

TRUCK = {
    "fuel_l_per_km_loaded": 0.2,
    "fuel_l_per_km_empty": 0.1,
    "repair_cost_per_km": 0.05,
    "crew_cost_per_hour": 3.0,
}
SMALL = {
    "site_m2": 2000.0,
    "works_cost": 20_000.0,
    "works_life_years": 20.0,
    "machine_cost": 30_000.0,
    "machine_life_years": 10.0,
    "fixed_cost_per_year": 4000.0,
}
LARGE = {**SMALL, "site_m2": 5000.0, "works_cost": 50_000.0, "machine_cost": 70_000.0}
YARD = {"works_factor": 1.2, "land_rent_per_m2_year": 0.1}
FACTORS = {
    "gwp_ch4": 28.0,
    "gwp_n2o": 265.0,
    "compost_ch4_g_per_kg_wet": 4.0,
    "compost_n2o_g_per_kg_wet": 0.24,
    "burnt_ch4_g_per_kg_dry": 2.7,
    "burnt_n2o_g_per_kg_dry": 0.07,
    "burnt_share": 0.8,
    "dump_docf": 0.5,
    "dump_f": 0.5,
    "dump_mcf": 0.8,
    "diesel_co2_kg_per_l": 2.7,
}


@given(st.floats(0, 0.5), st.floats(1, 100))
def test_annuity_pays_the_capital_back(discount, years):
    """The payments are worth the capital, and are never less than an even share."""
    factor = annuity_factor(discount, years)
    assert factor >= 1 / years * (1 - 1e-9)
    worth = (
        years if discount < 1e-12 else -np.expm1(-years * np.log1p(discount)) / discount
    )
    assert factor * worth == pytest.approx(1)


def test_annuity_without_interest_and_by_array():
    assert annuity_factor(0, 20) == 0.05
    assert annuity_factor(0.1, [8, 10]).tolist() == pytest.approx(
        [0.18744402, 0.16274539]
    )


@given(st.floats(0.1, 60), st.floats(0.1, 200), st.floats(0.01, 2))
def test_load_keeps_both_limits_and_meets_one(payload, body, density):
    load = truck_load_t(payload, body, density)
    assert load <= payload
    assert load <= body * density
    assert load in (payload, body * density)


def test_trip_hours_add_up():
    assert trip_hours(10, 12, 0.5, 0.6, 15, 10, 15) == pytest.approx(1.1 + 40 / 60)
    assert trip_hours([10, np.inf], 10, [0.5, np.inf], 0.5, 0, 0).tolist() == [
        1,
        np.inf,
    ]


def test_km_and_hours_of_different_states_are_refused():
    with pytest.raises(ValueError, match="different road states"):
        trip_hours(np.inf, 10, 0.5, 0.5, 0, 0)


def test_trip_cost_line_by_line():
    cost = trip_cost(TRUCK, 10, 20, 1.5, 2.0, fuel_price=1.1)
    assert cost.fuel_l == pytest.approx(4.0)
    assert cost.fuel == pytest.approx(4.4)
    assert cost.repair == pytest.approx(1.5)
    assert cost.crew == pytest.approx(4.5)
    assert cost.fare == 2
    assert cost.total == pytest.approx(12.4)


def test_trip_cost_takes_a_table_row_and_arrays():
    row = pd.DataFrame([TRUCK]).iloc[0]
    cost = trip_cost(row, np.array([10.0, 0.0]), np.array([20.0, 0.0]), 1.5, 2.0, 1.1)
    assert cost.total.tolist() == pytest.approx([12.4, 6.5])


def test_new_yard_pays_for_everything():
    cost = option_annual_cost(YARD, SMALL, 0.0)
    assert cost.capital == 24_000 + 30_000
    assert cost.works_annuity == pytest.approx(1200)
    assert cost.machine_annuity == pytest.approx(3000)
    assert cost.land_rent == pytest.approx(200)
    assert cost.fixed == 4000
    assert cost.total == pytest.approx(8400)


def test_existing_yard_buys_nothing_but_wears_its_machines_out():
    """A loader of a yard that stands is renewed like any other."""
    cost = option_annual_cost(YARD, SMALL, 0.0, existing_size=SMALL)
    assert (cost.capital, cost.works_annuity) == (0, 0)
    assert cost.renewed == 30_000
    assert cost.machine_annuity == pytest.approx(3000)
    assert cost.total == pytest.approx(4000 + 200 + 3000)


def test_existing_yard_pays_the_difference_for_a_larger_size():
    """Only the difference is bought; all machines of the new size wear out."""
    cost = option_annual_cost(YARD, LARGE, 0.1, existing_size=SMALL)
    assert cost.works == pytest.approx(1.2 * 30_000)
    assert (cost.machines, cost.renewed) == (40_000, 30_000)
    assert cost.capital == pytest.approx(1.2 * 30_000 + 40_000)
    assert cost.machine_annuity == pytest.approx(70_000 * annuity_factor(0.1, 10))
    assert cost.land_rent == pytest.approx(500)


def test_machines_of_a_standing_yard_cost_the_year_what_those_of_a_new_one_do():
    """What stands is cheaper by its works alone: choosing it is not favoured."""
    new, standing = (option_annual_cost(YARD, SMALL, 0.1, x) for x in (None, SMALL))
    assert standing.machine_annuity == new.machine_annuity
    assert new.total - standing.total == pytest.approx(new.works_annuity)


def test_shrinking_earns_nothing_back():
    assert option_annual_cost(YARD, SMALL, 0.1, existing_size=LARGE).capital == 0


def test_fates():
    straw = {"moisture": 0.15, "carbon": 0.40}
    assert disposal_co2e(straw, "left", FACTORS) == 0
    burnt = 0.85 * 0.8 * (2.7 * 28 + 0.07 * 265)
    assert disposal_co2e(straw, "burnt", FACTORS) == pytest.approx(burnt)
    dumped = 850 * 0.40 * 0.5 * 0.5 * 16 / 12 * 0.8 * 28
    assert disposal_co2e(straw, "dumped", FACTORS) == pytest.approx(dumped)
    tip = FACTORS | {"landfill_mcf": 0.5}
    assert disposal_co2e(straw, "landfill", tip) == pytest.approx(dumped * 0.5 / 0.8)
    with pytest.raises(ValueError, match="'sunk'; it must be one of left, burnt, du"):
        disposal_co2e(straw, "sunk", FACTORS)


def test_what_goes_into_the_sea_counts_as_none_unless_the_user_knows_better():
    """Carbon x half of it as methane x 16/12 x the correction for waste water."""
    fish = {"moisture": 0.76, "carbon": 0.382}
    none = FACTORS | {"sea_mcf": 0.0}
    assert disposal_co2e(fish, "sea", none) == 0
    assert without_factor(none) == {"left", "sea"}
    some = FACTORS | {"sea_mcf": 0.1}
    kg = 240 * 0.382 * 0.5 * 16 / 12 * 0.1
    assert disposal_co2e(fish, "sea", some) == pytest.approx(kg * 28)
    assert without_factor(some) == {"left"}


def test_a_tonne_of_manure_in_a_heap():
    """
    IPCC, Guidelines, 2006, vol. 4 ch. 10, equations 10.23 and 10.25 (from memory).

    A fifth is dry, of it 80 % volatile: 160 kg x 0.13 m3 x 0.67 kg x 4 %; of 4.2 kg of
    nitrogen 1 % goes off as N2O-N.
    """
    manure = {"moisture": 0.8, "ash": 0.2, "nitrogen": 0.021}
    heap = {"heap_bo_m3_per_kg": 0.13, "heap_mcf": 0.04, "heap_n2o_n_share": 0.01}
    gases = disposal_gases(manure, "heaped", heap)
    assert gases["CH4"] == pytest.approx(160 * 0.13 * 0.67 * 0.04)
    assert gases["N2O"] == pytest.approx(4.2 * 0.01 * 44 / 28)


def test_every_way_that_a_source_may_name_has_its_gases():
    column = {c.name: c for c in columns_of("sources")}["disposal"]
    assert set(column.choices) == set(WAYS)


def test_factors_come_from_a_table_or_a_mapping():
    table = pd.DataFrame({"factor": list(FACTORS), "value": list(FACTORS.values())})
    assert composting_co2e(table) == composting_co2e(FACTORS) == pytest.approx(175.6)
    assert fuel_co2(10, table) == pytest.approx(27)
    assert fuel_co2(10) == pytest.approx(26.7)


def test_a_missing_factor_is_named():
    with pytest.raises(ScenarioError, match="'gwp_ch4' is missing from the emission"):
        factor_value({}, "gwp_ch4")
    with pytest.raises(ScenarioError, match="'gwp_ch4' is missing from the emission"):
        factor_value(pd.DataFrame({"factor": [], "value": []}), "gwp_ch4")


USED = {"n": 0.15, "p2o5": 0.5, "k2o": 0.8}
content = st.fixed_dictionaries({k: st.floats(0, 0.05) for k in ("n", "p2o5", "k2o")})
need = st.fixed_dictionaries({k: st.floats(0, 300) for k in ("n", "p2o5", "k2o")})


@given(st.floats(0, 100), content, need)
def test_no_nutrient_saves_more_than_its_need(rate, compost, crop):
    saving = fertiliser_saving(rate, 0.35, compost, crop, USED)
    assert 0 <= saving.share <= 1 + 1e-12
    for key, saved in saving.saved.items():
        assert saved <= crop[key]
        assert saved <= saving.available[key] <= saving.applied[key]


@given(st.floats(0, 50), content, need)
def test_more_compost_never_saves_less(rate, compost, crop):
    less = fertiliser_saving(rate, 0.35, compost, crop, USED)
    more = fertiliser_saving(rate * 1.5, 0.35, compost, crop, USED)
    assert more.share >= less.share - 1e-12


def test_words_admit_where_nitrogen_falls_short():
    compost = {"n": 0.013, "p2o5": 0.009, "k2o": 0.014}
    crop = {"n": 100.0, "p2o5": 40.0, "k2o": 60.0}
    text = fertiliser_saving(5, 0.35, compost, crop, USED).words()
    assert "6% of the N" in text
    assert "nitrogen must still be bought" in text
    rich = fertiliser_saving(5, 0.35, compost, crop, {"n": 1, "p2o5": 0.1, "k2o": 0.1})
    assert "must still be bought" not in rich.words()
