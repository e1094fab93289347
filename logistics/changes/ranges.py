"""What is not known for certain: ranges, and draws from them as ordinary changes."""

from __future__ import annotations

import typing
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from logistics.changes.files import ChangeSet, Step, apply_changes, arguments_of
from logistics.changes.registry import CHANGES
from logistics.scenario import (
    Problem,
    Row,
    Scenario,
    ScenarioError,
    choose_from,
    in_list,
    library,
    records,
)

LIBRARY_PLACE, OWN_PLACE = "library/ranges.csv", "ranges.csv"
DIGITS = 5
"""Figures kept of a drawn number, so that people can read it."""


@dataclass(frozen=True)
class Range:
    """
    One uncertain number, or one for each of several codes.

    Attributes
    ----------
    code, name, source
        As in the table.
    change, argument
        What is changed, and its argument that is drawn.
    fixed
        Arguments of every step; one step, and one number, an entry.
    low, likely, high
        In the unit of the argument; likely is None where all values are alike.
    place
        File that says so.
    """

    code: str
    name: str
    source: str
    change: str
    argument: str
    fixed: tuple[Mapping[str, str], ...]
    low: float
    likely: float | None
    high: float
    place: str

    def steps(self, values: Sequence[float]) -> tuple[Step, ...]:
        """Write values, one for each of `fixed`, as changes."""
        whole = int in _kinds(self.change, self.argument)
        return tuple(
            Step(
                self.change,
                {
                    **fixed,
                    self.argument: round(value)
                    if whole
                    else float(f"{value:.{DIGITS}g}"),
                },
                self.place,
            )
            for fixed, value in zip(self.fixed, values, strict=True)
        )

    def at(self, value: float) -> tuple[Step, ...]:
        """Write one value for all as changes."""
        return self.steps([value] * len(self.fixed))


def _kinds(change: str, argument: str) -> tuple[object, ...]:
    """Types that an argument may have."""
    annotation = arguments_of(change)[argument].annotation
    return typing.get_args(annotation) or (annotation,)


def read_ranges(scenario: Scenario) -> list[Range]:
    """
    Read the ranges: those of the scenario, or else those of the library.

    Library ranges of feedstocks that the scenario does not have are left out.

    Raises
    ------
    ScenarioError
        With every range that names an unknown change, argument or code, whose ends
        are in the wrong order, or whose ends cannot be applied to the scenario.
    """
    own = not scenario.table("ranges").empty
    table = scenario.table("ranges") if own else library("ranges").frame
    place = OWN_PLACE if own else LIBRARY_PLACE
    found: list[Range] = []
    problems: list[Problem] = []
    for number, row in enumerate(records(table), start=2):
        try:
            one = _range(row, number, place, scenario)
        except ScenarioError as error:
            problems += error.problems
            continue
        if one.fixed or own:
            found.append(one)
    for one in found:
        for value in (one.low, one.high):
            try:
                apply_changes(scenario, ChangeSet("", "", "", one.at(value)))
            except ScenarioError as error:
                problems += error.problems
    if problems:
        raise ScenarioError(problems)
    return found


def _range(row: Row, number: int, place: str, scenario: Scenario) -> Range:
    """Read one row."""

    def refuse(column: str, why: str, remedy: str) -> typing.NoReturn:
        raise ScenarioError([Problem(place, number, column, row[column], why, remedy)])

    if row["change"] not in CHANGES:
        refuse("change", "is not a change", choose_from(row["change"], list(CHANGES)))
    arguments = arguments_of(row["change"])
    numbers = [n for n in arguments if {int, float} & set(_kinds(row["change"], n))]
    if row["argument"] not in numbers:
        why = f"is not a number that {row['change']} takes"
        refuse("argument", why, choose_from(row["argument"], numbers))
    each = row["each"]
    if each != "all" and each not in arguments:
        words = ["all", *(n for n in ("material", "source", "market", "yard", "truck",
                                      "road") if n in arguments)]  # fmt: skip
        why = f"is not something that {row['change']} can vary separately"
        refuse("each", why, f"Use one of: {in_list(words)}")
    likely: float | None = None if pd.isna(row["likely"]) else float(row["likely"])
    middle = row["low"] if likely is None else likely
    if not row["low"] <= middle <= row["high"]:
        refuse("high", "is out of order", "Write low, likely and high in rising order")
    where: dict[str, str] = {}
    for part in str(row["where"] or "").split():
        name, equal, code = part.partition("=")
        if not equal:
            refuse("where", "has no =", "Write name=code, several separated by spaces")
        where[name] = code
    try:
        fixed = _fixed(each, where, scenario, library_row=place == LIBRARY_PLACE)
    except KeyError as error:
        refuse(
            "where",
            f"asks for {error}, which is not a column of the {each}s",
            "Name one of them",
        )
    if not fixed and place == OWN_PLACE:
        refuse(
            "where", f"matches none of the {each}s", "Remove it, or remove the range"
        )
    return Range(
        row["range"], str(row["name"] or row["range"]), str(row["source"] or ""),
        row["change"], row["argument"], fixed,
        float(row["low"]), likely, float(row["high"]), place,
    )  # fmt: skip


def _fixed(
    each: str, where: Mapping[str, str], scenario: Scenario, *, library_row: bool
) -> tuple[Mapping[str, str], ...]:
    """Arguments of every step of a range."""
    present = set(scenario.sources["material"])
    if each == "all":
        known = where.get("material", "all") in {"all", *present}
        return (dict(where),) if known or not library_row else ()
    table = scenario.table(f"{each}s")
    fits = pd.Series(data=True, index=table.index)
    for column, code in where.items():
        fits &= table[column].astype(str) == code
    codes = [str(code) for code in table.loc[fits, each]]
    return tuple({each: c} for c in codes if each != "material" or c in present)


def draw(ranges: Sequence[Range], seed: int, number: int) -> tuple[Step, ...]:
    """
    Draw all ranges once; the same seed and number give the same draw.

    Each range is drawn on its own, uniform between its ends or from a triangle with
    its peak at the likeliest value. Draw 7 does not depend on how many are made.
    """
    steps: list[Step] = []
    for one in ranges:
        code = list(one.code.encode())
        rng = np.random.default_rng([seed, number, *code])
        size = len(one.fixed)
        if one.likely is None or one.low == one.high:
            values = rng.uniform(one.low, one.high, size)
        else:
            values = rng.triangular(one.low, one.likely, one.high, size)
        steps += one.steps(values.tolist())
    return tuple(steps)


def ranges_table(ranges: Sequence[Range]) -> pd.DataFrame:
    """
    Show the ranges in use.

    Returns
    -------
    DataFrame
        range, name, change, argument, numbers (how many are drawn), low, likely,
        high, basis ("library: default, not local" or "scenario"), source.
    """
    rows = [
        {
            "range": r.code,
            "name": r.name,
            "change": r.change,
            "argument": r.argument,
            "numbers": len(r.fixed),
            "low": r.low,
            "likely": r.likely,
            "high": r.high,
            "basis": "scenario"
            if r.place == OWN_PLACE
            else "library: default, not local",
            "source": r.source,
        }
        for r in ranges
    ]
    return pd.DataFrame(rows)
