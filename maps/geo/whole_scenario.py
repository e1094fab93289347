"""A whole scenario in another form: tables, settings and changes, or its places."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from maps.geo.scenario_layers import write_scenario_gpkg, write_scenario_kml

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def write_scenario(scenario: Scenario, form: str, home: Path, place: Path) -> list[str]:
    """
    Write a scenario into a folder; return the names of the files.

    Parameters
    ----------
    scenario
        Its tables.
    form
        "gpkg", "xlsx", "csv" or "kml"; KML holds places only.
    home, place
        Folder of the scenario, and where the files go.
    """
    from logistics.scenario import (
        copy_settings,
        export_book,
        export_csv,
        exported_tables,
    )

    found = exported_tables(scenario)
    write = {
        "gpkg": write_scenario_gpkg,
        "xlsx": export_book,
        "csv": export_csv,
        "kml": write_scenario_kml,
    }
    names = write[form](found, place)
    return names if form == "kml" else names + copy_settings(home, place)
