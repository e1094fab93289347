"""
Check values of haulage and money, computed through our functions.

Change one only with the work in hand. "Worked out" marks our own second reckoning;
mixed loads and scale exponents (H2, H14) have no function in the programme and are left
out; escalating streams and printed sums (H13, H16, H17) are in tests/test_budget.py.
"""

import pytest
from pyproj import Geod

from logistics.costs.emissions import fuel_co2
from logistics.costs.money import (
    annuity_factor,
    trip_cost,
    trip_hours,
    truck_load_t,
)
from logistics.roads.geometry import geodesic_km


def test_h1_husk_fills_the_body_first():
    """Worked out: 10 t, 30 m3, 100 kg/m3."""
    load = truck_load_t(10, 30, 0.1)
    assert load == pytest.approx(3.0)
    assert load / 10 == pytest.approx(0.30)
    assert load / (30 * 0.1) == 1
    assert truck_load_t(10, 30, 0.95) == 10


@pytest.mark.parametrize(
    ("rate", "years", "factor"),
    [
        # WEF, Wastewater Solids Incineration Systems, Table C.5 (arithmetic confirmed,
        # printed page not read again)
        (0.045, 10, 0.12638),
        # common factor tables
        (0.10, 8, 0.18744),
        (0.06, 5, 0.23740),
        (0.08, 10, 0.14903),
    ],
)
def test_h3_capital_recovery_factor(rate, years, factor):
    assert annuity_factor(rate, years) == pytest.approx(factor, abs=1e-5)


def test_h3_a_million_at_the_first():
    """WEF, Table C.5: printed 126,000."""
    assert 1e6 * annuity_factor(0.045, 10) == pytest.approx(126_379, abs=1)


def test_h4_h5_truck_with_a_value_left_at_the_end():
    """Worked out: 30,000, of which 6,000 remain after 8 years, 10 %."""
    yearly = (30_000 - 6_000) * annuity_factor(0.10, 8) + 6_000 * 0.10
    assert yearly == pytest.approx(5_098.66, abs=0.01)
    fixed = yearly + 4_200 + 900 + 600
    assert fixed == pytest.approx(10_798.66, abs=0.01)
    assert fixed / 260 == pytest.approx(41.53, abs=0.01)


def test_h6_a_trip_and_what_a_tonne_costs():
    """Worked out: 20 km at 30 km/h both ways, 40 + 20 min, three trips in 8 h."""
    hours = trip_hours(20, 20, 20 / 30, 20 / 30, 40, 20, 0)
    assert hours == pytest.approx(2.3333, abs=1e-4)
    assert 8 / hours == pytest.approx(3.43, abs=0.01)
    assert 8 // hours == 3
    truck = {
        "fuel_l_per_km_loaded": 0.0,
        "fuel_l_per_km_empty": 0.0,
        "repair_cost_per_km": 0.33,
        "crew_cost_per_hour": 0.0,
    }
    variable = trip_cost(truck, 20, 20, hours, 0.0, fuel_price=1.0).total
    trip = 10_798.66 / 260 / 3 + variable
    assert trip == pytest.approx(27.04, abs=0.01)
    husk, fish = truck_load_t(10, 30, 0.1), truck_load_t(10, 30, 0.95)
    assert trip / husk == pytest.approx(9.01, abs=0.01)
    assert trip / fish == pytest.approx(2.70, abs=0.01)


@pytest.mark.parametrize(
    ("end", "km", "by_road"),
    [((106, 10), 109.506, 153.31), ((105, 11), 111.195, 155.67)],
)
def test_h15_great_circle(end, km, by_road):
    """Worked out on a sphere of 6371.0088 km; ours are measured on WGS84."""
    sphere = Geod(a=6_371_008.8, b=6_371_008.8)
    found = geodesic_km(105, 10, *end, ellipsoid=sphere)
    assert found == pytest.approx(km, abs=0.01)
    assert 1.4 * found == pytest.approx(by_road, abs=0.01)
    assert geodesic_km(105, 10, *end) == pytest.approx(km, rel=0.006)


def test_h18_diesel():
    """2.67 kg CO2 a litre, a haul newsletter, 2010 (read in an excerpt)."""
    assert fuel_co2(100) == pytest.approx(267, rel=0.01)
