"""Lines whose attributes bear the names of our own columns, as a GIS keeps them."""

from __future__ import annotations

import re

import numpy as np

from logistics.roads.importing.tags import Tags, yes
from logistics.roads.speeds import SPEED_KMH
from logistics.scenario import Column, columns_of

SHORT_NAME = 10
"""Letters of a column name that a Shapefile keeps."""


def is_own(tags: Tags) -> bool:
    """Whether a line has no OpenStreetMap tags, so that our names are looked for."""
    return "highway" not in tags and "route" not in tags


def own_row(tags: Tags) -> dict[str, object]:
    """
    Return the row of the table roads, with the default where nothing usable stands.

    Examples
    --------
    >>> row = own_row({"class": "Paved main", "max_gross_": "7.5", "level": "high"})
    >>> row["class"], row["max_gross_t"], row["level"], row["bridge"]
    ('paved_main', 7.5, 0.0, False)
    """
    row: dict[str, object] = {}
    for column in columns_of("roads"):
        text = given(tags, column)
        if column.kind in {"number", "integer"}:
            default = float(column.default) if column.default else np.nan
            row[column.name] = float(text) if usable(column, text) else default
        elif column.kind == "yes_no":
            row[column.name] = yes({"it": text}, "it")
        elif column.kind == "list":
            row[column.name] = tuple(re.findall(r"[^\s,;]+", text))
        elif column.name == "class":
            row[column.name] = _word(text) if usable(column, text) else column.default
        elif column.name != "wkt":
            row[column.name] = text
    return row


def given(tags: Tags, column: Column) -> str:
    """Return what stands under the name of a column, whole or cut short."""
    return tags.get(column.name, tags.get(column.name[:SHORT_NAME], ""))


def _word(text: str) -> str:
    return text.casefold().replace(" ", "_")


def usable(column: Column, text: str) -> bool:
    """Whether a number lies within its limits; whether a class is one of ours."""
    if column.name == "class":
        return _word(text) in SPEED_KMH
    if column.kind not in {"number", "integer"}:
        return True
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)", text):
        return False
    value = float(text)
    if column.kind == "integer" and not value.is_integer():
        return False
    above = column.low is None or value >= column.low
    return above and (column.high is None or value <= column.high)
