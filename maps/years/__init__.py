"""The way from today to the last year: page, workbook, tables."""

from maps.years.many_futures_tables import futures_lines, write_futures
from maps.years.way_files import write_way
from maps.years.way_report import LAST, plan_of_last_year, way_section
from maps.years.way_words import GOALS, earliest_words, goal_said

__all__ = [
    "GOALS",
    "LAST",
    "earliest_words",
    "futures_lines",
    "goal_said",
    "plan_of_last_year",
    "way_section",
    "write_futures",
    "write_way",
]
