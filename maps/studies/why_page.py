"""Why, and why not: one site on a page, or a table of all; why.html and why.json."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table as Grid

from logistics.scenario import in_list
from logistics.studies import yard_changes
from maps.report import (
    Chart,
    Group,
    Piece,
    Section,
    Table,
    Words,
    account_name,
    intake_by_yard,
    map_key,
    plain,
    shorten,
)
from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    amount,
    clean,
    money_unit,
    names,
    net_said,
    print_table,
    render,
    text_console,
)
from maps.studies.comparison_lines import columns
from maps.studies.comparison_sheet import maps
from maps.studies.service_page import HOW_SERVED, service_section
from maps.studies.service_words import title_words
from maps.studies.why_record import moves, why_record
from maps.studies.why_words import (
    AS_FAR,
    NEVER,
    NOTHING,
    OPEN,
    accounts,
    answer_words,
    pair_of,
    reason_words,
    site_name,
    turn_cells,
)

if TYPE_CHECKING:
    from logistics.studies import SiteAnswer

MOST_MOVES = 12
"""Sources and markets listed that gain or lose."""
CAUTION = (
    "Planning figures are not permits: local codes and licensed practice decide where "
    "a yard may stand. Fish waste, windrow heat, run-off and machinery need their "
    "cautions at every site."
)
HOW = (
    "The decision on the site is turned round and everything else is planned anew. At "
    "least: the bound of the one plan against the cost of the other; at most: the "
    "reverse. A yearly cost enters the plan's cost as it is, so the plan turns where "
    "it falls (or rises) by just this difference; a grant for the works counts by its "
    "annuity. For prices and tonnes both plans are made and proven anew at each value "
    "named."
)
STYLE = """
.halves { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 20px; }
.halves .scroll > .chart { min-width: 0; }
@media screen and (max-width: 700px) { .halves { grid-template-columns: 1fr; } }
"""
"""Two maps of one size, side by side; below each other on a narrow screen."""
TURNS = ("Each alone", "Proven to change nothing", "Proven to turn the plan")


def why_html(found: Sequence[SiteAnswer]) -> str:
    """Make the page: one file, no scripts, nothing loaded."""
    base = found[0].base
    sections = [_table_section(found)] if len(found) > 1 else _one(found[0])
    settings = base.scenario.settings
    title = "Why, and why not: the sites without a yard"
    if len(found) == 1:
        title = plain(_title(found[0]))
    return render(
        "why.html.j2",
        more_style=STYLE,
        name=plain(settings.name),
        title=title,
        sections=sections,
        caution=f"{ALL_ESTIMATED} {CAUTION}",
    )


def _title(told: SiteAnswer) -> str:
    if told.kind != "yard":
        return title_words(told)
    have = "Why a yard at" if told.chosen else "Why no yard at"
    return f"{have} {site_name(told)}"


def _one(told: SiteAnswer) -> list[Section]:
    """Write the sections on one site."""
    words = Words([plain(line) for line in answer_words(told)])
    months = [] if told.service is None else service_section(told)
    if told.outcome is None:
        return [Section("answer", "Answer", [words]), *months]
    sections = [Section("answer", "Answer", [words, *_of_base([told])]), *months]
    sections.append(Section("plans", "Both plans", _maps(told)))
    if told.turns:
        rows = [[plain(cell) for cell in turn_cells(told, one)] for one in told.turns]
        near = names(told.base, "source")
        some = in_list(near.get(code, code) for code in told.nearby[:MOST_MOVES])
        note = f"Nearest to the site: {plain(some)}." if some else ""
        turns = Table(
            "Each figure alone, all others as they are",
            TURNS,
            rows,
            words=3,
            rows_of=[],
        )
        how = HOW if told.kind == "yard" else HOW_SERVED
        pieces: list[Piece] = [turns, Words([*filter(None, [note]), how])]
        sections.append(Section("turns", "What would have to change", pieces))
    if told.adds is not None:
        reasons = Words([plain(line) for line in reason_words(told)])
        sections += [
            Section("money", "What makes the difference", [reasons, _money(told)]),
            Section("moves", "Who gains, who loses", list(_moves(told))),
        ]
    return sections


def _maps(told: SiteAnswer) -> list[Piece]:
    """Draw both plans side by side, to one scale."""
    assert told.outcome is not None
    plans = columns(told.base, [told.outcome])
    intake = [intake_by_yard(one.known).sum(axis=1).max() for one in plans]
    drawn = maps(plans, 0, max(1e-9, *(float(value or 0) for value in intake)))
    heads = ("Plan asked about", _other_head(told))
    charts = [
        Chart(head, drawing, rows_of=[])
        for head, drawing in zip(heads, drawn, strict=True)
    ]
    return [Group("", charts, "halves"), Words([map_key(plans[0].known)])]


def _of_base(found: Sequence[SiteAnswer]) -> list[Piece]:
    """Say what the plan asked about costs."""
    result = found[0].base
    cost = float(result.summary["total_cost"])
    unit = money_unit(plain(result.scenario.settings.currency), [cost])
    return [Words([f"Plan asked about: {net_said(cost, unit)} a year."])]


def _other_head(told: SiteAnswer) -> str:
    if told.kind != "yard":
        return "Served whole, all planned anew"
    return "Without it" if told.chosen else "With it"


def _money(told: SiteAnswer) -> Table:
    """Set the money of the plans side by side, by account."""
    table = accounts(told)
    heads = {"base": "Plan asked about", "kept": "Served whole, same yards"}
    heads |= {"other": _other_head(told), "difference": "Difference"}
    shown = [column for column in heads if column in table]
    values = table[shown].to_numpy(dtype=float)
    total = table[shown].sum()
    currency = plain(told.base.scenario.settings.currency)
    unit = money_unit(currency, [*values.ravel().tolist(), *total.tolist()])
    rows = [
        [account_name(str(code)), *map(unit.text, row)]
        for code, row in zip(table["account"], values.tolist(), strict=True)
    ]
    return Table(
        f"Money of the year [{unit.name}]",
        ["Account", *(heads[column] for column in shown)],
        rows,
        foot=["Net cost", *map(unit.text, total.tolist())],
        rows_of=[],
    )


def _moves(told: SiteAnswer) -> list[Piece]:
    """Write the tables of sources and markets."""
    base, _ = pair_of(told)
    titles = {"source": "Feedstock collected", "market": "Compost delivered"}
    currency = plain(base.scenario.settings.currency)
    pieces: list[Piece] = []
    for kind, table in moves(told).items():
        known = names(base, kind)
        unit = money_unit(currency, table["haulage"].tolist())
        rows = [
            [
                shorten(plain(known.get(str(place), str(place)))),
                *map(amount, tonnes),
                unit.text(haulage),
            ]
            for place, *tonnes, haulage in table.head(MOST_MOVES).to_numpy().tolist()
        ]
        rest = len(table) - MOST_MOVES
        note = f"{rest} more in why.json." if rest > 0 else ""
        heads = ["Place", "As asked", "Other plan", "Difference"]
        if rows:
            pieces.append(
                Table(
                    f"{titles[kind]} [t a year]",
                    [*heads, f"Its haulage [{unit.name} a year]"],
                    rows,
                    note=note,
                    rows_of=[],
                )
            )
    return pieces or [Words(["Nobody gains or loses."])]


def _unit(found: Sequence[SiteAnswer]) -> MoneyUnit:
    values = [value for one in found for value in one.adds or ()]
    return money_unit(plain(found[0].base.scenario.settings.currency), values)


def why_table(found: Sequence[SiteAnswer], unit: MoneyUnit) -> list[list[str]]:
    """Write a row a site: what it adds, what closes, what would turn the plan."""
    rows = []
    planned = [one for one in found if one.outcome is not None]
    for told in sorted(planned, key=lambda one: one.adds[1] if one.adds else 1e300):
        turn = {one.figure: turn_cells(told, one) for one in told.turns}
        cells = []
        for figure in ("grant", "price", "supply"):
            _, stays, turns = turn.get(figure, ("", "", ""))
            cells.append(_cell(stays, turns))
        if told.adds is None:
            rows.append([site_name(told), "", "no plan", "", "", *cells])
            continue
        base, other = pair_of(told)
        size = dict(other.plan.yard_sizes).get(told.code, "")
        closed = yard_changes(base.plan, other.plan)[1]
        known = names(base, "yard")
        least, most = map(unit.text, told.adds)
        gone = in_list(known.get(code, code) for code in closed) or "none"
        size = names(base, "size").get(size, size)
        rows.append([site_name(told), size, gone, least, most, *cells])
    return rows


def _cell(stays: str, turns: str) -> str:
    """Say in one cell by what a site enters, or by what it surely does not."""
    if turns == NEVER:
        return "none is enough"
    if stays == NOTHING:
        return turns
    return f"not by {stays}" if turns in (OPEN, AS_FAR) else turns


def _heads(unit: MoneyUnit) -> list[str]:
    return [
        "Site",
        "Size there",
        "Closed for it",
        f"Adds at least [{unit.name} a year]",
        "At most",
        "Enters by a grant for works",
        "By a price of compost",
        "By tonnes nearby",
    ]


def _table_section(found: Sequence[SiteAnswer]) -> Section:
    """Write the table of all sites."""
    unit = _unit(found)
    rows = [[plain(cell) for cell in row] for row in why_table(found, unit)]
    table = Table("Sites without a yard", _heads(unit), rows, words=3, kind="wide",
                  rows_of=[])  # fmt: skip
    no_use = [
        plain(" ".join(answer_words(one))) for one in found if one.outcome is None
    ]
    note = (
        "A site enters the plan too if its yard costs as much less a year as it adds."
    )
    return Section(
        "sites", "All sites", [*_of_base(found), table, Words([note, *no_use, HOW])]
    )


def write_why(found: Sequence[SiteAnswer], out: Path) -> list[str]:
    """Write why.html and why.json into a folder; return their names."""
    (out / "why.html").write_text(why_html(found), encoding="utf-8", newline="\n")
    text = json.dumps(why_record(found), ensure_ascii=False, indent=1)
    (out / "why.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    return ["why.html", "why.json"]


def show_why(found: Sequence[SiteAnswer], console: Console | None = None) -> None:
    """Print the answer on one site, or the table of all."""
    console = text_console(console, wider=60 if len(found) > 1 else 0)
    if len(found) > 1:
        unit = _unit(found)
        grid = Grid(box=None, pad_edge=False)
        for place, head in enumerate(_heads(unit)):
            grid.add_column(clean(head), justify="right" if place in (3, 4) else "left")
        for row in why_table(found, unit):
            grid.add_row(*map(clean, row))
        print_table(console, grid)
        for one in found:
            if one.outcome is None:
                said = clean(" ".join(answer_words(one)))
                console.print(said, highlight=False, markup=False)
        return
    told = found[0]
    lines = answer_words(told)
    if told.adds is not None:
        lines += reason_words(told)
    for line in lines:
        console.print(clean(line), highlight=False, markup=False)
    if told.turns:
        grid = Grid(box=None, pad_edge=False)
        for head in TURNS:
            grid.add_column(head)
        for turn in told.turns:
            grid.add_row(*map(clean, turn_cells(told, turn)))
        print_table(console, grid)
