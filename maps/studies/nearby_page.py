"""Plans nearly as good: a page that sets them side by side, tables, words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
from rich.table import Table as Grid

from logistics.changes import ChangeSet, Step, write_change_file
from logistics.studies import sites_table
from maps.report import (
    Look,
    Table,
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
    clean,
    count,
    head_text,
    money_unit,
    print_table,
    render,
    text_console,
    write_csv,
)
from maps.studies.nearby_charts import trade_chart
from maps.studies.nearby_words import (
    WANTED,
    column_of,
    nearby_words,
    plan_rows,
    push_rows,
    site_rows,
    site_words,
)
from maps.tables import write_tables

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from logistics.scenario import Scenario
    from logistics.studies import Nearby
    from maps.shared import MoneyUnit

PLANS = "alternatives_plans"
MAP_PX, MAP_HIGH_PX = 330, 245
"""Width of a map, and most of its height."""
CAUTION = (
    "Planning figures are not permits. Before a site is preferred to another, look at "
    "homes, wells and water near both. Local codes and licensed practice decide."
)


def size_marks(nearby: Nearby, names: dict[str, str]) -> list[dict[str, object]]:
    """List each site with its yard's size in every plan shown; blank without one."""
    results = [nearby.results[n] for n in nearby.shown]
    sizes = [result.summary["yards"] for result in results]
    label = {
        str(row["size"]): str(row.get("name") or row["size"])
        for row in results[0].scenario.yard_sizes.to_dict("records")
    }
    return [
        {
            "name": names.get(code, code),
            "often": f"{often}, proven" if proven else often,
            "sizes": [label.get(each.get(code, ""), "") for each in sizes],
        }
        for code, often, proven in sites_table(nearby.found)[
            ["yard", "often", "proven"]
        ].to_numpy()
    ]


def held_yards(nearby: Nearby, place: int) -> ChangeSet:
    """Write a plan as changes: its yards in their sizes, and none elsewhere."""
    one, instance = nearby.found.plans[place], nearby.found.instance
    sizes = dict(one.plan.yard_sizes)
    offered = {instance.yards.codes[j] for j in instance.options.yard.tolist()}
    code, title = f"plan_{place + 1}", f"Alternative {place + 1}"
    story = f"{count(len(sizes), 'yard')} held: {100 * one.above:.2f} % above the best."
    steps = [
        Step("build_yard", {"yard": yard, "size": size}, code)
        for yard, size in sizes.items()
    ]
    steps += [
        Step("close_yard", {"yard": yard}, code)
        for yard in instance.yards.codes
        if yard in offered and yard not in sizes
    ]
    return ChangeSet(code, title, story, tuple(steps))


def nearby_html(nearby: Nearby, scenario: Scenario, names: dict[str, str]) -> str:
    """Write the page: one file, no scripts, nothing loaded."""
    unit = _unit(nearby, plain(scenario.settings.currency))
    plans, sites = plan_rows(nearby, scenario, names), site_rows(nearby.found, names)
    shown = plans.iloc[nearby.shown]
    charts = [
        {
            "title": _wanted_words(one.push.code, unit).capitalize(),
            "drawn": trade_chart(nearby, one, unit),
        }
        for one in nearby.pushed
    ]
    return render(
        "nearby.html.j2",
        name=plain(scenario.settings.name),
        words=nearby_words(nearby, unit),
        sites=site_words(nearby.found, names),
        plans=_shown(shown, "The plans, cheapest first", unit, words=2),
        charts=charts,
        wanted=_wanted(nearby, unit),
        shares=_shown(sites, "How often a site has a yard", unit, words=2),
        marks=size_marks(nearby, names),
        numbers=[n + 1 for n in nearby.shown],
        maps=_maps(nearby),
        key=map_key(facts(nearby.results[0])),
        files=PLANS,
        more_style=(STATIC / "nearby.css").read_text(encoding="utf-8"),
        caution=f"{ALL_ESTIMATED} {CAUTION}",
    )


def _wanted(nearby: Nearby, unit: MoneyUnit) -> Table | None:
    """Lay out which plan has most of what a board may want, with units."""
    if not nearby.pushed:
        return None
    rows = []
    for one, row in zip(
        nearby.pushed, push_rows(nearby).to_dict("records"), strict=True
    ):
        head = column_of(one.push.code, unit.currency)
        figures = [
            cell_text(head, row[key], unit, 1 if "%" in head else 0)
            for key in ("it has", "the best plan has")
        ]
        more = amount(row["costs more by [%]"], 2)
        rows.append(
            [_wanted_words(one.push.code, unit), str(row["plan"]), *figures, more]
        )
    heads = ["Wanted", "plan", "it has", "the best plan has", "costs more by [%]"]
    caption = "What a board may want, and the plan that has most of it"
    note = (
        "Found by search among these plans, not proven: with more time, or within one "
        "set of yards at a higher cost, more may be possible. A district's share is "
        "that of all feedstock that arises there."
    )
    return Table(caption, heads, rows, words=1, kind="wide", rows_of=(), note=note)


