"""The plan on one page of a terminal; plain text when it is piped."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from maps import flowtables
from maps.assumptions import CAUTIONS
from maps.keyfigures import STATUS_WORDS, number, share
from maps.names import names

if TYPE_CHECKING:
    import pandas as pd

    from logistics.pipeline import Result

MOST_LIMITS = 7
MOST_OF_A_KIND = 2
MOST_YARDS = 20
MOST_SHORTAGES = 12
PIPED_WIDTH = 100


def clean(text: object) -> str:
    r"""
    Take control signs out of a text, so that a name cannot steer the terminal.

    >>> clean("Mill\x1b[31m \u202eA")
    'Mill[31m A'
    """
    return re.sub(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", "", str(text))


def amount(value: object, digits: int = 0) -> str:
    """
    Write a number with thousands separators, a dash if it is missing.

    >>> amount(12345.6), amount(float("nan"))
    ('12,346', '–')
    """
    known = number(value)
    return f"{known:,.{digits}f}" if math.isfinite(known) else "–"


def span(low: object, high: object, digits: int = 0) -> str:
    """
    Write a range.

    >>> span(25, 31.4), span(float("nan"), 1)
    ('25–31', '–')
    """
    parts = amount(low, digits), amount(high, digits)
    return "–" if "–" in parts else "–".join(parts)


def _table(*headings: str, left: int = 1) -> Table:
    """Make an empty table: the first columns to the left, the rest to the right."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, heading in enumerate(headings):
        table.add_column(heading, justify="left" if place < left else "right")
    return table


def yard_table(result: Result) -> Table:
    """Yards in use: size, intake, compost, mix."""
    made = flowtables.yards(result)
    used = made[made["status"].isin(["open", "existing"])]
    used = used.sort_values("intake [t/yr]", ascending=False, kind="stable")
    table = _table(
        "Yard",
        "Size",
        "Status",
        "Intake t/yr",
        "Compost t/yr",
        "C:N",
        "Moisture %",
        "Pad %",
        left=3,
    )
    for row in used.head(MOST_YARDS).to_dict("records"):
        table.add_row(
            Text(clean(row["name"])),
            Text(clean(row["size"])),
            "new" if row["status"] == "open" else "existing",
            amount(row["intake [t/yr]"]),
            amount(row["compost made [t/yr]"]),
            span(row["lowest C:N"], row["highest C:N"]),
            span(row["driest mix [% water]"], row["wettest mix [% water]"]),
            amount(row["fullest pad [%]"]),
        )
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
            amount(row["supply"]),
            amount(row["collected"]),
            amount(part, 1),
        )
    return table


def money_table(result: Result) -> Table:
    """Money of the year by account; income below zero."""
    currency = clean(result.scenario.settings.currency)
    table = _table("Money of the year", currency)
    for account, total in (
        result.ledger.groupby("account", sort=False)["amount"].sum().items()
    ):
        table.add_row(Text(clean(account)), amount(total))
    table.add_row(Text("Net cost", style="bold"), amount(result.ledger["amount"].sum()))
    return table


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
        more = f" Also in {same.sum() - 1} other periods." if same.sum() > 1 else ""
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
        return f"Plan: {status}; {amount(plan.seconds, 1)} s of solving."
    return (
        f"Plan {status}: gap {amount(plan.gap * 100, 2)} % "
        f"(no plan can be better by more), {amount(plan.seconds, 1)} s of solving."
    )


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
    return [
        f"Mixes: C:N {span(summary['cn_min'], summary['cn_max'], 1)} "
        f"(window {span(mix.cn_low, mix.cn_high)}), "
        f"moisture {span(driest, wettest, 1)} % "
        f"(window {span(mix.moisture_low * 100, mix.moisture_high * 100)} %).",
        f"Compost: {amount(summary['compost_t'])} t made, {amount(sent)} t delivered "
        f"of {amount(asked)} t asked for ({amount(met)} %).",
        f"Audit of {len(result.audit)} checks: {passed}. "
        f"Travel: {clean(result.travel.basis)}.",
    ]


def shortage_lines(result: Result) -> list[str]:
    """Demands that cannot be met, one line each, the rest counted."""
    words = [clean(text) for text in result.plan.shortages["words"]]
    if len(words) > MOST_SHORTAGES:
        rest = len(words) - MOST_SHORTAGES
        words[MOST_SHORTAGES:] = [f"And {rest} more in plan.xlsx, sheet shortages."]
    return words


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
    console = console or Console()
    if not console.is_terminal:
        console = Console(file=console.file, width=PIPED_WIDTH, no_color=True)
    _say(console, clean(result.scenario.settings.name), style="bold")
    _say(console, status_line(result), "")
    if len(result.plan.shortages):
        _say(console, "The demands cannot all be met:", style="bold")
        _say(console, *(f"- {line}" for line in shortage_lines(result)), "")
    for table in (yard_table, collected_table, money_table):
        console.print(table(result), highlight=False)
        _say(console, "")
    haul, tonne = result.summary["haul_cost"], result.summary["cost_per_t_collected"]
    currency = clean(result.scenario.settings.currency)
    _say(
        console,
        f"Haulage {amount(haul)} {currency}; net cost {amount(tonne, 2)} {currency} "
        f"per tonne collected ({amount(share(result.summary, 'all') * 100)} % of all).",
        *mix_lines(result),
    )
    found = limits(result.plan.worth)
    if found:
        _say(console, "", "What limits the plan:", *(f"- {line}" for line in found))
    topics = ", ".join(item.lower() for item, _ in CAUTIONS)
    _say(console, "", f"Read the cautions in plan.xlsx, sheet assumptions: {topics}.")
