"""What one unit costs and emits: a trip, a tonne, a yard in one size."""

from logistics.costs.calls import days_called, pickup_interval, whole_days
from logistics.costs.disposal import disposal_co2e, disposal_gases, without_factor
from logistics.costs.emissions import (
    composting_co2e,
    fuel_co2,
    machine_co2,
    mineral_nitrogen_co2e,
)
from logistics.costs.hire import hire_rate
from logistics.costs.money import (
    OptionCost,
    annuity_factor,
    option_annual_cost,
    trip_cost,
    truck_load_t,
)
from logistics.costs.trips import (
    Integers,
    Trips,
    inbound_trips,
    may_carry,
    outbound_trips,
)

__all__ = [
    "Integers",
    "OptionCost",
    "Trips",
    "annuity_factor",
    "composting_co2e",
    "days_called",
    "disposal_co2e",
    "disposal_gases",
    "fuel_co2",
    "hire_rate",
    "inbound_trips",
    "machine_co2",
    "may_carry",
    "mineral_nitrogen_co2e",
    "option_annual_cost",
    "outbound_trips",
    "pickup_interval",
    "trip_cost",
    "truck_load_t",
    "whole_days",
    "without_factor",
]
