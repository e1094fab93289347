"""The printed report: facts, pieces, charts, one module a section."""

from maps.report.axes import steps
from maps.report.charts import INK, LINE, PAPER, SOFT
from maps.report.pieces import (
    Cell,
    Chart,
    Group,
    Heading,
    Piece,
    Section,
    Table,
    Words,
    bdi,
    listed,
    plain,
    shorten,
)
from maps.report.report import write_report

__all__ = [
    "INK",
    "LINE",
    "PAPER",
    "SOFT",
    "Cell",
    "Chart",
    "Group",
    "Heading",
    "Piece",
    "Section",
    "Table",
    "Words",
    "bdi",
    "listed",
    "plain",
    "shorten",
    "steps",
    "write_report",
]
