"""The way from today to the last year: page, workbook, tables."""

from maps.years.way_files import write_way
from maps.years.way_report import LAST, plan_of_last_year, way_section

__all__ = ["LAST", "plan_of_last_year", "way_section", "write_way"]
