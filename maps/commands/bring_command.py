"""The command `bring`: files as people have them, proposed and made our tables."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import command, fail


@command
def bring(
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE... DIR", help="Files to bring in, then the scenario's folder."
        ),
    ],
    recipe: Annotated[
        Path | None,
        typer.Option(
            "--recipe", help="Recipe to use and keep.", show_default="DIR/bring.toml"
        ),
    ] = None,
    answer: Annotated[
        list[str] | None,
        typer.Option("--answer", help="SHEET:KEY=VALUE; may be repeated."),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Write the tables without asking.")
    ] = False,
) -> None:
    """Bring in workbooks, forms and GPS points: proposed first, written after a yes."""
    *files, folder = paths
    if not files:
        message = "Name the files first, then the folder of the scenario."
        raise fail(message, Exit.USAGE)
    for file in files:
        if not file.is_file():
            message = f"There is no file {file}. Name files, then DIR."
            raise fail(message, Exit.USAGE)
    if folder.is_file():
        message = f"{folder} is a file. Name the scenario's folder last."
        raise fail(message, Exit.USAGE)
    from maps.commands.bring_page import Bringing

    with Bringing(files, folder, recipe, answer or []) as bringing:
        asks = sys.stdin.isatty() and sys.stdout.isatty()
        proposal = bringing.propose()
        bringing.show(proposal)
        while proposal.questions and asks and not yes:
            proposal = bringing.propose([_asked(q) for q in proposal.questions])
            bringing.show(proposal)
        if not bringing.ready(proposal):
            bringing.keep_recipe(proposal)
            raise typer.Exit(Exit.FAULTS)
        if not yes and not (asks and typer.confirm("Write these tables?")):
            bringing.keep_recipe(proposal)
            if not asks:
                typer.echo("Nothing else was written. Add --yes to write the tables.")
            return
        typer.echo("\n".join(bringing.write(proposal)))


def _asked(question: object) -> str:
    """Ask one question at the prompt; return the answer as `--answer` takes it."""
    from maps.shared import clean

    place, text = getattr(question, "place", ""), getattr(question, "text", "")
    return f"{place}={typer.prompt(clean(text))}"
