"""What each other site would cost: figure, table and sentences, the dearest last."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup
from rich.console import Console
from rich.table import Table as Grid

from logistics.land import refused
from logistics.scenario import in_list
from logistics.studies import left_open, meets, site_costs
from maps.report import Cell, Chart, Table, bdi, listed, plain, shorten
from maps.shared import (
    MoneyUnit,
    clean,
    goal_said,
    money_unit,
    names,
    net_said,
    print_table,
    screening,
    shortage_sentences,
)
from maps.studies.site_bars import Bar, bar_key, site_bars
from maps.tables import BookChart

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome, SiteCost

TITLE = "What each site would cost"
MOST = 18
"""Sites on the page; the workbook has all of them."""
MOST_NAMED, MOST_REASONS = 4, 2
"""Places named in one sentence; plans whose unmet demands are told."""
SHORT = 18
"""Letters of a size, and of a yard given up: a few lines of the table in print."""
EQUAL, NOTHING_PROVEN = "as good as equal", "nothing is proven"
UNMET = "demands unmet"
GOALS = {"cost": "", "uncollected": "t", "co2e": "kg CO2e"}
"""What the goal is counted in; blank for money."""


@dataclass(frozen=True)
class SitePage:
    """The first page of compare_sheet.html: a figure, a table beside it, sentences."""

    title: str
    chart: Chart | None
    table: Table
    lines: Sequence[Cell]


def _unit(base: Result, found: Sequence[SiteCost]) -> MoneyUnit:
    """Choose what a difference in the goal is counted in."""
    settings = base.scenario.settings
    word = GOALS[settings.goal.minimise] or plain(settings.currency)
    values = [v for one in found for v in (one.above or 0.0, *(one.proven or ()))]
    return money_unit(word, values)


def mark(one: SiteCost) -> str:
    """Say of a site what its figure does not."""
    if one.above is None:
        return UNMET
    if one.equal:
        return EQUAL
    return "" if one.proven else NOTHING_PROVEN


def site_table(base: Result, outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """One row a site, with units in the headings and names for codes."""
    currency = GOALS[base.instance.goal] or base.scenario.settings.currency
    yards, sizes = names(base, "yard"), names(base, "size")
    rows = [
        {
            "site": yards.get(one.yard, one.yard),
            "size of the yard there": sizes.get(one.size, one.size),
            f"above the base [{currency}/yr]": one.above,
            f"proven: at least [{currency}/yr]": one.proven[0] if one.proven else None,
            f"proven: at most [{currency}/yr]": one.proven[1] if one.proven else None,
            "remark": mark(one),
            "yards given up for it": in_list(
                yards.get(code, code) for code in one.gives_up(base)
            ),
        }
        for one in site_costs(base, outcomes)
    ]
    return pd.DataFrame(rows)


def site_chart(base: Result, outcomes: Sequence[Outcome]) -> BookChart | None:
    """Draw the sites in a workbook, the cheapest on top; None if there is nothing."""
    drawn = [one for one in site_costs(base, outcomes) if one.above is not None][:MOST]
    if not drawn:
        return None
    yards = names(base, "yard")
    labels = [
        ": ".join(filter(None, [yards.get(one.yard, one.yard), mark(one)]))
        for one in drawn
    ]
    unit = GOALS[base.instance.goal] or base.scenario.settings.currency
    values = pd.DataFrame({"above the base": [one.above for one in drawn]}, labels)
    question = "What would a yard at each other site add to the cost of the base plan?"
    return BookChart(question, values.iloc[::-1], f"{unit}/yr", "bar")


def site_page(base: Result, outcomes: Sequence[Outcome]) -> SitePage | None:
    """
    Make the page: the cheapest sites drawn, those that fall short only named.

    None if no outcome is of another site.
    """
    found = site_costs(base, outcomes)
    if not found:
        return None
    drawn = [one for one in found if one.above is not None][:MOST]
    unit, yards = _unit(base, found), names(base, "yard")
    name = {one.yard: plain(yards.get(one.yard, one.yard)) for one in found}
    bars = [
        Bar(
            name[one.yard],
            (one.above or 0.0) / unit.factor,
            one.proven and (one.proven[0] / unit.factor, one.proven[1] / unit.factor),
            mark(one),
        )
        for one in drawn
    ]
    caption = f"With a yard at the site, above the base plan [{unit.name} a year]"
    chart = None
    if bars:
        describe = f"{len(bars)} sites, cheapest first; the table has the figures."
        drawing = site_bars(caption, describe, bars, unit.digits)
        chart = Chart(caption, drawing, bar_key(), rows_of=["sites"])
    return SitePage(
        TITLE,
        chart,
        _table(base, found, unit, name),
        [*_lines(base, found, name)],
    )


def _table(
    base: Result, found: Sequence[SiteCost], unit: MoneyUnit, name: dict[str, str]
) -> Table:
    """Write the same sites, in the same order, with what is proven."""
    sizes = names(base, "size")
    yards = names(base, "yard")
    rows = []
    for one in [x for x in found if x.above is not None][:MOST]:
        least, most = one.proven or (math.nan, math.nan)
        ups = [plain(yards.get(code, code)) for code in one.gives_up(base)]
        more = f" and {len(ups) - 1} more" if len(ups) > 1 else ""
        rows.append(
            [
                shorten(name[one.yard]),
                shorten(plain(sizes.get(one.size, one.size)), SHORT),
                shorten(ups[0], SHORT) + more if ups else "none",
                unit.text(one.above),
                unit.text(least),
                unit.text(most),
            ]
        )
    return Table(
        f"The same in figures [{unit.name} a year above the base]",
        ["Site", "Size", "Closed for it", "Above", "Proven: at least", "at most"],
        rows,
        words=3,
        rows_of=["sites"],
    )


def _lines(base: Result, found: Sequence[SiteCost], name: dict[str, str]) -> list[Cell]:
    """Say how to read the page, what is not drawn and what was not asked."""
    settings = base.scenario.settings
    said: list[Cell] = [
        "A yard is forced open at each site, its yearly cost is counted, and "
        "everything else is planned again. At least and at most: the proven range of "
        "the difference between the best plan with the site and the best of all.",
        _of_base(base),
    ]
    better = [one for one in found if one.above is not None and one.above < -0.5]
    if better:
        said.append(
            Markup(
                "Cheaper than the base plan: {}. So the base plan is not the best; "
                "plan to a smaller gap (solve.gap_pct) to find it."
            ).format(_named([one.yard for one in better], name))
        )
    rest = [one for one in found if one.above is not None][MOST:]
    if rest:
        least = goal_said(rest[0].above or 0.0, settings)
        said.append(
            f"{len(rest)} more sites, each at least {least} above the base as planned, "
            "are in compare.xlsx, sheet sites."
        )
    for one in [x for x in found if x.above is None][:MOST_REASONS]:
        reasons = shorten(" ".join(shortage_sentences(one.outcome.replan)), 200)
        said.append(
            Markup("Not drawn because demands are not met: {}. {}").format(
                bdi(name[one.yard]), plain(reasons)
            )
        )
    short = [one.yard for one in found if one.above is None][MOST_REASONS:]
    if short:
        said.append(
            Markup("Not drawn for the same reason: {}.").format(_named(short, name))
        )
    said += _not_asked(base)
    return said


def _of_base(base: Result) -> str:
    """Say what the base costs and how far it may be from the best."""
    settings = base.scenario.settings
    if not meets(base):
        return "The base plan itself leaves demands unmet, so nothing is proven."
    cost = float(base.summary["total_cost"])
    said = f"{net_said(cost, money_unit(plain(settings.currency), [cost]))} a year"
    if base.instance.goal != "cost":
        said = goal_said(base.plan.objective, settings)
    room = left_open(base.plan)
    if room is None:
        return f"Base plan: {said}; nothing is proven about it."
    if room == 0:
        return f"Base plan: {said}, proven to be the best."
    return (
        f"Base plan: {said}; the best plan may be better by at most "
        f"{goal_said(room, settings)}."
    )


def _not_asked(base: Result) -> list[Cell]:
    """Name the sites that were not tried, and why."""
    table, out = base.scenario.yards, refused(screening(base))
    label, offered = names(base, "yard"), set(base.instance.options.yard.tolist())
    why: dict[str, list[str]] = {}
    for place, (code, decision) in enumerate(
        zip(table["yard"], table["decision"], strict=True)
    ):
        if decision == "closed":
            why.setdefault("closed by the scenario", []).append(str(code))
        elif str(code) in out:
            why.setdefault("refused by the land screening", []).append(str(code))
        elif place not in offered:
            why.setdefault("too small for every size", []).append(str(code))
    return [
        Markup("Not tried ({}): {}.").format(reason, _named(codes, label))
        for reason, codes in why.items()
    ]


def _named(codes: Sequence[str], label: dict[str, str]) -> Markup:
    """Name the first few places of a list, and count the rest."""
    shown = [bdi(label.get(code, code)) for code in codes[:MOST_NAMED]]
    rest = len(codes) - len(shown)
    return listed([*shown, *([f"{rest} more"] if rest else [])])


def show_sites(
    base: Result, outcomes: Sequence[Outcome], console: Console | None = None
) -> None:
    """Print what each site adds, one line a site."""
    console = console or Console()
    found = site_costs(base, outcomes)
    unit, yards = _unit(base, found), names(base, "yard")
    grid = Grid(box=None, pad_edge=False)
    for place, head in enumerate(("Site", "Above base", "At least", "At most", "")):
        grid.add_column(head, justify="right" if 0 < place < 4 else "left")
    for one in found:
        least, most = one.proven or (math.nan, math.nan)
        grid.add_row(
            clean(yards.get(one.yard, one.yard)),
            "" if one.above is None else unit.text(one.above),
            unit.text(least),
            unit.text(most),
            mark(one),
        )
    console.print(f"{TITLE}, {unit.name} a year above the base", style="bold")
    print_table(console, grid)
    for said in [_of_base(base), *_not_asked(base)]:
        text = said.striptags() if isinstance(said, Markup) else said
        console.print(clean(text), highlight=False, markup=False)
