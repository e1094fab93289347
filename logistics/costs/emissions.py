"""
Greenhouse gas per unit: a tonne composted, a litre of diesel, nitrogen not made.

Codes of the table factors used here: gwp_ch4, gwp_n2o; compost_ch4_g_per_kg_wet,
compost_n2o_g_per_kg_wet; diesel_co2_kg_per_l, machine_l_per_t; n_first_year,
fertiliser_n_co2e_per_kg. A gram per kilogram is a kilogram per tonne.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logistics.scenario import Factors, factor_value

Floats = NDArray[np.float64]

KG_CO2_PER_L_DIESEL = 2.67
"""Tank to wheel; a haul newsletter, 2010, as quoted in an excerpt. [kg CO2/L]"""


def composting_co2e(factors: Factors) -> float:
    """
    Greenhouse gas of composting [kg CO2e per t of feedstock as received].

    Parameters
    ----------
    factors
        compost_ch4_g_per_kg_wet, compost_n2o_g_per_kg_wet, gwp_ch4, gwp_n2o.
    """
    methane = factor_value(factors, "compost_ch4_g_per_kg_wet")
    nitrous = factor_value(factors, "compost_n2o_g_per_kg_wet")
    return methane * factor_value(factors, "gwp_ch4") + nitrous * factor_value(
        factors, "gwp_n2o"
    )


def machine_co2(factors: Factors) -> float:
    """
    Carbon dioxide of a yard's loader and turner [kg CO2 per t put into windrows].

    Parameters
    ----------
    factors
        machine_l_per_t, diesel_co2_kg_per_l.
    """
    return float(fuel_co2(factor_value(factors, "machine_l_per_t"), factors))


def mineral_nitrogen_co2e(factors: Factors) -> float:
    """
    Greenhouse gas of the mineral nitrogen that compost replaces [kg CO2e/kg N].

    Per kilogram of nitrogen in compost delivered: what crops use of it in the first
    year need not be made.

    Parameters
    ----------
    factors
        n_first_year, fertiliser_n_co2e_per_kg.
    """
    used = factor_value(factors, "n_first_year")
    return used * factor_value(factors, "fertiliser_n_co2e_per_kg")


def fuel_co2(litres: ArrayLike, factors: Factors | None = None) -> Floats:
    """
    Carbon dioxide of diesel burnt [kg CO2].

    Parameters
    ----------
    litres
        Diesel. [L]
    factors
        diesel_co2_kg_per_l; None uses 2.67.
    """
    per_litre = (
        KG_CO2_PER_L_DIESEL
        if factors is None
        else factor_value(factors, "diesel_co2_kg_per_l")
    )
    return np.asarray(litres, dtype=float) * per_litre
