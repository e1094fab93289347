"""Report, where each number comes from: a row a figure, with its tables and inputs."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from maps.report.origins import COUNT, SENTENCE, anchor
from maps.report.pieces import Cell, Group, Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.tables import Lineage, rests_on

CHIEF = (
    "collected",
    "made",
    "demand_met",
    "costs",
    "income",
    "programme",
    "net",
    "net_per_t",
    "haulage",
    "capital",
    "bound",
    "defaults",
)
"""Families that are printed; the screen has all."""
INTRO = (
    "On screen every figure in a sentence leads here. A table or drawing names, behind "
    "its heading, the sheets of plan.xlsx with its rows. The sheet lineage of "
    "plan.xlsx has every figure with a formula over the other sheets and the number of "
    "defaults it rests on; defaults_used lists the defaults, assumptions their "
    "sources. The same tables are in the folder plan.csv. Paper has the chief figures "
    "only."
)
TOLD = (
    (SENTENCE, "Whole sentences", "as they stand in the sheet named"),
    (COUNT, "How many more there are", "rows of the sheet named"),
)


def section(facts: Facts) -> Section:
    """List the figures of the register, a row a family; on paper the chief ones."""
    families: dict[str, list[Lineage]] = {}
    for each in facts.lineage.values():
        families.setdefault(each.family, []).append(each)
    rows = {code: _row(code, members) for code, members in families.items()}
    chief = [rows.pop(code) for code in CHIEF]
    others = [
        (_address(code, name, several=False), how, "") for code, name, how in TOLD
    ]
    pieces: list[Piece] = [
        Words([INTRO]),
        _table("The chief figures", chief),
        Group("", [_table("All others", [*rows.values(), *others])], "screen"),
    ]
    return Section("lineage", "Where each number comes from", pieces)


def _table(caption: str, rows: Sequence[Sequence[Cell]]) -> Table:
    """List figures with how they are reckoned from the sheets and what they rest on."""
    heads = ["Figure", "How it is reckoned from the sheets", "Rests on"]
    return Table(caption, heads, rows, words=3, kind="prose", rows_of=["lineage"])


def _row(code: str, members: Sequence[Lineage]) -> tuple[Cell, ...]:
    """Describe a family by its last member, with a dash for what differs."""
    last, several = members[-1], len(members) > 1
    name, _, label = last.name.partition(": ")
    words = last.formula.words()
    for own in (label, last.code.partition("/")[2]) if several else ():
        words = words.replace(f" = {own}", " = …") if own else words
    title = _address(code, plain(name), several=several)
    return title, plain(words), rests_on(last)


def _address(code: str, name: str, *, several: bool) -> Markup:
    """Name a family, with the address that its figures lead to."""
    more = " (each)" if several else ""
    return Markup('<span id="{}">{}{}</span>').format(anchor(code), name, more)
