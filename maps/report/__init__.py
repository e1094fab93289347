"""The printed report: facts, pieces, charts, one module a section."""

from maps.report.axes import steps
from maps.report.charts import INK, LINE, PAPER, SOFT, Series, bars, key
from maps.report.one_page import write_explain
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
from maps.report.plan_facts import Facts, account_name, facts, intake_by_yard
from maps.report.report import write_report
from maps.report.small_map import Look, district_map, map_key

__all__ = [
    "INK",
    "LINE",
    "PAPER",
    "SOFT",
    "Cell",
    "Chart",
    "Facts",
    "Group",
    "Heading",
    "Look",
    "Piece",
    "Section",
    "Series",
    "Table",
    "Words",
    "account_name",
    "bars",
    "bdi",
    "district_map",
    "facts",
    "intake_by_yard",
    "key",
    "listed",
    "map_key",
    "plain",
    "shorten",
    "steps",
    "write_explain",
    "write_report",
]
