"""Kilograms for tonnes, and prices per tonne that no compost is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.composting import yearly_demand, yearly_supply
from logistics.diagnosis.finding import Finding, finding, of_row
from logistics.scenario import Problem, records

if TYPE_CHECKING:
    from logistics.scenario import Scenario

CHECK = "kg_for_tonnes"
NEXT = 10.0
"""How far above the next greatest of its kind a source is doubted (judgement)."""
FEWEST = 3
"""Rows of a class: with two nobody can say which is wrong."""
PAD_T_M2 = 10.0
"""
More than a pad composts in a year, by its area. [t/m2/yr]

Common practice, no source: 2 to 6 tonnes for six to ten batches a year.
"""
BEYOND_PADS = 10.0
"""How many times all pads together the district's supply may be (judgement)."""
LARGE_T = 200_000.0
"""
More than a mill or landing takes in a year, in the middle of a district. [t/yr]

Common practice, no source: 600 tonnes of paddy a day all year is a very large mill.
"""
BEYOND_SUPPLY = 100.0
"""How many times all feedstock the compost asked for may be (judgement)."""
RICH_KG_T = 30.0
"""
Of each nutrient in a tonne of very rich compost as sold. [kg/t]

Common practice, no source: 5 to 20 of nitrogen, phosphate and potash each.
"""


def far_above_next(scenario: Scenario) -> list[Finding]:
    """Doubt the greatest source where it is ten times the next of its kind."""
    sources = scenario.sources
    found = []
    for (_, basis), group in sources.groupby(["material", "basis"], sort=False):
        amounts = group["amount"].sort_values(ascending=False)
        if len(amounts) < FEWEST or not amounts.iloc[1] > 0:
            continue
        first, second = float(amounts.iloc[0]), float(amounts.iloc[1])
        if first < NEXT * second:
            continue
        why = f"is {first / second:,.0f} times the next greatest of its kind "
        why += f"({second:,.15g})"
        remedy = "Write it in the unit of the others"
        if basis in ("tonnes", "processed"):
            remedy = f"Write {first / 1000:.12g} if {first:.15g} are kilograms"
        place = sources.index.tolist().index(amounts.index[0])
        said = (first, why, remedy)
        found.append(of_row(CHECK, scenario, "sources", place, "amount", said))
    return found


def more_than_pads_take(scenario: Scenario) -> list[Finding]:
    """Doubt all amounts where every yard at its largest could never take them."""
    supply = float(yearly_supply(scenario)["tonnes_per_year"].sum())
    most = PAD_T_M2 * _pads_m2(scenario)
    sources = scenario.sources
    weighed = sources[sources["basis"].isin(["tonnes", "processed"])]["amount"]
    middle = float(weighed.median()) if len(weighed) >= FEWEST else 0.0
    if most and supply > BEYOND_PADS * most:
        why = (
            f"gives {supply:,.0f} t/yr of feedstock in all rows, {supply / most:,.0f} "
            f"times what every yard at its largest takes at {PAD_T_M2:g} t/m2 a year"
        )
    elif middle > LARGE_T:
        why = (
            f"is {middle:,.0f} t/yr in the middle of all rows, above {LARGE_T:,.0f} of "
            "a very large mill"
        )
    else:
        return []
    remedy = "Divide the amounts by 1000 if they are kilograms"
    problem = Problem("sources.csv", None, "amount", None, why, remedy)
    return [finding(CHECK, ("sources",), problem)]


def _pads_m2(scenario: Scenario) -> float:
    """Sum of the largest pad that fits each yard that may stand. [m2]"""
    sizes = scenario.yard_sizes
    total = 0.0
    for yard in records(scenario.yards):
        fits = sizes[sizes["site_m2"] <= float(yard["area_m2"])]
        if yard["decision"] != "closed" and len(fits):
            total += float(fits["pad_m2"].max())
    return total


def more_than_ever_made(scenario: Scenario) -> list[Finding]:
    """Doubt all demand where it is far above all feedstock."""
    supply = float(yearly_supply(scenario)["tonnes_per_year"].sum())
    asked = float(yearly_demand(scenario)["tonnes_per_year"].sum())
    if not supply or asked <= BEYOND_SUPPLY * supply:
        return []
    why = (
        f"asks for {asked:,.0f} t/yr of compost in all rows, {asked / supply:,.0f} "
        f"times all feedstock ({supply:,.0f} t/yr)"
    )
    remedy = "Divide the amounts by 1000 if they are kilograms"
    problem = Problem("markets.csv", None, "amount", None, why, remedy)
    return [finding(CHECK, ("markets",), problem)]


def dearer_than_fertiliser(scenario: Scenario) -> list[Finding]:
    """Doubt prices above those of fertiliser with a rich compost's nutrients."""
    bought = scenario.fertilisers
    worth = float(np.sum(RICH_KG_T * bought["price_per_kg"] / bought["content"]))
    if not worth > 0:
        return []
    found = []
    for place, price in enumerate(scenario.markets["price_per_t"].tolist()):
        if price > worth:
            why = (
                f"is more than {worth:,.0f}, what fertiliser with {RICH_KG_T:g} kg of "
                "each nutrient costs, and no tonne of compost holds more"
            )
            remedy = "Write the price of a tonne of compost at the farm"
            said = (price, why, remedy)
            found.append(
                of_row("dear_compost", scenario, "markets", place, "price_per_t", said)
            )
    return found
