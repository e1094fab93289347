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
    """Make a folder of starter tables with notes, ready to be filled in."""
    from logistics.scenario import (
        FILL_FIRST,
        ScenarioError,
        library,
        new_scenario,
    )

    try:
        made = new_scenario(folder, kind.value)
    except ScenarioError as error:  # the folder named is taken: no fault of a table
        raise fail(str(error), Exit.USAGE) from None
    typer.echo(f"Made in {folder}: {', '.join(file.name for file in made)}.")
    more = len(library("materials").frame)
    typer.echo(
        f"It has some of the {more} feedstocks whose figures come with Loamhaul:"
    )
    typer.echo("a code that `loamhaul materials` lists may be used straight away.")
    place = "sheets" if kind is Kind.XLSX else "tables"
    typer.echo(f"Fill in these {len(FILL_FIRST)} {place} first, in this order:")
    typer.echo(f"  {', '.join(FILL_FIRST)}.")
    typer.echo("And the name and edges of your district in scenario.toml. All others")
    typer.echo("may wait: they are blank, or hold what comes with Loamhaul.")
    typer.echo("The notes explain every column. Put your rows in place of the")
    typer.echo(f"example's, then: loamhaul check {folder}")
