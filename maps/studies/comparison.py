"""Plans side by side: tables, one workbook, one page of a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
from rich.console import Console
from rich.table import Table

from logistics.scenario import in_list
from logistics.studies import (
    by_district,
    by_line,
    equals_base,
    meets,
    overview,
    site_costs,
    winners,
)
from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    clean,
    grouped,
    headed,
    money_unit,
    named,
    names,
    net_text,
    number,
    print_table,
    text_console,
    write_csv,
)
from maps.studies.comparison_sheet import write_sheet
from maps.studies.comparison_words import base_remark, remarks
from maps.studies.site_costs import site_chart, site_table
from maps.tables import BookChart, write_tables

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome

ANSWERS = {
    "base": "as planned",
    "operate": "yards as in the base",
    "re-plan": "all planned afresh",
}


def overview_table(base: Result, outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """One row a plan: units in the headings, names for codes, remarks in words."""
    table = overview(base, outcomes)
    said = [base_remark(base)]
    for outcome in outcomes:
        known = remarks(base, outcome)
        said += [known["operate"], known["re-plan"]]
    table.insert(2, "remarks", said)
    table["equal"] = table["equal"].map({True: "yes", False: ""})
    currency = base.scenario.settings.currency
    yards = names(base, "yard")
    for outcome in outcomes:
        yards = {**names(outcome.replan, "yard"), **yards}
    for column in ("opened", "closed", "resized"):
        table[column] = [
            in_list(yards.get(code, code) for code in text.split())
            for text in table[column]
        ]
    materials = names(base, "material")
    heads = {
        "cost": f"net cost [{currency}/yr]",
        "against_base": f"against the base [{currency}/yr]",
        "equal": "as good as equal to the base",
        "regret": f"regret of the base's yards [{currency}/yr]",
        "yards": "yards open",
        "collected": "collected [t/yr]",
        "compost": "compost made [t/yr]",
        "haul_cost": f"haulage [{currency}/yr]",
        "vehicle_km": "driven [km/yr]",
        "empty_km": "driven empty [km/yr]",
        "paired_trips": "paired trips [1/yr]",
        "crew_hours": "truck crews at work [h/yr]",
        "co2e": "emissions [t CO2e/yr]",
        "gap": "proven gap [%]",
    }
    table["gap"] = table["gap"] * 100
    table["answer"] = table["answer"].map(ANSWERS)
    for column in [c for c in table.columns if c.startswith("share_")]:
        code = column.removeprefix("share_")
        name = "everything" if code == "all" else materials.get(code, code)
        table[column] = table[column] * 100
        heads[column] = f"{name} collected [%]"
    return table.rename(columns=heads)


SHEETS = {
    "charts": "What each change would cost, at a glance",
    "sites": "What a yard at each other site would cost, and how well that is proven",
    "overview": "What each change does to cost, yards and tonnes",
    "money": "Where the money changes, line by line",
    "sources": "Which sources give more or less",
    "districts": "Which districts gain or lose tonnes and compost",
    "stories": "What each change is, in words",
}


def cost_chart(base: Result, outcomes: Sequence[Outcome]) -> BookChart:
    """Draw what every change would cost, all planned afresh; ties say so by name."""
    table = overview(base, outcomes)
    table = table[table["answer"] != "operate"]
    titles = [
        f"{title}: as good as equal" if tie else title
        for title, tie in zip(table["change"], table["equal"].eq(True), strict=True)
    ]
    costs = pd.DataFrame({"net cost": table["cost"].to_numpy()}, index=titles)
    question = "What would a year cost, all planned afresh after each change?"
    return BookChart(question, costs.iloc[::-1], base.scenario.settings.currency, "bar")


def comparison_tables(
    base: Result, outcomes: Sequence[Outcome]
) -> dict[str, pd.DataFrame]:
    """Every table of a comparison by its name."""
    currency = base.scenario.settings.currency
    lines = headed(by_line(base, outcomes), base.scenario)
    lines.columns = pd.Index(
        [*lines.columns[:2], *(f"{c} [{currency}/yr]" for c in lines.columns[2:])]
    )
    gains: list[pd.DataFrame] = []
    districts: list[pd.DataFrame] = []
    for outcome in outcomes:
        for found, table in (
            (gains, winners(base, outcome)),
            (districts, by_district(base, outcome)),
        ):
            name = names(outcome.replan, "district") | names(base, "district")
            table["district"] = named(table["district"], name)
            table.insert(0, "change", outcome.change.title)
            found.append(table)
    units = ("before", "after", "difference")
    stories = pd.DataFrame(
        [(o.change.code, o.change.title, o.change.story) for o in outcomes],
        columns=["file", "change", "story"],
    )
    return {
        "overview": overview_table(base, outcomes),
        "money": lines,
        "sources": pd.concat(gains, ignore_index=True).rename(
            columns={name: f"{name} [t/yr]" for name in units}
        ),
        "districts": pd.concat(districts, ignore_index=True).rename(
            columns={
                f"{what}_{when}": f"{what} {when} [t/yr]"
                for what in ("collected", "compost")
                for when in ("before", "after")
            }
        ),
        "stories": stories,
    }


def write_comparison(
    base: Result,
    outcomes: Sequence[Outcome],
    out_dir: Path,
    page: bool = False,
    sites: Sequence[Outcome] | None = None,
) -> list[str]:
    """
    Write compare_sheet.html, compare.xlsx, compare.csv/; compare.html if `page`.

    Parameters
    ----------
    base, outcomes
        The base plan, and changes that are set side by side.
    out_dir, page
        Folder; whether the maps are written as well.
    sites
        Changes of `each_site`, which are in tables and bars only; None if these were
        not asked for.

    Returns
    -------
    list of str
        Names of what was written.
    """
    every = [*outcomes, *(sites or ())]
    tables = comparison_tables(base, every)
    charts = [cost_chart(base, outcomes)] if outcomes else []
    if sites is not None and site_costs(base, every):
        tables = {"sites": site_table(base, every), **tables}
        charts += filter(None, [site_chart(base, every)])
    folder = out_dir / "compare.csv"
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        write_csv(table, folder / f"{name}.csv")
    write_tables(
        tables,
        out_dir / "compare.xlsx",
        base.scenario.settings.name,
        "What if: plans compared",
        SHEETS,
        charts,
    )
    write_sheet(base, outcomes, out_dir / "compare_sheet.html", sites)
    written = ["compare_sheet.html", "compare.xlsx", "compare.csv"]
    if page:
        from maps.studies.comparison_map import write_comparison_map

        write_comparison_map(base, outcomes, out_dir / "compare.html", sites)
        written.insert(0, "compare.html")
    return written


def show_comparison(
    base: Result, outcomes: Sequence[Outcome], console: Console | None = None
) -> None:
    """Print the plans side by side."""
    console = text_console(console, wider=40)
    currency = base.scenario.settings.currency
    unit = _unit(base, outcomes)
    table = Table(box=None, pad_edge=False)
    heads = ("Change", "Operate", "Re-plan", "Against base", "Regret", "Gap %")
    for place, head in enumerate(heads):
        table.add_column(head, justify="left" if place == 0 else "right")
    rows = overview_table(base, outcomes)
    moved = ["opened", "closed", *(["resized"] if any(rows["resized"]) else [])]
    for head in moved:
        table.add_column(head.capitalize())
    table.add_row("Base", "", _cost(base, unit), "", "", "", *("" for _ in moved))
    for place, outcome in enumerate(outcomes):
        after = rows.iloc[2 + 2 * place]
        against = unit.text(after[f"against the base [{currency}/yr]"])
        if base.instance.goal == "cost" and equals_base(base, outcome.replan):
            against += ", as good as equal"
        table.add_row(
            clean(outcome.change.title),
            _cost(outcome.operate, unit),
            _cost(outcome.replan, unit),
            against,
            unit.text(outcome.regret),
            grouped(outcome.replan.plan.gap * 100, 2),
            *(clean(after[head]) for head in moved),
        )
    console.print(f"Net cost of the year, {unit.name}", style="bold")
    print_table(console, table)
    if said := base_remark(base):
        console.print(f"Base: {clean(said)}", highlight=False)
    for outcome in outcomes:
        for said in filter(None, remarks(base, outcome).values()):
            console.print(
                f"{clean(outcome.change.title)}: {clean(said)}", highlight=False
            )
    console.print(
        "Operate: the base plan's yards stay. Re-plan: everything is planned afresh. "
        f"Regret: what it costs to have built the base plan's yards. {ALL_ESTIMATED}"
    )


def _unit(base: Result, outcomes: Sequence[Outcome]) -> MoneyUnit:
    """Choose what the page counts money in."""
    plans = [base, *(p for o in outcomes for p in (o.operate, o.replan) if p)]
    costs = [number(plan.summary["total_cost"]) for plan in plans]
    return money_unit(clean(base.scenario.settings.currency), costs)


def _cost(result: Result | None, unit: MoneyUnit) -> str:
    """Net cost in a cell of the terminal, and whether the plan leaves demands unmet."""
    if result is None:
        return "cannot stay"
    cost = net_text(result.summary["total_cost"], unit)
    return cost if meets(result) else f"{cost}, demands unmet"
