"""The tables of a way, with headings that carry units."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import records
from maps.shared import clean
from maps.years.way_words import SPENT_ON, rates_words, step_words

if TYPE_CHECKING:
    from maps.years.way_facts import WayFacts

SHEETS = {
    "money": "The money of each year, a column a year; sums are formulas",
    "against doing nothing": "What is gained against paying for disposal as today",
    "steps": "Which yard opens, grows, stands idle or closes in which year",
    "yards": "Size of every yard in every year",
    "tonnes": "What arises, what is collected, what compost is made",
    "trucks": "Own trucks, and those busy when most are",
    "districts": "The money of each year by district",
    "worth": "What each district spends and gains over the years",
    "easing": "What a little more money in a year would save",
}
"""Sheet -> what it answers."""

SAVES = {
    "cost": "one more saves, present value [{}]",
    "uncollected": "one more takes off what is left [t]",
    "co2e": "one more takes off what is emitted [kg CO2e]",
}
"""Goal -> heading of what more money would save."""


def way_tables(facts: WayFacts) -> dict[str, pd.DataFrame]:
    """Return every table but those of formulas, by the name of its sheet."""
    return {
        "steps": _steps(facts),
        "yards": _yards(facts),
        "tonnes": _tonnes(facts),
        "trucks": _trucks(facts),
        "districts": _districts(facts),
        "worth": _worth(facts),
        "easing": _easing(facts),
    }


def money_columns(facts: WayFacts) -> pd.DataFrame:
    """Return the money of the years, a row a year, as a table with units."""
    currency = clean(facts.way.scenario.settings.currency)
    names = {
        "capital_limit": "limit for yards",
        "capital": "spent on yards",
        "carried": "carried into next year",
        "borrowed": "borrowed",
        "recurrent_limit": "limit for running",
        "recurrent": "running cost",
        "income": "income",
        "fees": "of it tipping fees",
        "subsidy": "of it subsidies",
        "outside": "paid by others",
        "interest": "interest",
        "repaid": "repaid",
        "debt": "debt at the end",
        "salvage": "worth of yards after the last year",
        "net": "net cost",
        "value": "present value of net cost",
        "cash": "cash of the year",
        "cumulative": "cash so far",
        "capital_left": "left of the money for yards",
        "recurrent_left": "left of the money for running",
    }
    table = facts.cash[["year", *names]].astype({"year": str})
    return table.rename(columns={k: f"{v} [{currency}]" for k, v in names.items()})


def _steps(facts: WayFacts) -> pd.DataFrame:
    rows = [
        (
            str(row["year"]),
            facts.yard.get(row["yard"], row["yard"]),
            step_words(facts, row["step"], row["size_from"], row["size"]),
            row["capital"],
        )
        for row in records(facts.way.steps)
    ]
    currency = clean(facts.way.scenario.settings.currency)
    heads = ["year", "yard", "what happens", f"cost [{currency}]"]
    return pd.DataFrame(rows, columns=heads).astype({heads[-1]: float})


def _yards(facts: WayFacts) -> pd.DataFrame:
    rows = []
    for yard, years in facts.stands.items():
        cells = []
        for year in facts.way.years:
            one = years.get(year)
            size = "" if one is None else facts.size.get(one.size, one.size)
            cells.append(size if one is None or one.works else f"{size}, idle")
        rows.append((facts.yard.get(yard, yard), *cells))
    return pd.DataFrame(rows, columns=["yard", *map(str, facts.way.years)])


def _tonnes(facts: WayFacts) -> pd.DataFrame:
    table = facts.tonnes.astype({"year": str}).rename(
        columns={
            "arises": "arises [t/yr]",
            "collected": "collected [t/yr]",
            "compost": "compost made [t/yr]",
            "early": "of that ripe a year later, yards being new [t/yr]",
        }
    )
    for yard in facts.by_yard:
        name = facts.yard.get(str(yard), str(yard))
        table[f"taken in at {name} [t/yr]"] = facts.by_yard[yard].tolist()
    return table


def _trucks(facts: WayFacts) -> pd.DataFrame:
    heads = {
        "owned": "own trucks [trucks]",
        "own": "own busy when most are [trucks]",
        "hired": "hired busy then [trucks]",
    }
    return facts.trucks.astype({"year": str}).rename(columns=heads)


def district_name(facts: WayFacts, code: str) -> str:
    """Name a district, or what belongs to none."""
    return facts.district.get(code, code) if code else "no district"


def _districts(facts: WayFacts) -> pd.DataFrame:
    currency = clean(facts.way.scenario.settings.currency)
    words = {
        "capital": "spent on yards",
        "recurrent": "running cost",
        "income": "income",
        "outside": "paid by others",
        "salvage": "worth of yards after the last year",
        "today": "disposal as today",
        "net": "net cost",
        "gain": "gain against doing nothing",
    }
    table = facts.districts[["year", "district", *words]].astype({"year": str})
    table = table[(table[list(words)].abs() > 1e-6).any(axis=1)]
    table = table.assign(district=[district_name(facts, d) for d in table["district"]])
    table = table.rename(columns={k: f"{v} [{currency}]" for k, v in words.items()})
    return table.reset_index(drop=True)


def _worth(facts: WayFacts) -> pd.DataFrame:
    currency = clean(facts.way.scenario.settings.currency)
    rows = [
        (
            district_name(facts, row["district"]),
            row["capital"],
            row["today"],
            row["gain"],
            rates_words(row["rates"]),
        )
        for row in records(facts.worth)
        if row["district"] or abs(row["gain"]) > 1e-6
    ]
    heads = [
        "district",
        f"spent on yards there [{currency}]",
        f"disposal as today, all years [{currency}]",
        f"gain against doing nothing, present value [{currency}]",
        "return",
    ]
    return pd.DataFrame(rows, columns=heads)


def _easing(facts: WayFacts) -> pd.DataFrame:
    saves = SAVES[facts.way.goal]
    currency = clean(facts.way.scenario.settings.currency)
    rows = [
        (
            str(row["year"]),
            SPENT_ON[row["limit"]],
            row["money"],
            row["saves"],
        )
        for row in records(facts.way.easing)
    ]
    heads = [
        "year",
        "money",
        f"limit [{currency}]",
        saves.format(currency),
    ]
    table = pd.DataFrame(rows, columns=heads)
    return table.astype({heads[2]: float, heads[3]: float})
