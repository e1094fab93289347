"""Many futures on one page: how often each yard is chosen, and what was assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.changes import ranges_table
from logistics.studies import yard_shares
from maps.report import Section, Table, Words, bdi, plain
from maps.shared import MINUS, amount

if TYPE_CHECKING:
    from logistics.studies import Stress

FUTURES = "stress_futures"


def end_text(value: float) -> str:
    """Write an end of a range, with as many digits as it has."""
    return f"{value:g}".replace("-", MINUS)


def yards_section(found: Stress) -> Section | None:
    """Show how often each yard is chosen."""
    shares = yard_shares(found)
    if shares.empty:
        return None
    rows = [
        (
            bdi(r["name"]),
            "yes" if r["in_base"] else "no",
            amount(r["draws"] * 100),
            amount(r["losses"] * 100),
        )
        for _, r in shares.iterrows()
    ]
    note = (
        "Here each future chooses its own yards. A yard chosen in nearly all futures "
        "is a safe choice. Each plan is proven only to its gap, so between yards that "
        "cost nearly the same the shares may be chance. A yard's own loss is not "
        "counted."
    )
    heads = ["Yard", "in the base plan", "open in draws [%]", "open in losses [%]"]
    table = Table("How often each yard is chosen", heads, rows, words=2, note=note,
        rows_of=["yards chosen"])  # fmt: skip
    return Section("yards", "Which yards are right in most futures", [table])


def basis_section(found: Stress) -> Section:
    """Say what was drawn from, and how to look at one future alone."""
    rows = [
        (
            bdi(r["name"]),
            end_text(r["low"]),
            DASHED if pd.isna(r["likely"]) else end_text(r["likely"]),
            end_text(r["high"]),
            amount(r["numbers"]),
            f"{r['basis']}; {plain(r['source'])}" if r["source"] else r["basis"],
        )
        for _, r in ranges_table(found.ranges).iterrows()
    ]
    heads = ["Range", "low", "likely", "high", "numbers drawn", "where it comes from"]
    note = (
        "Each number is drawn independently: evenly between its ends, or from a "
        "triangular distribution where a likeliest value is given. Put your own ranges "
        "into the table ranges."
    )
    table = Table("Ranges used", heads, rows, note=note, kind="prose",
        rows_of=["ranges"])  # fmt: skip
    words = Words(
        [
            "Every future is an ordinary set of changes, saved in the folder "
            f"{FUTURES} beside this page. To see one on its own: loamhaul compare DIR "
            f"--change OUT/{FUTURES}/NAME.toml (yards kept, and all planned afresh) or "
            "loamhaul plan DIR with the same --change.",
            "Where a source gives its own laboratory value, the range of its feedstock "
            "does not change it.",
        ]
    )
    return Section("basis", "Assumptions", [table, words])


DASHED = "even"
"""Stands for the likeliest value of a range that has none."""
