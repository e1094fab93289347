"""The command `desk`: the scenarios of a folder in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.endings import command

if TYPE_CHECKING:
    from maps.desk import Opened


@command
def desk(
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FOLDER]",
            help="A scenario or a folder of scenarios.",
            show_default="Loamhaul in your documents",
        ),
    ] = None,
    port: Annotated[
        int,
        typer.Option("--port", min=1024, max=65535, help="Port that is tried first."),
    ] = 8765,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Show the address without opening it.")
    ] = False,
) -> None:
    """Open the desk: tables, plans and maps of a folder in the browser."""
    import webbrowser

    from maps.desk import serve

    def told(opened: Opened) -> None:
        typer.echo(f"The desk of {opened.folder}")
        if opened.port != opened.wanted:
            typer.echo(f"Port {opened.wanted} is taken, so it is on {opened.port}.")
        typer.echo(f"  {opened.address}")
        typer.echo("It answers on this computer only. Ctrl-C closes it.")
        if not no_browser and not webbrowser.open(opened.address):
            typer.echo("No browser was found here; open the address in any browser.")

    serve(folder, port, told, manual_made_apart)
    typer.echo("The desk is closed. A plan under way goes on without it.")


def manual_made_apart() -> str:
    """Have the manual made by a program of its own: it loads what only plans need."""
    import subprocess
    import sys
    from tempfile import TemporaryDirectory

    with TemporaryDirectory(prefix="loamhaul-manual-") as folder:
        file = Path(folder) / "manual.html"
        program = [sys.executable, "-P", "-m", "maps", "manual", "--no-browser"]
        subprocess.run(
            [*program, "--out", str(file)], check=True, stdout=subprocess.DEVNULL
        )
        return file.read_text(encoding="utf-8")
