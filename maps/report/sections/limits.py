"""Report, what limits the plan: what one unit more is worth, grouped and in words."""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd
from markupsafe import Markup

from logistics.results import TABLES, demand_names
from logistics.scenario import records
from maps.report.origins import counted, quoted, room_left, traced
from maps.report.pieces import Cell, Group, Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.shared import (
    KINDS,
    NOUNS,
    LimitKind,
    amount,
    count,
    names,
    net_said,
)

MOST_PLACES = 3
LEAST_SHARE = 0.01
"""Kinds worth less than this share of the cost of a tonne collected are left out."""


GOAL_UNIT = {"uncollected": "t left behind", "co2e": "kg CO2e"}


def goal_unit(facts: Facts) -> str:
    """Give the unit of what the plan makes least."""
    goal = str(facts.result.scenario.settings.goal.minimise)
    return GOAL_UNIT.get(goal, facts.currency)


def goal_text(facts: Facts, value: float) -> str:
    """Write a value of what the plan makes least; a net cost may be a surplus."""
    if facts.result.scenario.settings.goal.minimise == "cost":
        return net_said(value, facts.unit)
    return f"{amount(value)} {goal_unit(facts)}"


def least_worth(facts: Facts) -> float:
    """Worth below which a kind of limit is left out. [goal/unit]"""
    if facts.result.scenario.settings.goal.minimise != "cost" or not facts.collected:
        return 0.0
    return LEAST_SHARE * float(facts.costs["amount"].sum()) / facts.collected


def limits(facts: Facts) -> pd.DataFrame:
    """
    List what one unit more would save, a row a kind and place, dearest kind first.

    Returns
    -------
    DataFrame
        group, kind, material, where (code), periods (number of them), when, best, mean
        [goal/unit], words (the sentence for the dearest).
    """
    table = facts.result.plan.worth
    sources = facts.result.scenario.tables["sources"]
    of_source = dict(zip(sources["source"], sources["material"], strict=True))
    supply = table["kind"] == "supply"
    material = table["where"].map(of_source).where(supply, "").fillna("").astype(str)
    gain = table["value"].where(table["kind"] != "least_share", -table["value"])
    table = table.assign(
        gain=gain, material=material, group=table["kind"] + "/" + material
    )
    table = table[table["gain"] > 0]
    best = table.groupby("group")["gain"].transform("max")
    table = table[best >= least_worth(facts)]
    table = table.sort_values("gain", ascending=False, kind="stable")
    places = table.groupby(["group", "where"], sort=False).agg(
        kind=("kind", "first"),
        material=("material", "first"),
        periods=("when", "nunique"),
        when=("when", "first"),
        best=("gain", "first"),
        mean=("gain", "mean"),
        words=("words", "first"),
    )
    return places.reset_index()


def title(facts: Facts, kind: str, material: str) -> str:
    """Say what is short."""
    if kind == "supply":
        return f"Too little {facts.material_name.get(material, material)}"
    return KINDS[kind].title if kind in KINDS else kind.replace("_", " ").capitalize()


def _place(facts: Facts, kind: str, code: str) -> str:
    """Name of the place or thing that limits."""
    table = TABLES.get(kind)
    if table is None:
        asked = demand_names(facts.result.scenario)
        return asked.get(code, "the district" if code == "district" else code)
    return names(facts.result, table[:-1]).get(code, code)


def digits(value: float) -> int:
    """Decimals for a worth: none in the hundreds."""
    return 0 if value >= 200 else 2


def sentences(facts: Facts, most: int, kinds: Collection[str] = ()) -> list[Markup]:
    """
    Say what limits the plan, one sentence for each kind of limit.

    Parameters
    ----------
    facts
        The plan.
    most
        Number of sentences.
    kinds
        Kinds of limits to tell of; all if none are named.
    """
    found = []
    for _, rows in limits(facts).groupby("group", sort=False):
        top = records(rows)[0]
        if kinds and top["kind"] not in kinds:
            continue
        binding = count(len(rows), *NOUNS.get(top["kind"], ("yard",)))
        found.append(
            Markup("<strong>{}</strong> ({}). {}").format(
                plain(title(facts, top["kind"], top["material"])),
                counted("worth", binding),
                quoted("worth", plain(top["words"])),
            )
        )
        if len(found) == most:
            break
    return found


def section(facts: Facts) -> Section:
    """Write the section on what limits the plan."""
    table, unit = limits(facts), facts.currency
    least = least_worth(facts)
    small = traced(facts, "least_worth", amount(least, 2))
    intro = (
        f"This is what one more unit of something scarce would save, in {unit}, with "
        "the same yards and for a small change only. The most valuable kinds come "
        "first; each has its own unit, so compare only within a kind. "
        + (f"Kinds worth less than {small} are left out. " if least else "")
        + "The sheet worth of plan.xlsx has every place and time."
    )
    pieces: list[Piece] = [Words([intro, room_left(facts)])]
    if table.empty:
        text = "Nothing limits the plan: one more unit of anything would save nothing."
        if facts.result.plan.status == "shortage":
            text = (
                "Not known: while the demands cannot be met, one more unit has no "
                "known value."
            )
        return Section("limits", "What limits the plan", [Words([text])])
    for _, rows in table.groupby("group", sort=False):
        top = records(rows)[0]
        kind = KINDS.get(top["kind"])
        head = title(facts, top["kind"], top["material"])
        means = [Words([kind.means])] if kind else []
        found = _table(facts, rows, head, kind)
        pieces.append(Group(plain(head), [*means, found], "keep"))
    return Section("limits", "What limits the plan", pieces)


def _table(
    facts: Facts, rows: pd.DataFrame, head: str, kind: LimitKind | None
) -> Table:
    """List the dearest places of one kind."""
    shown = []
    for row in records(rows.head(MOST_PLACES)):
        least = digits(row["best"])
        shown.append(
            (
                plain(_place(facts, row["kind"], str(row["where"]))),
                facts.period_name.get(str(row["when"]), str(row["when"])),
                amount(row["best"], least),
                amount(row["mean"], least),
                f"{row['periods']} of {len(facts.periods)}",
            )
        )
    more = len(rows) - MOST_PLACES
    rest = counted("worth", count(more, "more place"))
    what = kind.unit if kind else "one more unit"
    heads: list[Cell] = ["Where", "Worth most in", "Saved then", "Saved on average"]
    return Table(
        f"{plain(head)}: value of {what} [{facts.currency}]",
        [*heads, f"{facts.word.capitalize()}s with this limit"],
        shown,
        words=2,
        note=f"And {rest}, each worth less." if more > 0 else "",
        rows_of=["worth"],
    )
