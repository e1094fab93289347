"""Figures of people near yards and roads, and of how evenly a plan lies."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from maps.tables.lineage_record import ALL, Lineage
from maps.tables.lineage_terms import Rows
from maps.tables.people import WHO

if TYPE_CHECKING:
    from logistics.results import Result

PEOPLE = (ALL, "people")


def nearby(result: Result) -> Iterator[Lineage]:
    """Name heads within each distance, by weight and by road; distances and Gini."""
    near = result.scenario.settings.people
    year = (("period", "=", "the year"),)
    for code, column in (
        ("near", f"people within {near.near_m:g} m of a yard"),
        ("middle", f"people within {near.middle_m:g} m of a yard"),
        ("far", f"people within {near.far_m:g} m of a yard"),
        ("weighted", "people weighted by distance"),
        ("road", "people near a busy road"),
    ):
        rows = Rows("exposure", f"{column} [heads]", year, how="look")
        yield Lineage(f"people_{code}", column.capitalize(), "heads", rows, PEOPLE)
    heads = Rows("people", "people [heads]")
    yield Lineage("people", "People in the tables", "heads", heads, ("people",))
    worst = Rows("people", "people by weight [heads]", how="most")
    title = "Most people by weight of one place"
    yield Lineage("people_worst", title, "heads", worst, PEOPLE)
    currency = result.scenario.settings.currency
    for who, words in WHO.items():
        of = words.format(currency=currency)
        unit = f"{currency}/t" if who == "districts" else "km"
        for code, column in (
            ("mean", "mean by tonnes [unit beside it]"),
            ("gini", "Gini index [1]"),
            ("worst", "mean of the worst tenth [unit beside it]"),
            ("most", "greatest [unit beside it]"),
        ):
            rows = Rows("fairness", column, (("of whom", "=", of),), how="look")
            plain = column.partition(" [")[0]
            title = f"{plain[0].upper()}{plain[1:]}, {of}"
            each = "" if code == "gini" else unit
            yield Lineage(f"fair/{who}/{code}", title, each, rows)
