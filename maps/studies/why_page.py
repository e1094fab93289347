"""Why, and why not: one site on a page, or a table of all; why.html and why.json."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
from rich.console import Console
from rich.table import Table as Grid

from logistics.scenario import in_list
from logistics.studies import winners, yard_changes
from maps.report import (
    Piece,
    Section,
    Table,
    Words,
    account_name,
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
from maps.studies.why_words import (
    AS_FAR,
    NEVER,
    OPEN,
    accounts,
    answer_words,
    pair_of,
    reason_words,
    site_name,
    turn_cells,
)

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import SiteAnswer

MOST_MOVES = 12
"""Sources and markets listed that gain or lose."""
LEAST_T = 0.5
"""Tonnes a year below which a place counts as unchanged. [t/yr]"""
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
TURNS = ("Each alone", "Proven to change nothing", "Proven to turn the plan")


def why_html(found: Sequence[SiteAnswer]) -> str:
    """Make the page: one file, no scripts, nothing loaded."""
    base = found[0].base
    sections = [_table_section(found)] if len(found) > 1 else _one(found[0])
    settings = base.scenario.settings
    title = "Why, and why not: the sites without a yard"
    if len(found) == 1:
        have = "Why a yard at" if found[0].chosen else "Why no yard at"
        title = f"{have} {plain(site_name(found[0]))}"
    return render(
        "why.html.j2",
        name=plain(settings.name),
        title=title,
        sections=sections,
        caution=f"{ALL_ESTIMATED} {CAUTION}",
    )


def _one(told: SiteAnswer) -> list[Section]:
    """Write the sections on one site."""
    words = Words([plain(line) for line in answer_words(told)])
    if told.outcome is None:
        return [Section("answer", "Answer", [words])]
    sections = [Section("answer", "Answer", [words, *_of_base([told])])]
    if told.turns:
        rows = [[plain(cell) for cell in turn_cells(told, one)] for one in told.turns]
        near = names(told.base, "source")
        some = in_list(near.get(code, code) for code in told.nearby[:MOST_MOVES])
        note = f"Nearest to the site: {plain(some)}." if some else ""
        turns = Table("What would have to change", TURNS, rows, words=3, rows_of=[])
        pieces: list[Piece] = [turns, Words([*filter(None, [note]), HOW])]
        sections.append(Section("turns", "What would have to change", pieces))
    if told.adds is not None:
        reasons = Words([plain(line) for line in reason_words(told)])
        sections += [
            Section("money", "What makes the difference", [reasons, _money(told)]),
            Section("moves", "Who gains, who loses", list(_moves(told))),
        ]
    return sections


def _of_base(found: Sequence[SiteAnswer]) -> list[Piece]:
    """Say what the plan asked about costs."""
    result = found[0].base
    cost = float(result.summary["total_cost"])
    unit = money_unit(plain(result.scenario.settings.currency), [cost])
    return [Words([f"Plan asked about: {net_said(cost, unit)} a year."])]


def _money(told: SiteAnswer) -> Table:
    """Set the money of both plans side by side, by account."""
    table = accounts(told)
    values = table[["base", "other", "difference"]].to_numpy(dtype=float)
    total = table[["base", "other", "difference"]].sum()
    currency = plain(told.base.scenario.settings.currency)
    unit = money_unit(currency, [*values.ravel().tolist(), *total.tolist()])
    rows = [
        [account_name(str(code)), *map(unit.text, row)]
        for code, row in zip(table["account"], values.tolist(), strict=True)
    ]
    other = "Without it" if told.chosen else "With it"
    return Table(
        f"Money of the year [{unit.name}]",
        ["Account", "Plan asked about", other, "Difference"],
        rows,
        foot=["Net cost", *map(unit.text, total.tolist())],
        rows_of=[],
    )


def moves(told: SiteAnswer) -> dict[str, pd.DataFrame]:
    """
    List the sources and the markets that gain or lose, the most first.

    Returns
    -------
    dict
        "source" and "market" -> place, before, after, difference [t/yr], haulage:
        what the way of its tonnes costs more or less [money/yr].
    """
    base, other = pair_of(told)
    assert told.outcome is not None
    sources = winners(base, told.outcome).rename(columns={"source": "place"})
    sent = [
        one.plan.deliveries.groupby("market")["tonnes"].sum() for one in (base, other)
    ]
    markets = pd.DataFrame(dict(zip(("before", "after"), sent, strict=True))).fillna(
        0.0
    )
    markets = markets.rename_axis("place").reset_index()
    markets["difference"] = markets["after"] - markets["before"]
    found = {}
    for kind, table in (("source", sources), ("market", markets)):
        haul = [_haulage(one, kind) for one in (base, other)]
        more = haul[1].sub(haul[0], fill_value=0.0)
        table = table.assign(haulage=table["place"].map(more).fillna(0.0))
        changed = (table["difference"].abs() >= LEAST_T) | (table["haulage"].abs() >= 1)
        order = table["difference"].abs() + table["haulage"].abs()
        columns = ["place", "before", "after", "difference", "haulage"]
        table = table.loc[order.sort_values(ascending=False, kind="stable").index]
        found[kind] = table.loc[changed, columns].reset_index(drop=True)
    return found


def _haulage(result: Result, kind: str) -> pd.Series:
    """Sum what trips from a source or to a market cost. [money/yr]"""
    place = "origin" if kind == "source" else "destination"
    lanes = result.lanes
    mine = lanes["kind"] == ("in" if kind == "source" else "out")
    return lanes[mine].groupby(place)["money"].sum()


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
    for told in sorted(found, key=lambda one: one.adds[1] if one.adds else 1e300):
        turn = {one.figure: turn_cells(told, one) for one in told.turns}
        cells = []
        for figure in ("grant", "price", "supply"):
            _, stays, turns = turn.get(figure, ("", "", ""))
            cells.append(
                f"not by {stays}" if turns.startswith(("no ", "not ")) else turns
            )
        if told.adds is None:
            rows.append([site_name(told), "", "no plan", "", "", *cells])
            continue
        base, other = pair_of(told)
        size = dict(other.plan.yard_sizes).get(told.yard, "")
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
        return "by none"
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
    note = (
        "A site enters the plan too if its yard costs as much less a year as it adds."
    )
    return Section("sites", "All sites", [*_of_base(found), table, Words([note, HOW])])


def why_record(found: Sequence[SiteAnswer]) -> list[dict[str, Any]]:
    """Gather what is known of each site, for why.json."""
    return [_record(told) for told in found]


def _record(told: SiteAnswer) -> dict[str, Any]:
    known: dict[str, Any] = {
        "yard": told.yard,
        "size": told.size,
        "chosen": told.chosen,
        "words": answer_words(told),
        "net_cost": float(told.base.summary["total_cost"]),
        "adds": _pair(told.adds),
        "adds_wherever_trucks_are_at_home": _pair(told.anywhere),
    }
    if told.outcome is None:
        return known
    base, other = pair_of(told)
    opened, closed, resized = yard_changes(base.plan, other.plan)
    turns = [
        {
            "figure": one.figure,
            "proven_to_change_nothing": float(one.stays),
            "proven_to_turn": None if one.turns is None else float(one.turns),
            "searched_up_to": None if one.most is None else float(one.most),
        }
        for one in told.turns
    ]
    known |= {
        "other_plan": {
            "net_cost": float(other.summary["total_cost"]),
            "status": other.plan.status,
            "yards": dict(other.plan.yard_sizes),
            "opened": opened,
            "closed": closed,
            "resized": resized,
        },
        "turns": turns,
        "nearest_sources": list(told.nearby),
    }
    if told.adds is not None:
        known["reasons"] = reason_words(told)
        known["accounts"] = accounts(told).to_dict("records")
        known |= {f"{k}s": t.to_dict("records") for k, t in moves(told).items()}
    return known


def _pair(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else [float(value) for value in pair]


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
        for one in told.turns:
            grid.add_row(*map(clean, turn_cells(told, one)))
        print_table(console, grid)
