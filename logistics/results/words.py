"""What limits a plan, in the planner's words."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.model import least_shares

if TYPE_CHECKING:
    from logistics.scenario import Scenario

WORDS = {
    "supply": "One more tonne of {material} at {where} in {when} would {change}.",
    "pad": "One more m3 of pad at {where} in {when} would {change}.",
    "store": "One more m3 of feedstock store at {where} in {when} would {change}.",
    "compost_store": (
        "One more m3 of compost store at {where} in {when} would {change}."
    ),
    "water": "One more m3 of water at {where} in {when} would {change}.",
    "cn_high": "Allowing C:N to rise one point at {where} in {when} would {change}.",
    "cn_low": "Allowing C:N to fall one point at {where} in {when} would {change}.",
    "moist_high": "A mix one point wetter at {where} in {when} would {change}.",
    "moist_low": "A mix one point drier at {where} in {when} would {change}.",
    "trucks": (
        "One more hour of our own {where}, where most short, in {when} would {change}."
    ),
    "demand": "Selling one more tonne at {where} in {when} would {change}.",
    "least_share": "Asking for one tonne less than {where} would {change}.",
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
    """Two decimals; none in the hundreds, two figures where two would say nothing."""
    if value >= 200:
        return f"{value:,.0f}"
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
    named["policy"] = demand_names(scenario)
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
                where=named.get(TABLES.get(kind, "policy"), {}).get(where, where),
                when=periods.get(str(row.when), str(row.when)),
                change=change.format(amount=_amount(abs(value)), currency=unit),
            )
        )
    return worth.assign(words=pd.Series(words, index=worth.index, dtype="str"))


def demand_names(scenario: Scenario) -> dict[str, str]:
    """Say in words what each least share of the table policy asks for, by its code."""
    return {
        rule.code: f"{rule.share * 100:.4g}% of {rule.name}"
        for rule in least_shares(scenario)
    }


MUST_OPEN = "yards that must be open"
"""The demand that a yard be open, as a shortage of a plan whose yards are given."""


def explain_shortages(shortages: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """Add a column `words` to the demands that give way; money gets its currency."""
    places = _names(scenario.yards, "yard") | _names(scenario.sources, "source")
    places |= _names(scenario.markets, "market")
    periods = _names(scenario.periods, "period")
    currency = scenario.settings.currency
    table = shortages.assign(unit=shortages["unit"].replace("money", currency))
    several = len(set(shortages["what"])) > 1
    words = []
    for row in table.itertuples():
        lead = (
            "If only this is relaxed: "
            if row.how == "alone"
            else "If all are relaxed: "
        )
        where, when = str(row.where), str(row.when)
        place = "" if where == "district" else f" at {places.get(where, where)}"
        time = "" if when == "year" else f" in {periods.get(when, when)}"
        falls = "falls short by" if row.limit == "least" else "must rise by"
        what = str(row.what)
        start = f"{lead}{what}" if several else what[:1].upper() + what[1:]
        if what == MUST_OPEN:
            words.append(f"{places.get(where, where)} must be open and is not.")
            continue
        more = _short_by(float(row.amount), str(row.unit))  # type: ignore[arg-type]
        words.append(f"{start}{place}{time} {falls} {more}.")
    return table.assign(words=pd.Series(words, index=table.index, dtype="str"))


def _short_by(amount: float, unit: str) -> str:
    """
    Write an amount that a demand must give; yards come whole.

    >>> _short_by(1.0000001, "yards"), _short_by(2.4, "yards"), _short_by(2.4, "t")
    ('1 yard', '3 yards', '2.4 t')
    >>> _short_by(0.04, "t"), _short_by(0.1, "t")
    ('0.04 t', '0.1 t')
    """
    if unit != "yards":
        small = 0 < abs(amount) < 0.1
        return f"{amount:.1g} {unit}" if small else f"{amount:,.1f} {unit}"
    count = math.ceil(amount - 1e-4)
    return f"{count:,} yard" + ("" if count == 1 else "s")


def _names(table: pd.DataFrame, key: str) -> dict[str, str]:
    """Return the name of each code, with the code behind it where names repeat."""
    return told_apart(table[key].tolist(), table["name"].tolist())


def told_apart(codes: list[str], names: list[str]) -> dict[str, str]:
    """
    Name every code; the code itself without a name, and behind a name of several.

    >>> told_apart(["a", "b", "c", "d"], ["Pier", "Mill", "Pier", ""])
    {'a': 'Pier (a)', 'b': 'Mill', 'c': 'Pier (c)', 'd': 'd'}
    """
    shown = [name or code for code, name in zip(codes, names, strict=True)]
    count = Counter(shown)
    return {
        code: f"{name} ({code})" if count[name] > 1 and name != code else name
        for code, name in zip(codes, shown, strict=True)
    }
