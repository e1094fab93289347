"""The plan on one page of a terminal; plain text when it is piped."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from logistics.diagnosis import out_of_reach
from logistics.model import relative_gap
from logistics.results import of_sources
from logistics.scenario import in_list
from maps.shared import (
    CAUTIONS,
    IN_USE,
    STATUS_WORDS,
    MoneyUnit,
    clean,
    doubt_lines,
    driven_words,
    grouped,
    held_words,
    money_unit,
    names,
    net_label,
    number,
    print_table,
    range_words,
    share,
    shortage_sentences,
    small_load_words,
    span,
    surplus,
    text_console,
    window,
)
from maps.tables import flows as flowtables
from maps.tables.siting import screening_line

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    import pandas as pd

    from logistics.results import Result
    from logistics.roads import Travel
    from logistics.scenario import Scenario

MOST_LIMITS = 7
MOST_OF_A_KIND = 2
MOST_YARDS = 20
MOST_SHORTAGES = 12
ONE_IN_A_MILLION = 1e-6
NARROW = 76
"""Width below which the table of yards is given in five columns. [characters]"""


def _table(*headings: str, left: int = 1) -> Table:
    """Make an empty table: the first columns to the left, the rest to the right."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, heading in enumerate(headings):
        # a Text, so that a currency such as [b] is no markup
        table.add_column(Text(heading), justify="left" if place < left else "right")
    return table


def yard_table(result: Result, *, narrow: bool = False) -> Table:
    """Yards in use: size, intake, compost, mix; without size and pad if narrow."""
    made = flowtables.yards(result)
    used = made[made["status"].isin(IN_USE)]
    used = used.sort_values("intake [t/yr]", ascending=False, kind="stable")
    columns: dict[str, Callable[[dict[Hashable, Any]], str | Text]] = {
        "Yard": lambda row: Text(clean(row["name"])),
        "Size": lambda row: Text(clean(row["size"])),
        "Status": lambda row: row["status"],
        "Intake t/yr": lambda row: grouped(row["intake [t/yr]"]),
        "Compost t/yr": lambda row: grouped(row["compost made [t/yr]"]),
        "C:N": lambda row: span(row["lowest C:N"], row["highest C:N"]),
        "Moisture %": lambda row: span(
            row["driest mix [% water]"], row["wettest mix [% water]"]
        ),
        "Pad %": lambda row: grouped(row["fullest pad [%]"]),
    }
    if narrow:
        for heading in ("Size", "Status", "Pad %"):
            del columns[heading]
    table = _table(*columns, left=1 if narrow else 3)
    for row in used.head(MOST_YARDS).to_dict("records"):
        table.add_row(*(cell(row) for cell in columns.values()))
    if len(used) > MOST_YARDS:
        table.add_row(f"and {len(used) - MOST_YARDS} more, in plan.xlsx")
    return table


def collected_table(result: Result) -> Table:
    """Supply and collection by feedstock."""
    table = _table("Feedstock", "Supply t/yr", "Collected t/yr", "Share %")
    label = names(result, "material")
    by_material = flowtables.collected_by_material(result)
    by_material.loc["all"] = by_material.sum()
    for code, row in by_material.iterrows():
        part = row["collected"] / row["supply"] * 100 if row["supply"] else math.nan
        table.add_row(
            Text(clean(label.get(str(code), "All"))),
            grouped(row["supply"]),
            grouped(row["collected"]),
            grouped(part, 1),
        )
    return table


SOURCES_PAY = {
    "sources": "fees paid by sources",
    "left behind": "disposal of what is left",
}
"""Accounts that the sources pay, as the page calls them."""


def money_table(result: Result) -> Table:
    """
    Cost of the year by account; income below zero.

    The programme's accounts come first with their sum, then what the sources pay.
    """
    unit, ledger = _unit(result), result.ledger
    table = _table("Cost of the year", unit.name)
    theirs = of_sources(ledger, result.scenario)
    for part, whose in (
        (ledger[~theirs], " to the programme"),
        (ledger[theirs], ""),
    ):
        for account, total in _accounts(part).items():
            name = SOURCES_PAY.get(str(account), clean(account))
            table.add_row(Text(name), unit.text(total))
        if whose and theirs.any():
            _net_row(table, unit, float(part["amount"].sum()), whose)
    _net_row(table, unit, float(ledger["amount"].sum()))
    return table


