"""The command `sites`: candidate yards proposed."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.endings import command
from maps.commands.jobs import read
from maps.commands.options import Folder, a_number


@command
def sites(
    folder: Folder,
    count: Annotated[
        int,
        typer.Option("--count", min=1, max=10_000, help="Largest number of proposals."),
    ] = 6,
    spacing: Annotated[
        float,
        typer.Option(
            "--spacing",
            min=0.05,
            max=100,
            callback=a_number,
            help="Spacing of the grid [km].",
        ),
    ] = 1.0,
) -> None:
    """Propose yard sites near feedstock that break no siting rule."""
    scenario = read(folder)
    from maps.commands.sites_page import propose_into

    propose_into(scenario, scenario.path or folder, count, spacing)
