"""What limits a plan, in the planner's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from logistics.scenario import Scenario

WORDS = {
    "supply": "One tonne more {material} at {where} in {when} would {change}.",
    "pad": "One m3 more pad at {where} in {when} would {change}.",
    "store": "One m3 more feedstock store at {where} in {when} would {change}.",
    "compost_store": "One m3 more compost store at {where} in {when} would {change}.",
    "water": "One m3 more water at {where} in {when} would {change}.",
    "cn_high": "A C:N limit one point higher at {where} in {when} would {change}.",
    "cn_low": "A C:N limit one point lower at {where} in {when} would {change}.",
    "moist_high": "A wetter limit, by one point, at {where} in {when} would {change}.",
    "moist_low": "A drier limit, by one point, at {where} in {when} would {change}.",
    "trucks": "One more owned hour of {where} in {when} would {change}.",
    "demand": "Room for one tonne more at {where} in {when} would {change}.",
    "least_share": "Having to collect one tonne less under {where} would {change}.",
    "budget": "One more unit of yearly budget would {change}.",
}

TABLES = {
    "supply": "sources",
    "demand": "markets",
    "trucks": "trucks",
    "pad": "yards",
    "store": "yards",
    "compost_store": "yards",
    "water": "yards",
    "cn_high": "yards",
    "cn_low": "yards",
    "moist_high": "yards",
    "moist_low": "yards",
}


CHANGES = {
    "cost": ("save {amount} {currency}", "cost {amount} {currency}"),
    "uncollected": ("collect {amount} t more", "leave {amount} t more"),
    "co2e": ("save {amount} kg CO2e", "emit {amount} kg CO2e more"),
}
"""How the goal gets better, and worse."""


def _amount(value: float) -> str:
    """Two decimals; two figures where that would say next to nothing."""
    return f"{value:,.2f}" if value >= 0.1 else f"{value:.2g}"


def explain_worth(worth: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """
    Add a column `words` to the table of what one unit more is worth.

    Worth is in the unit of the goal: money, tonnes not collected or emissions.
    A least share works the other way round: its value says what a tonne more
    demanded would save, so the sentence turns the sign.
    """
    periods = _names(scenario.periods, "period")
    named = {t: _names(scenario.table(t), t[:-1]) for t in set(TABLES.values())}
    materials = _names(scenario.materials, "material")
    of_source = dict(
        zip(scenario.sources["source"], scenario.sources["material"], strict=True)
    )
    goal = scenario.settings.goal.minimise
    better, worse = CHANGES[goal]
    unit = scenario.settings.currency
    words = []
    for row in worth.itertuples():
        kind, where = str(row.kind), str(row.where)
        value = float(row.value)  # type: ignore[arg-type]
        change = better if (value > 0) != (kind == "least_share") else worse
        words.append(
            WORDS[kind].format(
                material=materials.get(of_source.get(where, ""), ""),
                where=named.get(TABLES.get(kind, ""), {}).get(where, where),
                when=periods.get(str(row.when), str(row.when)),
                change=change.format(amount=_amount(abs(value)), currency=unit),
            )
        )
    return worth.assign(words=pd.Series(words, index=worth.index, dtype="str"))


def explain_shortages(shortages: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """Add a column `words` to the demands that give way; money gets its currency."""
    sources = _names(scenario.sources, "source")
    periods = _names(scenario.periods, "period")
    currency = scenario.settings.currency
    table = shortages.assign(unit=shortages["unit"].replace("money", currency))
    words = []
    for row in table.itertuples():
        lead = "If only this gives" if row.how == "alone" else "If all give"
        where, when = str(row.where), str(row.when)
        place = "" if where == "district" else f" at {sources.get(where, where)}"
        time = "" if when == "year" else f" in {periods.get(when, when)}"
        falls = "falls short by" if row.unit == "t" else "must rise by"
        words.append(
            f"{lead}: {row.what}{place}{time} {falls} {row.amount:,.1f} {row.unit}."
        )
    return table.assign(words=pd.Series(words, index=table.index, dtype="str"))


def _names(table: pd.DataFrame, key: str) -> dict[str, str]:
    """Return the name of each code; the code itself where there is no name."""
    return {
        code: name or code for code, name in zip(table[key], table["name"], strict=True)
    }
