"""The way from today to the last year: page, workbook, tables."""

from maps.years.way_files import write_way
from maps.years.way_report import LAST, plan_of_last_year, way_section
from maps.years.way_words import GOALS, earliest_words, goal_said

__all__ = [
    "GOALS",
    "LAST",
    "earliest_words",
    "goal_said",
    "plan_of_last_year",
    "way_section",
    "write_way",
]
