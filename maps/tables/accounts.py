"""Output tables of nutrients and emissions: accounts that add up, with their range."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts import (
    STEPS,
    emission_account,
    emission_bounds,
    nutrient_account,
    nutrient_coverage,
    soil_carbon,
    standard_table,
    values_of,
    work_table,
)
from maps.shared import named, names

if TYPE_CHECKING:
    from logistics.results import Result

HEADS = {"n": "N [t/yr]", "p2o5": "P2O5 [t/yr]", "k2o": "K2O [t/yr]", "c": "C [t/yr]"}
NUTRIENT = {"n": "N", "p2o5": "P2O5", "k2o": "K2O"}


def nutrients(result: Result) -> pd.DataFrame:
    """Nutrients and carbon from where they arise to the fields; losses by name."""
    table = nutrient_account(result).rename(columns=HEADS)
    table.insert(0, "step", [STEPS[step] for step in table.index])
    return table.reset_index(drop=True)


def limited(result: Result) -> pd.DataFrame:
    """Markets with a limit a hectare: what they get of it, as made, and the limit."""
    table = result.limited
    return pd.DataFrame(
        {
            "market": table["market"],
            "name": named(table["market"], names(result, "market")),
            "substance": table["substance"].map(str.upper),
            "as made [kg/ha]": table["kg_ha"],
            "limit [kg/ha]": table["limit_kg_ha"],
        }
    ).reset_index(drop=True)


def standards(result: Result) -> pd.DataFrame:
    """Compost by yard and month against product standards; never a certificate."""
    table = standard_table(result)
    table["yard"] = named(table["yard"], names(result, "yard"))
    table["period"] = named(table["period"], names(result, "period"))
    table["passed"] = table["passed"].map({True: "yes", False: "no"})
    return table.drop(columns="standard").rename(
        columns={
            "name": "standard",
            "period": "windrow started in",
            "passed": "keeps the limits compared",
            "failings": "limits not kept",
            "others": "not compared",
            "status": "limits are from",
        }
    )


def coverage(result: Result) -> pd.DataFrame:
    """Need of each market covered by the compost, and what that is worth."""
    table, money = nutrient_coverage(result), result.scenario.settings.currency
    table["market"] = named(table["market"], names(result, "market"))
    table["nutrient"] = table["nutrient"].map(NUTRIENT)
    for column in ("share", "share_later"):
        table[column] = table[column].astype(float) * 100
    return table.rename(
        columns={
            "ha": "area [ha]",
            "rate_t_ha": "compost [t/ha]",
            "applied": "applied [kg/ha]",
            "first_year": "usable in the first year [kg/ha]",
            "later": "usable if dressed every year [kg/ha]",
            "need": "need [kg/ha]",
            "share": "covered in the first year [%]",
            "share_later": "covered if dressed every year [%]",
            "fertiliser": "fertiliser replaced",
            "saved_kg": "not bought in the first year [kg/yr]",
            "value": f"amount [{money}/yr] saved in the first year",
            "value_later": f"amount [{money}/yr] saved if dressed every year",
        }
    )


def emissions(result: Result) -> pd.DataFrame:
    """Gases today and with the plan, by line and month; below zero is avoided."""
    table = emission_account(result)
    keys = ["case", "line", "gas", "period", "unit"]
    sums = table.groupby(keys, sort=False, as_index=False)[
        ["quantity", "kg", "co2e"]
    ].sum()
    sums["period"] = named(sums["period"], names(result, "period"))
    sums["kg"], sums["co2e"] = sums["kg"] / 1000, sums["co2e"] / 1000
    order = ["case", "line", "gas", "period", "quantity", "unit", "kg", "co2e"]
    return sums[order].rename(
        columns={"kg": "gas emitted [t/yr]", "co2e": "as CO2e [t/yr]"}
    )


def work(result: Result) -> pd.DataFrame:
    """Hours on the yards and on the road by month, and the people they keep busy."""
    table = work_table(result)
    table["yard"] = named(table["yard"], names(result, "yard"))
    table["period"] = named(table["period"], names(result, "period"))
    table["peak"] = table["peak"].map({True: "yes", False: ""})
    return table.rename(
        columns={
            "charge_t": "into windrows [t]",
            "hand_h": "yard work by hand [h]",
            "loader_h": "yard work with a loader [h]",
            "truck_h": "trucks [h]",
            "hand_people": "people, by hand [persons]",
            "loader_people": "people, with a loader [persons]",
            "crews": "truck crews [crews]",
            "truck_h_week": "trucks [h/week]",
            "peak": "busiest",
        }
    )


WHAT = {
    "today": "today, all of it disposed of as now",
    "plan": "with the plan",
    "difference": "the plan against today",
}


def emission_range(result: Result) -> pd.DataFrame:
    """Emissions with their range, the factors behind it, and soil carbon apart."""
    totals, effects = emission_bounds(result)
    rows = [
        (WHAT[what], *(x / 1000 for x in (co2e, low, high)), "root of sum of squares")
        for what, co2e, low, high in totals.itertuples(index=False)
    ]
    middle = float(totals.loc[totals["what"] == "difference", "co2e"].iloc[0])
    for factor, low, high, at_low, at_high in effects.itertuples(index=False):
        note = f"the difference with {factor} from {low:g} to {high:g} alone"
        ends = sorted((at_low / 1000, at_high / 1000))
        rows.append((f"range of {factor}", middle / 1000, *ends, note))
    kept = 0.0 - soil_carbon(result) / 1000
    note = "apart, in no total; off while the factor soil_carbon_share is 0"
    rows.append(("carbon kept in the soil", kept, float("nan"), float("nan"), note))
    gwp = values_of(result.scenario.factors)
    text = f"GWP of 100 years: CH4 {gwp['gwp_ch4']:g}, N2O {gwp['gwp_n2o']:g}"
    rows.append((text, float("nan"), float("nan"), float("nan"), ""))
    unit = "t of CO2e"
    columns = ["what", f"middle [{unit}]", f"low [{unit}]", f"high [{unit}]", "how"]
    return pd.DataFrame(rows, columns=columns)
