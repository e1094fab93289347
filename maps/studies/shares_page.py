"""Cost shares as tables with units, a workbook and a page of a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from rich.console import Console
from rich.table import Table

from logistics.accounts import core_breaches, dearer_together, steadiest
from logistics.scenario import in_list, records
from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    cell_text,
    clean,
    head_text,
    money_unit,
    net_said,
    print_table,
    text_console,
    write_csv,
)
from maps.tables import write_tables

if TYPE_CHECKING:
    from pathlib import Path

    from logistics.scenario import Scenario
    from logistics.studies import Coalition, Sharing

RULES = {
    "by_tonnes": "by tonnes",
    "by_tonne_km": "by t·km",
    "shapley": "by what each adds (Shapley)",
    "steadiest": "steadiest",
}


SHARE_SHEETS = {
    "shares": "What each district pays under each rule of sharing",
    "groups": "What each group of districts would pay alone, and together",
    "core": "Under which rules no group would rather go alone",
}


def share_tables(found: Sharing, scenario: Scenario) -> dict[str, pd.DataFrame]:
    """Shares, groups and the test of every rule, with units."""
    money = f"[{scenario.settings.currency}/yr]"
    shares = _with_steadiest(found)
    groups = sorted(
        found.coalitions.values(), key=lambda one: (len(one.group), sorted(one.group))
    )
    heads = {
        "district": "district",
        "arises": "arises [t/yr]",
        "tonnes": "collected [t/yr]",
        "tonne_km": "hauled in [t·km/yr]",
        "alone": f"alone {money}",
        **{rule: f"{name} {money}" for rule, name in RULES.items()},
        "low": f"Shapley no less than {money}",
        "high": f"Shapley no more than {money}",
        "standing": f"of the trucks owned, by tonnes arising {money}",
        "pays": f"Shapley with trucks {money}",
    }
    shares["pays"] = shares["shapley"] + shares["standing"]
    shown = [name for name in heads if name in shares]
    return {
        "shares": shares[shown].rename(columns=heads),
        "groups": pd.DataFrame([_group(one, found, shares) for one in groups]).rename(
            columns=lambda name: name.replace("[money/yr]", money)
        ),
        "core": _core(found, shares).rename(
            columns=lambda name: name.replace("[money/yr]", money)
        ),
    }


def _with_steadiest(found: Sharing) -> pd.DataFrame:
    """Add the steadiest split where all groups are known."""
    shares = found.table.copy()
    if not found.orders:
        share, _ = steadiest(found.game, found.parties)
        shares["steadiest"] = [share[party] for party in found.parties]
    return shares


def _group(one: Coalition, found: Sharing, shares: pd.DataFrame) -> dict[str, object]:
    """Describe one group: alone against what its districts pay."""
    mine = shares["district"].isin(one.group)
    size = max(abs(one.cost), 1e-9)
    return {
        "group": in_list(p for p in found.parties if p in one.group),
        "districts": len(one.group),
        "alone [money/yr]": one.cost,
        "alone no less than [money/yr]": one.bound,
        "gap [%]": (one.cost - one.bound) / size * 100,
        **{
            f"pays {name} [money/yr]": float(shares.loc[mine, rule].sum())
            for rule, name in RULES.items()
            if rule in shares
        },
        "solving [s]": one.seconds,
        "status": one.status,
    }


def _core(found: Sharing, shares: pd.DataFrame) -> pd.DataFrame:
    """
    Say of every rule whether some group would pay less alone.

    A group's cost found is one it can reach, so a breach of that is certain; one only
    of its bound is possible within the gap.
    """
    floor = {group: one.bound for group, one in found.coalitions.items()}
    rows = []
    for rule in [r for r in RULES if r in shares]:
        share = dict(zip(shares["district"], shares[rule], strict=True))
        sure = core_breaches(found.game, share)
        whole = frozenset(found.parties)
        perhaps = [one for one in core_breaches(floor, share) if one.group != whole]
        answer = "yes" if sure else "perhaps, within the gap" if perhaps else "no"
        rows.append(
            {
                "rule": RULES[rule],
                "does a group pay more than alone": answer,
                "groups that do": len(sure),
                "worst group": in_list(sorted(sure[0].group)) if sure else "",
                "it would save by leaving [money/yr]": sure[0].excess if sure else 0.0,
            }
        )
    return pd.DataFrame(rows)


def write_shares(found: Sharing, scenario: Scenario, out: Path) -> None:
    """Write shares.xlsx and shares.csv/ into a folder."""
    tables = share_tables(found, scenario)
    folder = out / "shares.csv"
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        write_csv(table, folder / f"{name}.csv")
    write_tables(
        tables,
        out / "shares.xlsx",
        scenario.settings.name,
        "What each district pays",
        SHARE_SHEETS,
    )


def show_shares(
    found: Sharing, scenario: Scenario, console: Console | None = None
) -> None:
    """Print who pays what under each rule, and whether somebody would rather leave."""
    console = text_console(console, wider=60)
    currency = clean(scenario.settings.currency)
    unit = money_unit(currency, [found.total, *found.table["alone"]])
    tables = share_tables(found, scenario)
    console.print(f"Who pays, {unit.name} a year; collected in t", style="bold")
    print_table(console, _grid(_narrow(found, currency), unit, bare=True))
    console.print()
    print_table(console, _grid(tables["core"], unit))
    console.print("\n".join([*_words(found, unit), ALL_ESTIMATED]), highlight=False)


NARROW = {
    "district": "district",
    "tonnes": "collected",
    "alone": "alone",
    "by_tonnes": "by tonnes",
    "by_tonne_km": "by t·km",
    "shapley": "Shapley",
    "low": "no less",
    "high": "no more",
    "steadiest": "steadiest",
    "standing": "trucks owned",
}
"""Columns of the terminal page; units stand above it."""


def _narrow(found: Sharing, currency: str) -> pd.DataFrame:
    """Take what fits on a terminal; money has its unit in the heading."""
    shares = _with_steadiest(found)
    heads = {
        name: head if name in ("district", "tonnes") else f"{head} [{currency}/yr]"
        for name, head in NARROW.items()
    }
    return shares[[name for name in heads if name in shares]].rename(columns=heads)


def _words(found: Sharing, unit: MoneyUnit) -> list[str]:
    """Explain the split in sentences."""
    saved = found.table["alone"].sum() - found.total
    lines = [
        f"All together: {net_said(found.total, unit)} a year, plus "
        f"{unit.text(found.standing)} for the trucks owned, which is fixed and shared "
        "by tonnes produced.",
        f"Each district alone would add up to {unit.text(found.table['alone'].sum())}; "
        "acting together "
        + (
            f"saves {unit.text(saved)}."
            if saved >= 0
            else f"costs {unit.text(-saved)} more."
        ),
    ]
    if found.orders:
        lines.append(
            f"Shapley shares are estimated from {found.orders} random orders of "
            "joining; the limits are two standard errors either way. Only groups that "
            "came up in them are tested."
        )
        return lines
    apart = dearer_together(found.game)
    if apart:
        one = apart[0]
        lines.append(
            f"In {len(apart)} cases two groups cost more together than apart, by up to "
            f"{unit.text(one.excess)} ({in_list(sorted(one.group))}): alone, each got "
            "the best yards and markets, which both want."
        )
    _, saving = steadiest(found.game, found.parties)
    lines.append(
        "In the steadiest split, every smaller group saves at least "
        f"{unit.text(saving)} by staying."
        if saving >= 0
        else "No split keeps every group content: even in the steadiest one, a group "
        f"would save {unit.text(-saving)} by leaving."
    )
    return lines


def _grid(table: pd.DataFrame, unit: MoneyUnit, *, bare: bool = False) -> Table:
    """Lay a table out, numbers to the right; if bare the unit stands above it."""
    grid = Table(box=None, pad_edge=False)
    for head in table.columns:
        number = pd.api.types.is_numeric_dtype(table[head])
        text = clean(head).partition(" [")[0] if bare else head_text(clean(head), unit)
        grid.add_column(text, justify="right" if number else "left")
    for row in records(table):
        grid.add_row(
            *(
                clean(cell)
                if isinstance(cell, str)
                else cell_text(clean(head), float(cell), unit)
                for head, cell in row.items()
            )
        )
    return grid