def _wanted_words(code: str, unit: MoneyUnit) -> str:
    """Say what is wanted, and how it is measured if that says more."""
    head = head_text(column_of(code, unit.currency), unit)
    wanted = WANTED[code][0]
    return wanted if head in wanted else f"{wanted}: {head}"


def write_nearby(
    nearby: Nearby, scenario: Scenario, names: dict[str, str], out: Path
) -> None:
    """Write page, workbook and table into a folder, and every plan shown as changes."""
    out.mkdir(parents=True, exist_ok=True)
    page = nearby_html(nearby, scenario, names)
    (out / "alternatives.html").write_text(page, encoding="utf-8", newline="\n")
    plans, sites = plan_rows(nearby, scenario, names), site_rows(nearby.found, names)
    write_csv(plans, out / "alternatives.csv")
    sheets = {
        "plans": (plans, "What each plan costs, builds and hauls"),
        "sites": (sites, "In how many of the plans a site has a yard"),
    }
    if nearby.pushed:
        wanted = "Which plan has most of what a board may want; found, not proven"
        sheets["wanted"] = (push_rows(nearby), wanted)
    write_tables(
        {name: table for name, (table, _) in sheets.items()},
        out / "alternatives.xlsx",
        scenario.settings.name,
        "Plans that cost little more and build at other sites",
        {name: said for name, (_, said) in sheets.items()},
    )
    folder = out / PLANS
    folder.mkdir(exist_ok=True)
    for place in nearby.shown:
        change = held_yards(nearby, place)
        write_change_file(change, folder / f"{change.code}.toml")


def show_nearby(
    nearby: Nearby,
    scenario: Scenario,
    names: dict[str, str],
    console: Console | None = None,
) -> None:
    """Print plans and sites."""
    console = text_console(console, wider=40)
    unit = _unit(nearby, clean(scenario.settings.currency))
    few = plan_rows(nearby, scenario, names).iloc[nearby.shown, :8]
    for table in (few, site_rows(nearby.found, names)):
        grid = Grid(box=None, pad_edge=False)
        for head in table.columns:
            words = table[head].dtype == "str"
            said = head_text(clean(str(head)), unit)
            grid.add_column(said, justify="left" if words else "right")
        for row in table.to_dict("records"):
            grid.add_row(*(clean(_text(str(h), v, unit)) for h, v in row.items()))
        print_table(console, grid)
        console.print()
    lines = [
        f"{WANTED[one.push.code][0].capitalize()} of those found: plan {one.best + 1}."
        for one in nearby.pushed
    ]
    for text in (
        *lines,
        nearby_words(nearby, unit),
        *site_words(nearby.found, names),
        ALL_ESTIMATED,
    ):
        console.print(clean(text), highlight=False, markup=False)


def _shown(table: pd.DataFrame, caption: str, unit: MoneyUnit, words: int) -> Table:
    """Make a table of ready texts."""
    rows = [
        [_text(str(head), value, unit) for head, value in row.items()]
        for row in table.to_dict("records")
    ]
    heads = [head_text(str(head), unit) for head in table.columns]
    return Table(caption, heads, rows, words=words, kind="wide", rows_of=())


def _maps(nearby: Nearby) -> list[dict[str, str]]:
    """Draw every plan, discs of yards to one scale, against the yards of the best."""
    known = {n: facts(nearby.results[n]) for n in nearby.shown}
    tops = [float(intake_by_yard(k).sum(axis=1).max()) for k in known.values()]
    first, drawn = nearby.found.plans[0].sites, []
    for n, each in known.items():
        one = nearby.found.plans[n]
        marks = {
            **dict.fromkeys(one.sites - first, "opened"),
            **dict.fromkeys(first - one.sites, "closed"),
        }
        more = f", {amount(100 * one.above, 2)} % more" if n else ", the best"
        title = f"Plan {n + 1}{more}"
        what = f"{count(len(one.sites), 'yard')} in use."
        look = Look(MAP_PX, MAP_HIGH_PX, max([1e-9, *tops]), marks)
        drawing = district_map(each, f"plan-{n + 1}", title, what, look)
        drawn.append({"title": title, "drawn": drawing})
    return drawn


def _unit(nearby: Nearby, currency: str) -> MoneyUnit:
    costs = (one.plan.objective for one in nearby.found.plans)
    return money_unit(currency, costs)


def _text(head: str, value: Any, unit: MoneyUnit) -> str:
    if isinstance(value, str):
        return value
    if pd.isna(value):
        return ""
    return cell_text(head, value, unit, 2 if "%" in head else 0)
