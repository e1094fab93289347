"""
Greenhouse gas of what happens today to feedstock that is not collected.

Codes of the table factors used here: burnt_ch4_g_per_kg_dry, burnt_n2o_g_per_kg_dry,
burnt_share; dump_docf, dump_f, dump_mcf, landfill_mcf; heap_bo_m3_per_kg, heap_mcf,
heap_n2o_n_share; sea_mcf; gwp_ch4, gwp_n2o.
"""

from collections.abc import Callable

from logistics.scenario import Factors, RowLike, factor_value, in_list

KG_CH4_PER_M3 = 0.67
"""IPCC, Guidelines, 2006, vol. 4 ch. 10, equation 10.23 (from memory). [kg/m3]"""

Gases = dict[str, float]
"""CH4 and N2O. [kg/t as received]"""


def disposal_gases(feedstock: RowLike, way: str, factors: Factors) -> Gases:
    """
    Gases of a tonne that is not collected.

    Parameters
    ----------
    feedstock
        RowLike of `materials.feedstocks`: moisture, carbon; nitrogen and ash for
        "heaped".
    way
        What becomes of it: a key of `WAYS`.
    factors
        Emission factors.

    Returns
    -------
    dict
        CH4 and N2O per tonne as received; empty for "left", for which no factor is
        known. [kg/t]

    Notes
    -----
    Burning: dry mass x share burnt x gas per dry tonne. IPCC, Guidelines, 2006, vol. 4
    ch. 2. A heap or landfill: carbon x share that decays x CH4 share of the gas x
    16/12 x correction for air; vol. 5 ch. 3. Manure in a heap: volatile solids x most
    CH4 they can give x 0.67 x conversion, and a share of the nitrogen as N2O-N; vol. 4
    ch. 10. Water: carbon x CH4 share x 16/12 x sea_mcf, which is 0 unless the user
    knows better, since the guidelines have a factor for waste water only (all from
    memory). Carbon dioxide from plants and fish is not counted.

    Examples
    --------
    Fish waste in a deep landfill without air, 30.5 kg of methane a tonne:

    >>> fish = {"moisture": 0.76, "carbon": 0.3816}
    >>> half = {"dump_docf": 0.5, "dump_f": 0.5, "landfill_mcf": 1}
    >>> round(disposal_gases(fish, "landfill", half)["CH4"], 1)
    30.5
    """
    if way not in WAYS:
        message = f"the way is {way!r}; it must be one of {in_list(WAYS)}"
        raise ValueError(message)
    return WAYS[way](feedstock, factors)


def disposal_co2e(feedstock: RowLike, way: str, factors: Factors) -> float:
    """Greenhouse gas of a tonne that is not collected. [kg CO2e/t as received]"""
    gases = disposal_gases(feedstock, way, factors)
    return sum(
        kg * factor_value(factors, f"gwp_{g.lower()}") for g, kg in gases.items()
    )


def without_factor(factors: Factors) -> set[str]:
    """Ways for which no emission factor is known, so that they count as none."""
    return {"left"} | ({"sea"} if factor_value(factors, "sea_mcf") == 0 else set())


def _left(_: RowLike, __: Factors) -> Gases:
    return {}


def _burnt(feedstock: RowLike, factors: Factors) -> Gases:
    dry_t = _dry_kg(feedstock) / 1000
    share = factor_value(factors, "burnt_share")
    return {
        gas.upper(): dry_t * share * factor_value(factors, f"burnt_{gas}_g_per_kg_dry")
        for gas in ("ch4", "n2o")
    }


def _buried(code: str) -> Callable[[RowLike, Factors], Gases]:
    """Decay without air; the code names the correction for air that gets in."""

    def gases(feedstock: RowLike, factors: Factors) -> Gases:
        carbon = _dry_kg(feedstock) * float(feedstock["carbon"])
        decayed = carbon * factor_value(factors, "dump_docf")
        methane = decayed * factor_value(factors, "dump_f") * 16 / 12
        return {"CH4": methane * factor_value(factors, code)}

    return gases


def _heaped(feedstock: RowLike, factors: Factors) -> Gases:
    volatile = _dry_kg(feedstock) * (1 - float(feedstock["ash"]))
    most = volatile * factor_value(factors, "heap_bo_m3_per_kg") * KG_CH4_PER_M3
    nitrogen = _dry_kg(feedstock) * float(feedstock["nitrogen"])
    return {
        "CH4": most * factor_value(factors, "heap_mcf"),
        "N2O": nitrogen * factor_value(factors, "heap_n2o_n_share") * 44 / 28,
    }


def _sea(feedstock: RowLike, factors: Factors) -> Gases:
    carbon = _dry_kg(feedstock) * float(feedstock["carbon"])
    methane = carbon * factor_value(factors, "dump_f") * 16 / 12
    return {"CH4": methane * factor_value(factors, "sea_mcf")}


def _dry_kg(feedstock: RowLike) -> float:
    """Dry matter of a tonne. [kg/t]"""
    return 1000 * (1 - float(feedstock["moisture"]))


WAYS: dict[str, Callable[[RowLike, Factors], Gases]] = {
    "left": _left,
    "burnt": _burnt,
    "dumped": _buried("dump_mcf"),
    "landfill": _buried("landfill_mcf"),
    "heaped": _heaped,
    "sea": _sea,
}
"""The choices of `sources.disposal`, each with its gases."""
