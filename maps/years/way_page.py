"""A way on one page: way.html, a chart of yards, money, tonnes, a map by year."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup

from maps.report import (
    Look,
    Piece,
    Section,
    Table,
    Words,
    district_map,
    facts,
    intake_by_yard,
    map_key,
    plain,
)
from maps.shared import (
    ALL_ESTIMATED,
    STATIC,
    amount,
    cell_text,
    filled,
    head_text,
    own_script,
    policy,
    style_of_report,
)
from maps.years.way_charts import capital_chart, timeline, tonnes_chart, trucks_chart
from maps.years.way_tables import money_columns, way_tables
from maps.years.way_words import short_lines, standing_words, summary_lines

if TYPE_CHECKING:
    from maps.years.way_facts import WayFacts

CAUTION = (
    "Planning figures are not permits. Have siting, drains and water of each yard "
    "checked before it is built; fish waste must go somewhere safe until then. A "
    "way of many years rests on prices and tonnes that nobody knows: plan it anew each "
    "year. Local codes and licensed practice decide."
)
EASING = (
    "What more money would save is reckoned for a little more, as if yards could be "
    "bought in parts: it says in which year money is tightest, not what an extra yard "
    "would bring."
)
PRESENT = " It is a present value, in money of the beginning of the first year."
SHARED = (
    "What yards are worth after the last year is shared by what was spent on yards in "
    "each district; what is replaced, and what yards cost that stand idle, is no "
    "district's. Doing nothing is paying for disposal as today."
)
TRUCKS = (
    "Trucks busy are truck hours divided by the hours one truck works in the period. "
    "In practice it takes more, because days are not all alike."
)
SHORT = "In no year is the money short of what is spent."
ACROSS = (
    "Yards are paid for, and money is borrowed, at the beginning of a year; all else "
    "falls at its end. Paid by others: disposal of what is left with the sources, and "
    "their fees. Cash is the programme's: income and loans, less all that it pays; "
    "below zero it must be given money."
)


def way_html(known: WayFacts) -> str:
    """Make the page: one file, one small script of its own, nothing loaded."""
    settings = known.way.scenario.settings
    style = style_of_report() + (STATIC / "way.css").read_text(encoding="utf-8")
    script = own_script(["way.js"], "")
    return filled(
        "way.html.j2",
        trim=True,
        name=plain(settings.name),
        story=plain(settings.story),
        sections=_sections(known),
        maps=_maps(known),
        caution=f"{ALL_ESTIMATED} {CAUTION}",
        policy=policy([style], [script]),
        style=Markup(style),
        script=Markup(script),
    )


def _sections(known: WayFacts) -> list[Section]:
    """Write every section but the map."""
    tables = way_tables(known)
    return [
        Section("summary", "In short", [Words(summary_lines(known))]),
        Section(
            "steps",
            "Which yard when",
            [timeline(known), _table(known, tables["steps"], "Steps", 3, "steps")],
        ),
        Section("money", "The money of each year", _money(known)),
        Section("tonnes", "Tonnes", [tonnes_chart(known)]),
        Section("trucks", "Trucks", [trucks_chart(known), Words([TRUCKS])]),
        Section(
            "districts",
            "District by district",
            [
                _table(
                    *(known, tables["worth"], "Gain against doing nothing", 1, "worth"),
                    note=SHARED,
                )
            ],
        ),
    ]  # fmt: skip


def _money(known: WayFacts) -> list[Piece]:
    """Set chart, table and what is short together."""
    lines = short_lines(known)
    table = money_columns(known)
    kept = [name for name in table if _told(table[name])]
    flat = table[kept].set_index("year").T.rename_axis("").reset_index()
    rows = [
        [_line_name(known, str(head)), *(_money_text(known, v) for v in values)]
        for head, *values in flat.itertuples(index=False)
    ]
    money = Table(
        f"Money of each year [{plain(known.unit.name)}]",
        ["What", *flat.columns[1:]],
        rows,
        note=ACROSS,
        kind="wide",
        rows_of=["money"],
    )
    words: list[Piece] = [Words(lines, marks="-")] if lines else []
    said: list[Piece] = words if len(known.short) else [Words([SHORT]), *words]
    easing = EASING + (PRESENT if known.way.goal == "cost" else "")
    tail: list[Piece] = [Words([easing])] if len(known.way.easing) else []
    return [capital_chart(known), *said, *tail, money]


def _told(column: pd.Series) -> bool:
    """Whether a column has anything to tell."""
    return not pd.api.types.is_numeric_dtype(column) or bool(
        (column.fillna(0.0).abs() > 0.5).any()
    )


def _line_name(known: WayFacts, head: str) -> str:
    """Name a line without the unit, which the caption has."""
    return head.rpartition(" [")[0]


def _money_text(known: WayFacts, value: float) -> str:
    return "" if pd.isna(value) else known.unit.text(value)


def _table(
    known: WayFacts,
    table: pd.DataFrame,
    caption: str,
    words: int,
    sheet: str,
    note: str = "",
) -> Table:
    """Make a table of ready texts."""
    unit = known.unit
    rows = [
        [_text(str(head), value, known) for head, value in row.items()]
        for row in table.to_dict("records")
    ]
    heads = [head_text(str(head), unit).capitalize() for head in table.columns]
    return Table(
        caption, heads, rows, words=words, note=note, kind="wide", rows_of=[sheet]
    )


def _text(head: str, value: object, known: WayFacts) -> str:
    if isinstance(value, str):
        return plain(value)
    return cell_text(head, value, known.unit)


def _maps(known: WayFacts) -> list[dict[str, object]]:
    """Draw every year, discs of yards to one scale, what changed since marked."""
    way = known.way
    each = [facts(result) for result in way.results]
    tops = [float(intake_by_yard(one).sum(axis=1).max()) for one in each]
    drawn = list[dict[str, object]]()
    before: set[str] | None = None
    collected = known.tonnes["collected"].tolist()
    for year, one, result, tonnes in zip(
        way.years, each, way.results, collected, strict=True
    ):
        works = {yard for yard, _ in result.plan.yard_sizes}
        marks = {}
        if before is not None:
            marks = dict.fromkeys(works - before, "opened")
            marks |= dict.fromkeys(before - works, "closed")
        before = works
        look = Look(top=max([1e-9, *tops]), marks=marks)
        said = standing_words(known, year)
        taken = f"{amount(tonnes)} t collected in the year."
        drawing = district_map(one, f"map-{year}", str(year), taken, look)
        shown = {"drawn": drawing, "key": map_key(one)}
        drawn.append({"year": year, "said": said, "taken": taken, **shown})
    return drawn
