"""Many futures as tables with units and names, for files and a terminal."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd
from rich.console import Console
from rich.table import Table as Grid

from logistics.changes import ranges_table
from logistics.scenario import rows_by
from logistics.studies import (
    MONEY,
    OPERATE,
    REPLAN,
    cost_at_risk,
    ranking,
    runs_table,
    spoiling,
    swings,
    yard_shares,
)
from maps.shared import (
    MoneyUnit,
    amount,
    between_words,
    clean,
    money_unit,
    net_said,
    net_text,
    print_table,
    text_console,
    told_apart,
)

if TYPE_CHECKING:
    from logistics.scenario import Scenario
    from logistics.studies import Stress

ANSWERS = {OPERATE: "yards as in the base", REPLAN: "all planned afresh"}
KINDS = {
    "base": "base plan",
    "source": "source lost",
    "market": "market lost",
    "yard": "yard lost",
    "road": "bridge, ferry or low road lost",
    "low": "low end of a range",
    "high": "high end of a range",
    "draw": "draw",
}
WORDS = {"cost": "net cost", "haulage": "haulage", "capital": "capital"}
"""Measures in money."""
SHOWN = 12
"""Losses shown on a terminal."""


def material_names(scenario: Scenario) -> dict[str, str]:
    """Name of every material by its code."""
    table = scenario.materials
    return told_apart(
        {
            str(code): str(name or code)
            for code, name in zip(table["material"], table["name"], strict=True)
        }
    )


def stress_unit(found: Stress, table: pd.DataFrame) -> MoneyUnit:
    """Choose what a page counts money in: by the dearest future."""
    return money_unit(clean(found.scenario.settings.currency), table["cost"])


def draws_words(drawn: pd.DataFrame, unit: MoneyUnit) -> str:
    """Say between what the money of nine draws of ten lies; see `cost_at_risk`."""
    rows = rows_by(drawn, "measure")
    ends = {
        figure: (rows[code]["p05"], rows[code]["p95"])
        for figure, code in zip(("net", "haulage", "capital"), MONEY, strict=True)
    }
    return f"In nine draws of ten the net cost lies {between_words(ends, unit)}."


def with_units(table: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """Name the columns of `runs_table` with their units; codes become words."""
    money = f"[{scenario.settings.currency}/yr]"
    materials = material_names(scenario)
    shown = table.copy()
    shown["kind"] = shown["kind"].map(KINDS)
    shown["answer"] = shown["answer"].map(ANSWERS)
    shown["gap"] = shown["gap"] * 100
    heads = {
        "title": "what happens",
        "cost": f"net cost {money}",
        "still_owed": f"of it still owed for the lost yard {money}",
        "against_base": f"against the base {money}",
        "haulage": f"haulage {money}",
        "capital": f"capital [{scenario.settings.currency}]",
        "collected": "collected [t/yr]",
        "compost": "compost made [t/yr]",
        "yards": "yards open",
        "gap": "proven gap [%]",
        "shortages": "demands that cannot be met",
    }
    for column in shown.columns:
        for head, words in (("more_left_", "more left than in the base"),
                            ("left_", "left uncollected")):  # fmt: skip
            if column.startswith(head):
                name = materials.get(column.removeprefix(head), column)
                heads[column] = f"{name}: {words} [t/yr]"
                break
    return shown.rename(columns=heads)


def risk_with_units(found: Stress, table: pd.DataFrame, answer: str) -> pd.DataFrame:
    """Distribution over the draws, with units."""
    rows = cost_at_risk(found, table, answer)
    if rows.empty:
        return rows
    currency = found.scenario.settings.currency
    names = material_names(found.scenario)
    money = {
        "cost": f"net cost [{currency}/yr]",
        "haulage": f"haulage [{currency}/yr]",
        "capital": f"capital [{currency}]",
    }
    rows["measure"] = [
        money.get(code)
        or f"{names.get(code.removeprefix('left_'), code)} left uncollected [t/yr]"
        for code in rows["measure"]
    ]
    return rows.rename(
        columns={
            "p05": "5 % of draws are below",
            "p95": "5 % of draws are above",
            "cvar_90": "mean of the worst 10 % (CVaR 90)",
            "cvar_95": "mean of the worst 5 % (CVaR 95)",
            "unmet": "draws with unmet demands",
        }
    )


def stress_tables(found: Stress) -> dict[str, pd.DataFrame]:
    """Every table of a stress test by the name of its sheet."""
    scenario = found.scenario
    table = runs_table(found)
    money = f"[{scenario.settings.currency}/yr]"
    answers = [a for a in ANSWERS if (table["answer"] == a).any()]
    sheets = {"what hurts most": with_units(ranking(table), scenario)}
    if REPLAN in answers:
        sheets["re-planned"] = with_units(ranking(table, REPLAN), scenario)
    sheets["ranges at their ends"] = swings(found, table).rename(
        columns={
            "low": "low end",
            "high": "high end",
            "cost_low": f"low end against the base {money}",
            "cost_high": f"high end against the base {money}",
            "unmet": "demands unmet at an end",
        }
    )
    for answer in answers:
        drawn = risk_with_units(found, table, answer)
        if not drawn.empty:
            sheets["draws" if answer == OPERATE else "draws re-planned"] = drawn
    if REPLAN in answers:
        shares = yard_shares(found)
        shares[["draws", "losses"]] *= 100
        sheets["yards chosen"] = shares.rename(
            columns={
                "in_base": "in the base plan",
                "draws": "open in draws [%]",
                "losses": "open in losses [%]",
            }
        )
    sheets["futures"] = with_units(table, scenario)
    sheets["ranges"] = ranges_table(found.ranges)
    return sheets


def show_stress(found: Stress, console: Console | None = None) -> None:
    """Print what hurts most, and what the draws say."""
    console = text_console(console, wider=40)
    scenario, table = found.scenario, runs_table(found)
    unit = stress_unit(found, table)
    worst, names = ranking(table), material_names(scenario)
    spoils = spoiling(scenario)
    base = table[table["kind"] == "base"].iloc[0]
    console.print(f"Base plan: {net_said(base['cost'], unit)} a year", style="bold")
    grid = Grid(box=None, pad_edge=False)
    grid.add_column("What hurts most")
    in_large = f", {unit.name}" if unit.word else ""
    grid.add_column(f"Against base{in_large}", justify="right")
    for code in spoils:
        grid.add_column(f"{clean(names[code])} left, t more", justify="right")
    grid.add_column("")
    for _, row in worst.head(SHOWN).iterrows():
        grid.add_row(
            clean(row["title"]),
            unit.text(row["against_base"]),
            *(amount(row[f"more_left_{code}"]) for code in spoils),
            "demands unmet" if row["status"] == "shortage" else "",
        )
    print_table(console, grid)
    if len(worst) > SHOWN:
        console.print(f"and {len(worst) - SHOWN} more losses in stress.xlsx")
    for answer, words in ANSWERS.items():
        drawn = cost_at_risk(found, table, answer)
        if drawn.empty:
            continue
        console.print(f"{drawn['draws'].iloc[0]} draws, {words}:", style="bold")
        console.print(f"  {draws_words(drawn, unit)}", highlight=False)
        for _, row in drawn.iterrows():
            code = row["measure"].removeprefix("left_")
            money = code in MONEY
            what = WORDS[code] if money else f"{clean(names[code])} left, t"
            text: Callable[[float], str] = amount
            if money:
                text = partial(net_text, unit=unit) if code == "cost" else unit.text
            what += in_large if money else ""
            console.print(
                f"  {what}: mean {text(row['mean'])}, 5 to 95 %: "
                f"{text(row['p05'])} to {text(row['p95'])}, "
                f"worst 10 %: {text(row['cvar_90'])}, "
                f"worst 5 %: {text(row['cvar_95'])}",
                highlight=False,
            )
        if drawn["unmet"].iloc[0]:
            unmet = int(drawn["unmet"].iloc[0])
            console.print(f"  demands cannot all be met in {unmet} draws")
    for _, row in yard_shares(found).iterrows():
        console.print(
            f"  {clean(row['name'])}: open in {amount(row['draws'] * 100)} % of draws, "
            f"{amount(row['losses'] * 100)} % of losses",
            highlight=False,
        )
