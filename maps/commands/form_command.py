"""The command `form`: forms for phones and for paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from maps.commands.endings import command
from maps.commands.jobs import read
from maps.commands.options import Folder

SURVEY, PAPER = "survey.xlsx", "paper"


@command
def form(
    folder: Folder,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="Folder for the forms.", show_default="DIR/out/forms"
        ),
    ] = None,
) -> None:
    """Write a survey for phones (XLSForm), and the same questions to print on A4."""
    scenario = read(folder)
    from logistics.scenario import in_list
    from maps.forms import write_paper_forms, write_xlsform
    from maps.shared import check_out, whole_set

    target = out or (scenario.path or folder) / "out" / "forms"
    check_out(target)
    with whole_set(target, "form") as place:
        write_xlsform(scenario, place / SURVEY)
        names = write_paper_forms(scenario, place / PAPER)
    typer.echo(f"Written to {target}: {SURVEY} for phones; to print on A4, in {PAPER}:")
    typer.echo(f"  {in_list(names)}.")
    if not len(scenario.roads):
        typer.echo("The scenario has no roads, so none can be asked about.")
    typer.echo("What comes back from the phones: loamhaul bring FILE... DIR")
