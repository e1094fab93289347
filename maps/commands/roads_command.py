"""The command `roads`: a road file brought into a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from maps.commands.endings import command
from maps.commands.jobs import read
from maps.commands.options import Folder, a_number


@command
def roads(
    file: Annotated[Path, typer.Argument(help=".osm.pbf .osm .gpkg .geojson .shp")],
    folder: Folder,
    tolerance: Annotated[
        float,
        typer.Option(
            min=0, max=200, callback=a_number, help="Join gaps up to this long [m]."
        ),
    ] = 10.0,
    layer: Annotated[str | None, typer.Option(help="Layer of the file.")] = None,
    tracks: Annotated[bool, typer.Option("--tracks", help="Include tracks.")] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace the existing roads.")
    ] = False,
) -> None:
    """Import roads from OpenStreetMap or a GIS, mend them and report on it."""
    scenario = read(folder)
    from maps.commands.progress_line import busy
    from maps.commands.roads_page import bring_roads

    with busy(f"reading and mending the roads of {file.name}"):
        lines = bring_roads(scenario, file, tolerance, layer, tracks, replace)
    typer.echo("\n".join(lines))
