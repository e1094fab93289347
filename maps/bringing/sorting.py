"""What files are brought as, and which of several are tables, maps and rasters."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

MAPPED = {".osm", ".pbf", ".gpkg", ".shp", ".geojson", ".tif", ".tiff"}
"""Endings of files that may be a map or a raster."""


TABLES, MAP, HEIGHTS, HEADS = "tables", "map", "heights", "heads"
"""What files may be brought as."""


def sorted_files(files: Sequence[Path]) -> dict[str, list[Path]]:
    """
    Sort files by what they are.

    Returns
    -------
    dict
        Files of tables and of maps. Rasters stand under `HEIGHTS`, though only a
        planner knows whether they hold heights or heads.
    """
    found: dict[str, list[Path]] = {}
    for file in files:
        found.setdefault(_meant(file), []).append(file)
    return found


def _meant(file: Path) -> str:
    if file.suffix.lower() not in MAPPED:
        return TABLES
    from logistics.ground import ENDINGS, is_map

    if file.suffix.lower() in ENDINGS:
        return HEIGHTS
    return MAP if is_map(file) else TABLES
