"""The command `materials`: the feedstocks whose figures come with the program."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from maps.commands.endings import command

if TYPE_CHECKING:
    from logistics.scenario import Row

HOURS_SHOWN_AS_DAYS = 96


@command
def materials() -> None:
    """List the feedstocks you can use by their code, with figures and sources."""
    from logistics.scenario import library, records

    rows = records(library("materials").frame)
    typer.echo(
        f"{len(rows)} feedstocks come with figures. They are defaults, not local."
    )
    typer.echo("Write a code in sources, column material, or add a row to materials")
    typer.echo("with the figures your laboratory has measured.\n")
    for row in rows:
        typer.echo(f"{row['material']}: {row['name']}")
        typer.echo(f"    {_figures(row)}")
        typer.echo(f"    Source: {row['source']}")


def _figures(row: Row) -> str:
    """Return the figures that mixes, loads and haste turn on, in one line."""
    ratio = row["carbon_pct"] / row["nitrogen_pct"]
    told = [
        f"{row['moisture_pct']:g} % water",
        f"C:N {ratio:.0f}",
        f"nitrogen {row['nitrogen_pct']:g} % of dry mass",
        f"{row['loose_kg_m3']:g} kg/m3 heaped",
        f"{row['hauled_kg_m3']:g} kg/m3 on a truck",
        _keeps(row["keep_hours"]),
        "gives structure" if row["structure"] else "gives no structure",
    ]
    return ", ".join(told)


def _keeps(hours: float) -> str:
    """
    Say how long a feedstock keeps.

    >>> _keeps(12.0), _keeps(720.0), _keeps(float("nan"))
    ('keeps 12 hours', 'keeps 30 days', 'keeps')
    """
    if hours != hours:
        return "keeps"
    if hours < HOURS_SHOWN_AS_DAYS:
        return f"keeps {hours:g} hours"
    return f"keeps {hours / 24:g} days"
