"""
Greenhouse gas per unit: a tonne burnt, dumped or composted, a litre of diesel.

Codes of the table factors used here: gwp_ch4, gwp_n2o; compost_ch4_g_per_kg_wet,
compost_n2o_g_per_kg_wet; burnt_ch4_g_per_kg_dry, burnt_n2o_g_per_kg_dry, burnt_share;
dump_docf, dump_f, dump_mcf; diesel_co2_kg_per_l, machine_l_per_t; n_first_year,
fertiliser_n_co2e_per_kg. A gram per kilogram is a kilogram per tonne.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logistics.scenario import Factors, RowLike, factor_value

Floats = NDArray[np.float64]

KG_CO2_PER_L_DIESEL = 2.67
"""Tank to wheel; a haul newsletter, 2010, as quoted in an excerpt. [kg CO2/L]"""


def disposal_co2e(feedstock: RowLike, fate: str, factors: Factors) -> float:
    """
    Greenhouse gas of what happens today to feedstock that is not collected.

    Parameters
    ----------
    feedstock
        RowLike of `materials.feedstocks`: moisture, carbon.
    fate
        "left", "burnt" or "dumped".
    factors
        Emission factors.

    Returns
    -------
    float
        Per tonne as received; 0 for what is left lying. [kg CO2e/t]

    Notes
    -----
    Burning: dry mass x share burnt x (CH4, N2O per dry tonne). Dumping: carbon x
    share that decays x CH4 share of the gas x 16/12 x correction for air in the
    heap. IPCC, Guidelines, 2006, vol. 4 ch. 2 and vol. 5 ch. 3 (from memory).
    Carbon dioxide from plants and fish is not counted, nor is dumping in water.

    Examples
    --------
    Fish waste dumped in a deep heap, 30.5 kg of methane a tonne:

    >>> fish = {"moisture": 0.76, "carbon": 0.3816}
    >>> half = {"dump_docf": 0.5, "dump_f": 0.5, "dump_mcf": 1}
    >>> round(disposal_co2e(fish, "dumped", half | {"gwp_ch4": 1}), 1)
    30.5
    """
    dry_kg = 1000 * (1 - float(feedstock["moisture"]))

    def factor(code: str) -> float:
        return factor_value(factors, code)

    match fate:
        case "left":
            return 0.0
        case "burnt":
            gas = factor("burnt_ch4_g_per_kg_dry") * factor("gwp_ch4")
            gas += factor("burnt_n2o_g_per_kg_dry") * factor("gwp_n2o")
            return dry_kg / 1000 * factor("burnt_share") * gas
        case "dumped":
            decayed = dry_kg * float(feedstock["carbon"]) * factor("dump_docf")
            methane = decayed * factor("dump_f") * 16 / 12
            return methane * factor("dump_mcf") * factor("gwp_ch4")
    message = f"fate is {fate!r}; it must be left, burnt or dumped"
    raise ValueError(message)


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
