"""The command `new`: starter tables with notes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from maps.commands.choices import Exit, Kind
from maps.commands.endings import command, fail


@command
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    kind: Annotated[
        Kind, typer.Option("--format", help="CSV files or one XLSX workbook.")
    ] = Kind.CSV,
) -> None:
    """Make a folder of starter tables with notes, ready to fill in."""
    from logistics.scenario import (
        FILL_FIRST,
        ScenarioError,
        library,
        new_scenario,
    )
    from maps.shared import typed

    try:
        made = new_scenario(folder, kind.value)
    except ScenarioError as error:  # the folder named is taken: no fault of a table
        raise fail(str(error), Exit.USAGE) from None
    typer.echo(f"Made in {folder}: {', '.join(file.name for file in made)}.")
    more = len(library("materials").frame)
    typer.echo(
        f"It has some of the {more} feedstocks whose figures come with Loamhaul:"
    )
    typer.echo("you can use any code listed by `loamhaul materials` at once.")
    place = "sheets" if kind is Kind.XLSX else "tables"
    typer.echo(f"Fill in these {len(FILL_FIRST)} {place} first, in this order:")
    typer.echo(f"  {', '.join(FILL_FIRST)}.")
    typer.echo(
        "Also give the name and edges of your district in scenario.toml. The rest"
    )
    typer.echo("can wait: it is blank, or has what comes with Loamhaul.")
    if kind is Kind.XLSX:
        typer.echo("The sheet start says what is missing. Grey rows are examples and")
        typer.echo("never read: write yours below them,")
    else:
        typer.echo(
            "The notes explain every column. Replace the example rows with your own,"
        )
    typer.echo(f"then: loamhaul check {typed(folder)}")
