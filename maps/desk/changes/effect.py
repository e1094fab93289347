"""What changes do to a plan whose yards stay: money, tonnes and what moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from maps.desk.figures import differences, written

if TYPE_CHECKING:
    import pandas as pd

    from logistics.changes import ChangeSet
    from logistics.results import Result

MOVED = 15
"""Hauls that changed most, of those shown."""
LEAST = 0.5
"""Tonnes or money a year below which nothing has changed. [t/yr or money/yr]"""
LEFT_OUT = ("Proven gap",)
"""Figures that say nothing while yards are given."""

Yards = tuple[tuple[str, str], ...]
Effect = dict[str, Any]


def yards_after(yards: Yards, steps: Sequence[Mapping[str, Any]]) -> Yards:
    """
    Return the yards of a plan as changes decide on them; all others stay.

    >>> old = (("a", "small"), ("b", "small"))
    >>> yards_after(old, [{"do": "close_yard", "yard": "a"}])
    (('b', 'small'),)
    >>> yards_after(old, [{"do": "build_yard", "yard": "c", "size": "large"}])
    (('a', 'small'), ('b', 'small'), ('c', 'large'))
    """
    found = dict(yards)
    for step in steps:
        yard = str(step.get("yard", ""))
        if step.get("do") == "close_yard":
            found.pop(yard, None)
        elif step.get("do") == "build_yard":
            found[yard] = str(step.get("size", ""))
    return tuple(found.items())


def effect_of(base: Result, after: Result, change: ChangeSet) -> Effect:
    """
    Say what changes do, as texts and numbers that JSON holds.

    Parameters
    ----------
    base, after
        The plan, and the same yards under the changes; both with estimated haulage.
    change
        The changes.
    """
    from logistics.studies import Outcome, by_line
    from maps.shared import headed, shortage_sentences

    outcome = Outcome(change, after, after)
    lines = headed(by_line(base, [outcome]), base.scenario)
    lines.columns = ["account", "line", "before", "after"]
    return {
        "status": after.plan.status,
        "shortages": shortage_sentences(after)[:8],
        "homes": homes_words(base, after),
        "currency": base.scenario.settings.currency,
        "figures": [
            [a.label, a.unit, a.text, b.text, apart]
            for a, b, apart in differences(base.summary, after.summary)
            if a.label not in LEFT_OUT
        ],
        "money": money_rows(lines),
        "moved": moved_rows(base, after),
        "yards": yard_rows(base, after),
    }


def money_rows(lines: pd.DataFrame) -> list[list[str]]:
    """
    Write the lines of the money that differ, and their sum.

    Parameters
    ----------
    lines
        account, line, before, after. [money/yr]
    """
    columns = (lines[name] for name in ("account", "line", "before", "after"))
    rows = [
        [said_of(account, line), written(was), written(now), apart(now - was)]
        for account, line, was, now in zip(*columns, strict=True)
        if abs(now - was) >= LEAST
    ]
    was, now = float(lines["before"].sum()), float(lines["after"].sum())
    return [*rows, ["Net cost", written(was), written(now), apart(now - was)]]


def said_of(account: str, line: str) -> str:
    """
    Name a line of the money.

    >>> said_of("haulage in", "crew"), said_of("sales", "sales")
    ('Haulage in: crew', 'Sales')
    """
    text = account if account == line else f"{account}: {line}"
    text = text.replace("_", " ")
    return text[:1].upper() + text[1:]


def apart(value: float) -> str:
    """
    Write a difference with its sign.

    >>> apart(1234.5), apart(-3.0), apart(0.2)
    ('+1,234', '−3', '0')
    """
    text = written(value)
    return f"+{text}" if value > 0 and text != "0" else text


def moved_rows(base: Result, after: Result) -> list[list[str]]:
    """Hauls from source to yard that changed most: from, to, before, after. [t/yr]"""
    from maps.shared import names

    sources = names(base, "source") | names(after, "source")
    yards = names(base, "yard") | names(after, "yard")
    tonnes = both(base.plan.hauls, after.plan.hauls, ["source", "yard"])
    rows = [
        (sources.get(source, source), yards.get(yard, yard), was, now)
        for (source, yard), was, now in tonnes.itertuples()
    ]
    rows.sort(key=lambda row: -abs(row[3] - row[2]))
    return [
        [source, yard, written(was), written(now), apart(now - was)]
        for source, yard, was, now in rows[:MOVED]
        if abs(now - was) >= LEAST
    ]


def yard_rows(base: Result, after: Result) -> list[list[str]]:
    """Tonnes that every yard of either plan takes: yard, before, after. [t/yr]"""
    from maps.shared import names

    yards = names(base, "yard") | names(after, "yard")
    tonnes = both(base.plan.hauls, after.plan.hauls, ["yard"])
    return [
        [yards.get(yard, yard), written(was), written(now), apart(now - was)]
        for yard, was, now in tonnes.itertuples()
    ]


def homes_words(base: Result, after: Result) -> str:
    """Say where own trucks are at home; nothing where none has a home."""
    from logistics.scenario import in_list
    from maps.shared import names

    if base.plan.bases.empty and after.plan.bases.empty:
        return ""
    trucks = names(base, "truck") | names(after, "truck")
    yards = names(base, "yard") | names(after, "yard")
    were, are = (homes_of(result.plan.bases) for result in (base, after))
    placed = [
        f"{trucks.get(truck, truck)} at {yards.get(yard, yard)} ({more})"
        for (truck, yard), count in are.items()
        if (more := count - were.get((truck, yard), 0)) > 0
    ]
    stay = "Own trucks stay at home where they are"
    return f"{stay}; placed anew: {in_list(placed)}." if placed else f"{stay}."


def homes_of(bases: pd.DataFrame) -> dict[tuple[str, str], int]:
    """Count own trucks by type and the yard they are at home."""
    rows = bases.itertuples(index=False, name=None)
    return {(str(truck), str(yard)): int(count) for truck, yard, count in rows}


def both(before: pd.DataFrame, after: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """Tonnes of two plans' hauls by their keys: columns before, after. [t/yr]"""
    import pandas as pd

    sums = {
        name: table.groupby(by)["tonnes"].sum()
        for name, table in (("before", before), ("after", after))
    }
    return pd.DataFrame(sums).fillna(0.0)
