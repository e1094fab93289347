"""The command `stick`: a folder that installs Loamhaul without internet."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from maps.commands.endings import command

NAMES = {"win32": "windows", "darwin": "macos"}
"""System as Python calls it -> as we do; any other is linux."""


class System(StrEnum):
    """Systems that a stick can serve."""

    WINDOWS = "windows"
    MACOS = "macos"
    LINUX = "linux"


@command
def stick(
    context: typer.Context,
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Folder to make on the stick.")
    ],
    systems: Annotated[
        list[System] | None,
        typer.Option(
            "--for",
            help="System of the computers to install on; may be repeated.",
            show_default="that of this computer",
        ),
    ] = None,
    pythons: Annotated[
        list[str] | None,
        typer.Option(
            "--python",
            metavar="VERSION",
            help="Version of Python on those computers; may be repeated.",
            show_default="that of this computer",
        ),
    ] = None,
    installers: Annotated[
        list[Path] | None,
        typer.Option(
            "--installer",
            metavar="FILE",
            help="An installer of Python to put on the stick; may be repeated.",
        ),
    ] = None,
    wheel: Annotated[
        Path | None,
        typer.Option(
            "--wheel",
            metavar="FILE",
            help="The wheel of Loamhaul.",
            show_default="built from its source",
        ),
    ] = None,
) -> None:
    """Write a folder that installs Loamhaul on computers without internet."""
    from maps.commands.manual_command import described, version_here
    from maps.manual import manual_html
    from maps.stick import Order, write_stick

    here = System(NAMES.get(sys.platform, "linux"))
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    order = Order(
        systems=tuple(dict.fromkeys(x.value for x in systems or [here])),
        pythons=tuple(dict.fromkeys(pythons or [version])),
        manual=manual_html(described(context), version_here()),
        wheel=wheel and wheel.absolute(),
        installers=tuple(installers or ()),
    )
    size = write_stick(folder.absolute(), order, lambda doing: typer.echo(f"{doing} …"))
    typer.echo(f"Written: {folder} ({size / 1e6:,.0f} MB).")
    typer.echo(
        "Open the install script of a system there; the text file beside it says"
    )
    typer.echo("what it does and how to take it away again.")
    if not installers:
        typer.echo(
            f"Python itself is not on it: a computer needs Python "
            f"{' or '.join(order.pythons)} already, or see --installer."
        )
