"""The command `bring`: files as people have them, proposed and made our tables."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from maps.commands.choices import Exit, Meant
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
    meant: Annotated[
        Meant | None,
        typer.Option("--as", help="What the files are, where they do not say it."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="With a map: replace the existing roads.")
    ] = False,
    yes: Annotated[
        bool, typer.Option("--yes", help="Write the tables without asking.")
    ] = False,
) -> None:
    """Bring in workbooks, forms, GPS points and maps: proposed, written after a yes."""
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
    parts = _parts(files, meant)
    answers = answer or []
    both = len(parts) > 1
    tables = parts.get(Meant.TABLES)
    if tables and not _bring_tables(
        tables, folder, recipe, _for(answers, tables=True) if both else answers, yes
    ):
        if both:
            typer.echo("The map comes next, once these tables are written.")
        return
    for kind, mapped in parts.items():
        if kind is not Meant.TABLES:
            told = _for(answers, tables=False) if both else answers
            own = None if both else recipe
            _bring_ground(mapped, folder, kind, own, told, replace, yes)


def _for(answers: list[str], *, tables: bool) -> list[str]:
    """Part answers to questions of tables from those of maps, which say `:kind=`."""
    return [one for one in answers if (":kind=" not in one) is tables]


def _bring_tables(
    files: list[Path],
    folder: Path,
    recipe: Path | None,
    answers: list[str],
    yes: bool,
) -> bool:
    """Propose tables and write them after a yes; return whether they were written."""
    from maps.bringing import Bringing
    from maps.commands.bring_page import ready, show

    with Bringing(files, folder, recipe, answers) as bringing:
        asks = sys.stdin.isatty() and sys.stdout.isatty()
        proposal = bringing.propose()
        show(bringing, proposal)
        while proposal.questions and asks and not yes:
            proposal = bringing.propose([_asked(q) for q in proposal.questions])
            show(bringing, proposal)
        is_ready = ready(bringing, proposal)
        if not is_ready or (
            not yes and not (asks and typer.confirm("Write these tables?"))
        ):
            bringing.keep_recipe(proposal)
            typer.echo(f"The recipe is in {bringing.recipe}.")
            if not is_ready:
                raise typer.Exit(Exit.FAULTS)
            if not asks:
                typer.echo("Nothing else was written. Add --yes to write the tables.")
            return False
        typer.echo("\n".join(bringing.write(proposal)))
        return True


def _parts(files: list[Path], meant: Meant | None) -> dict[Meant, list[Path]]:
    """Say what the files are: tables come first, then a map."""
    if meant is not None:
        return {meant: files}
    from maps.bringing import sorted_files

    found = {Meant(kind): those for kind, those in sorted_files(files).items()}
    if Meant.HEIGHTS in found:
        message = "A raster does not say what it holds: add --as heights or --as heads."
        raise fail(message, Exit.USAGE)
    order = (Meant.TABLES, Meant.MAP)
    return {kind: found[kind] for kind in order if kind in found}


def _bring_ground(
    files: list[Path],
    folder: Path,
    meant: Meant,
    recipe: Path | None,
    answers: list[str] | None,
    replace: bool,
    yes: bool,
) -> None:
    """Bring a map or rasters into a scenario that has its sites."""
    if not folder.is_dir():
        message = f"There is no folder {folder} yet. Bring its sites first, then this."
        raise fail(message, Exit.USAGE)
    from maps.bringing import GroundBringing
    from maps.commands.jobs import read
    from maps.commands.progress_line import busy

    scenario = read(folder)
    page = GroundBringing(files, folder, recipe, answers or [], replace)
    with busy(f"reading {files[0].name}"):
        lines = page.propose(scenario, meant)
    typer.echo("\n".join(lines))
    if not page.tables:
        typer.echo("Nothing to write.")
        return
    asks = sys.stdin.isatty() and sys.stdout.isatty()
    if not yes and not (asks and typer.confirm("Write these tables?")):
        typer.echo("\n".join(page.keep_recipe(meant)))
        if not asks:
            typer.echo("Nothing else was written. Add --yes to write the tables.")
        return
    typer.echo("\n".join(page.write(meant)))


def _asked(question: object) -> str:
    """Ask one question at the prompt; return the answer as `--answer` takes it."""
    from maps.shared import clean

    place, text = getattr(question, "place", ""), getattr(question, "text", "")
    return f"{place}={typer.prompt(clean(text))}"
