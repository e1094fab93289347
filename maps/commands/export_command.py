"""The command `export`: a whole scenario in another form."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from maps.commands.choices import Form
from maps.commands.endings import command
from maps.commands.jobs import read
from maps.commands.options import Folder


@command
def export(
    folder: Folder,
    form: Annotated[Form, typer.Option("--to", help="What to export to.")] = Form.GPKG,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Folder for the export.",
            show_default="DIR/out/export_gpkg, and so on",
        ),
    ] = None,
) -> None:
    """Export all tables, settings and changes; the copy is a scenario of its own."""
    from maps.shared import check_out, typed, whole_set

    scenario = read(folder)
    home = scenario.path or folder
    target = out or home / "out" / f"export_{form.value}"
    check_out(target)
    from logistics.scenario import exported_tables, in_list
    from maps.geo import write_scenario

    with whole_set(target, "export") as place:
        names = write_scenario(scenario, form.value, home, place)
    found = exported_tables(scenario)
    rows = sum(map(len, found.values()))
    typer.echo(f"Written to {target}: {in_list(names)}.")
    if form is Form.KML:
        typer.echo(_not_in_kml(found))
    else:
        typer.echo(
            f"It has {len(found)} tables with {rows:,} rows, and is a scenario of its "
            f"own: loamhaul check {typed(target)}"
        )


def _not_in_kml(found: Mapping[str, object]) -> str:
    """Say in one line what KML does not hold."""
    from logistics.scenario import columns_of, in_list

    rest = [
        table
        for table in found
        if not {"lon", "wkt"} & {c.name for c in columns_of(table)}
    ]
    return (
        "KML holds places only. It does not hold the settings, the changes"
        f"{' or the tables ' + in_list(rest) if rest else ''}: use gpkg, xlsx or csv "
        "for all of it."
    )
