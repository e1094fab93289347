"""Questions of the forms: words of `questions.csv`, all else of `columns.csv`."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logistics.scenario import (
    Column,
    Scenario,
    columns_of,
    is_money,
    library,
    plain_number,
)

FILE = Path(__file__).with_name("questions.csv")
TITLES = {
    "sources": "Mill, landing, field or herd",
    "yards": "Site for a composting yard",
    "markets": "Buyer of compost",
    "roads": "Road under water",
}
"""Table -> what one entry of it is, in the order of the form."""
GROUPS = {"where": "Who and where", "how_much": "How much", "when": "When",
          "ground": "The ground"}  # fmt: skip
WORDS = {
    "tonnes": "Tonnes of it, weighed or estimated",
    "processed": "Tonnes processed: paddy milled or fish landed",
    "cropped": "Hectares cropped",
    "animals": "Animals kept",
    "area": "Hectares of fields",
    "left": "Left where it is",
    "burnt": "Burnt",
    "dumped": "Dumped on land",
    "landfill": "Taken to a deep landfill",
    "heaped": "Heaped, as manure",
    "sea": "Put into the sea, a lake or a river",
}
"""Words of choice -> what an enumerator reads."""
MARKET_WORDS = {"tonnes": "Tonnes of compost"}
NUMBERS = {"number": "decimal", "percent": "decimal", "integer": "integer"}
NEEDED = ("place", "amount", "waste_pct", "yield_t_ha", "residue_ratio",
          "kg_per_head_day", "rate_t_ha", "closed_periods")  # fmt: skip
"""Columns that must be answered where they are asked, besides the required ones."""


@dataclass(frozen=True)
class FormQuestion:
    """
    One question.

    Attributes
    ----------
    table, name
        Table, and the column that the answer fills; `place`, `photo` and
        `ticked_months` are read by `bring`.
    group, words, hint, example
        Part of the form, the question, help, an invented answer.
    kind
        text, decimal, integer, select_one, select_multiple, geopoint or image.
    unit, low, high
        Unit of the answer and its limits; None for none.
    required
        Whether it must be answered.
    needs
        Name of another question and the answer that it needs.
    choices
        Code -> words.
    """

    table: str
    name: str
    group: str
    words: str
    hint: str
    example: str
    kind: str
    unit: str
    low: float | None
    high: float | None
    required: bool
    needs: tuple[str, str]
    choices: Mapping[str, str]

    @property
    def limits(self) -> str:
        """Say the limits with the unit; empty if there are none."""
        if self.low is None or self.high is None:
            return ""
        low, high = plain_number(self.low), plain_number(self.high)
        return f"From {low} to {high} {self.unit}".strip()

    @property
    def asked(self) -> str:
        """Return the question with its unit."""
        return f"{self.words} [{self.unit}]" if self.unit else self.words


def questions_for(scenario: Scenario) -> dict[str, list[FormQuestion]]:
    """
    Return the questions of each table; roads only where the scenario has some.

    Parameters
    ----------
    scenario
        Its feedstocks, seasons, months and roads are what can be chosen.
    """
    found: dict[str, list[FormQuestion]] = {table: [] for table in TITLES}
    with FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found[row["table"]].append(_question(row, scenario))
    if not len(scenario.roads):
        del found["roads"]
    return found


def _question(row: Mapping[str, str], scenario: Scenario) -> FormQuestion:
    table, name = row["table"], row["column"]
    c = {c.name: c for c in columns_of(table)}.get(name)
    choices = _choices(table, name, c, scenario)
    kind = {"months": "select_multiple"}.get(row["kind"], row["kind"])
    if not kind and c is not None:
        kind = _kind(c, choices)
    number = c is not None and kind in {"decimal", "integer"}
    limited = number and c is not None and not is_money(c)
    needs = row["needs"].partition("=")
    return FormQuestion(
        table=table,
        name=name,
        group=row["group"],
        words=row["question"],
        hint=row["hint"],
        example=row["example"],
        kind=kind,
        unit=_unit(c, scenario) if number and c is not None else "",
        low=_least(c, scenario) if limited and c is not None else None,
        high=c.high if limited and c is not None else None,
        required=name in NEEDED or (c is not None and c.required),
        needs=(needs[0], needs[2]),
        choices=choices,
    )


def _least(c: Column, scenario: Scenario) -> float | None:
    """Return the lowest answer; of a site, the area of the smallest size of yard."""
    if (c.table, c.name) == ("yards", "area_m2"):
        return float(scenario.yard_sizes["site_m2"].min())
    return c.low


def _kind(c: Column, choices: Mapping[str, str]) -> str:
    if c.kind == "list":
        return "select_multiple"
    if choices:
        return "select_one"
    return NUMBERS.get(c.kind, "text")


def _unit(c: Column, scenario: Scenario) -> str:
    """Return the unit of a column; the amount has that of its basis, money a name."""
    if c.name == "amount":
        return ""
    return c.unit.strip().replace("money", scenario.settings.currency or "money")


def _choices(
    table: str, name: str, c: Column | None, scenario: Scenario
) -> dict[str, str]:
    """Return codes and words to choose from; empty for a question that is open."""
    if name in {"ticked_months", "closed_periods"}:
        return _named(scenario, "periods", "period")
    if name == "road":
        roads = _named(scenario, "roads", "road")
        return {code: f"{n} ({code})" if n != code else n for code, n in roads.items()}
    if name == "material":
        stock = library("materials").frame
        names = dict(zip(stock["material"], stock["name"], strict=True))
        return {
            code: (n if n != code else str(names.get(code, code)))
            for code, n in _named(scenario, "materials", "material").items()
        }
    if name == "season":
        return {str(code): str(code) for code in scenario.calendar["season"].unique()}
    if c is not None and c.choices:
        words = {**WORDS, **(MARKET_WORDS if table == "markets" else {})}
        return {word: words.get(word, word) for word in c.choices}
    return {}


def _named(scenario: Scenario, table: str, key: str) -> dict[str, str]:
    """Codes of a table and their names; the code where there is none."""
    frame = scenario.table(table)
    pairs = zip(frame[key].tolist(), frame["name"].tolist(), strict=True)
    return {str(code): str(name) or str(code) for code, name in pairs}


def district_choices(scenario: Scenario) -> dict[str, str]:
    """Codes of districts and their names, of the table or as places name them."""
    found = _named(scenario, "districts", "district")
    for table in ("sources", "yards", "markets"):
        for code in scenario.table(table)["district"].tolist():
            if code:
                found.setdefault(str(code), str(code))
    return found