def _net_row(table: Table, unit: MoneyUnit, net: float, whose: str = "") -> None:
    """Add a sum to the table; one below zero is a surplus."""
    shown = abs(net) if surplus(net) else net
    table.add_row(Text(net_label(net) + whose, style="bold"), unit.text(shown))


def _accounts(ledger: pd.DataFrame) -> pd.Series:
    """Cost of the year by account. [money/yr]"""
    return ledger.groupby("account", sort=False)["amount"].sum()


def _unit(result: Result) -> MoneyUnit:
    """Choose what the page counts money in."""
    currency = clean(result.scenario.settings.currency)
    return money_unit(currency, _accounts(result.ledger))


def limits(worth: pd.DataFrame) -> list[str]:
    """
    Say what limits the plan, dearest first, one sentence each.

    A limit that binds in several periods is named once, at its dearest, and no kind
    of limit more than twice.
    """
    saves = worth[worth["value"] > 0].sort_values(
        "value", ascending=False, kind="stable"
    )
    best = saves.drop_duplicates(["kind", "where"])
    lines = []
    for row in best.groupby("kind", sort=False).head(MOST_OF_A_KIND).itertuples():
        same = (saves["kind"] == row.kind) & (saves["where"] == row.where)
        other = int(same.sum()) - 1
        also = f" Also in {other} other period{'s' if other > 1 else ''}."
        more = also if other else ""
        lines.append(clean(row.words) + more)
    return lines[:MOST_LIMITS]


def _say(console: Console, *lines: str, style: str | None = None) -> None:
    """Print lines as they are: no markup, no colours of numbers."""
    for line in lines:
        console.print(Text(line), style=style, highlight=False)


def status_line(result: Result) -> str:
    """How good the plan is proven to be."""
    plan = result.plan
    status = STATUS_WORDS.get(plan.status, plan.status)
    if plan.status == "shortage":
        return f"Plan: {status}; solved in {grouped(plan.seconds, 1)} s."
    held, rest = held_words(plan), ""
    if held:
        most = relative_gap(plan.objective, plan.floor) * 100
        held = f" with {held}"
        rest = f"; no plan at all by more than {grouped(most, 1)} %"
    return (
        f"Plan {status}: gap {grouped(plan.gap * 100, 2)} %{_gap_in_money(result)} (no "
        f"plan{held} can be better by more than that{rest}), solved in "
        f"{grouped(plan.seconds, 1)} s."
    )


def _gap_in_money(result: Result) -> str:
    """Say the gap in money where money is what the plan makes least."""
    if result.scenario.settings.goal.minimise != "cost":
        return ""
    gap = number(result.summary.get("gap_money"))
    unit = money_unit(clean(result.scenario.settings.currency), [gap])
    return f" or {unit.said(gap)} a year"


def nothing_lines(result: Result) -> list[str]:
    """Say that, and why, a plan takes nothing in; no lines for any other plan."""
    part = share(result.summary, "all")
    if number(result.summary["uncollected_t"]) == 0 or part > ONE_IN_A_MILLION:
        return []
    why = [clean(line) for line in result.summary.get("nothing_possible", [])]
    if why:
        return why
    if result.plan.status == "shortage":
        return ["Nothing is collected: see how far the demands fall short."]
    return [
        "Nothing is collected: within the limits set, that is best for the goal.",
        "To see what stands in the way, set a least share in policy.csv, or",
        "plan with --goal uncollected.",
    ]


