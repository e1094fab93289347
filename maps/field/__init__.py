"""What drivers and foremen get: run sheets, yard sheets, a map of the day, GPX."""

from maps.field.dates import work_date
from maps.field.driven_tables import clock, round_tables
from maps.field.feedback import first_words, turn_line, turn_words
from maps.field.round_files import write_rounds
from maps.field.round_overview import overview_lines, write_all_rounds
from maps.field.yard_choice import choice_words
from maps.field.yard_sheet_parts import windrow_name
from maps.field.yard_sheets import write_all

__all__ = [
    "choice_words",
    "clock",
    "first_words",
    "overview_lines",
    "round_tables",
    "turn_line",
    "turn_words",
    "windrow_name",
    "work_date",
    "write_all",
    "write_all_rounds",
    "write_rounds",
]