def mix_lines(result: Result) -> list[str]:
    """Mixes against their windows, deliveries against demand, audit."""
    summary, mix = result.summary, result.scenario.settings.mix
    driest, wettest = [
        number(summary[f"moisture_{end}"]) * 100 for end in ("min", "max")
    ]
    market = flowtables.demand_met(result)
    asked, sent = market["demand"].sum(), market["tonnes"].sum()
    met = sent / asked * 100 if asked else math.nan
    passed = "passed" if summary["audit_passed"] else "FAILED"
    usable = span(summary["cn_available_min"], summary["cn_available_max"], 1)
    return [
        f"Mixes: C:N {span(summary['cn_min'], summary['cn_max'], 1)}, available carbon "
        f"alone {usable} (window {window(mix.cn_low, mix.cn_high)} for "
        f"{mix.cn_basis} carbon), "
        f"moisture {span(driest, wettest, 1)} % "
        f"(window {window(mix.moisture_low * 100, mix.moisture_high * 100)} %).",
        f"Compost: {grouped(summary['compost_t'])} t made, {grouped(sent)} t delivered "
        f"of {grouped(asked)} t asked for ({grouped(met)} %).",
        *pairing_lines(result),
        *(clean(words) for words in small_load_words(result)),
        f"Audit of {len(result.audit)} checks: {passed}. "
        f"Travel: {clean(result.travel.basis)}.",
    ]


def pairing_lines(result: Result) -> list[str]:
    """Say in a line what pairing saves; nothing without pairs."""
    summary = result.summary
    if not summary.get("paired_trips"):
        return []
    saved, driven = summary["paired_km_saved"], summary["empty_km"]
    return [
        f"Paired trips: {grouped(summary['paired_trips'])}; they save {grouped(saved)} "
        f"of {grouped(saved + driven)} empty km "
        f"({grouped(saved / (saved + driven) * 100)} %) and "
        f"{_unit(result).said(summary['paired_money_saved'])} before hire."
    ]


def shortage_lines(result: Result) -> list[str]:
    """Demands that cannot be met, one line each, the rest counted."""
    words = [clean(text) for text in shortage_sentences(result)]
    if len(words) > MOST_SHORTAGES:
        rest = len(words) - MOST_SHORTAGES
        words[MOST_SHORTAGES:] = [f"And {rest} more in plan.xlsx, sheet shortages."]
    return words


def reach_line(scenario: Scenario, travel: Travel) -> str:
    """Name the sites that nobody can reach and the plan does without; or nothing."""
    lost = [clean(name) for name in out_of_reach(scenario, travel)]
    return f"No truck can reach: {in_list(lost)} (see loamhaul check)." if lost else ""


def show(result: Result, console: Console | None = None) -> None:
    """
    Print the plan on one page.

    Parameters
    ----------
    result
        A planned scenario.
    console
        Where to print; the standard output if left out.
    """
    console = text_console(console)
    _say(console, clean(result.scenario.settings.name), style="bold")
    _say(console, status_line(result), "")
    if len(result.plan.shortages):
        _say(console, "The demands cannot all be met:", style="bold")
        _say(console, *(f"- {line}" for line in shortage_lines(result)), "")
    narrow = console.width < NARROW
    for table in (
        yard_table(result, narrow=narrow),
        collected_table(result),
        money_table(result),
    ):
        print_table(console, table)
        _say(console, "")
    haul, tonne = result.summary["haul_cost"], result.summary["cost_per_t_collected"]
    unit = _unit(result)
    all_of_it = share(result.summary, "all") * 100
    _say(
        console,
        f"Haulage {unit.said(haul)}; {net_label(tonne, 'net cost')} to the programme "
        f"{unit.each(abs(number(tonne)))} {unit.currency} per tonne collected "
        f"({grouped(all_of_it)} % of the supply).",
        *filter(None, [driven_words(result, unit)]),
        *mix_lines(result),
    )
    _say(console, *nothing_lines(result))
    if screening_line(result):
        _say(console, screening_line(result))
    if not result.money_range.empty:
        _say(console, "", range_words(result, _unit(result), brief=True))
    found = limits(result.plan.worth)
    if found:
        _say(console, "", "What limits the plan:", *(f"- {line}" for line in found))
    _say(console, *doubt_lines(result.scenario))
    topics = in_list(item.lower() for item, _ in CAUTIONS)
    _say(console, "", "Where each figure comes from: plan.xlsx, sheet lineage.")
    _say(console, f"Read the cautions in plan.xlsx, sheet assumptions: {topics}.")
