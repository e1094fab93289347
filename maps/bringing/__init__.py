"""Bringing files into a scenario, step by step: what is shown, and what is written."""

from maps.bringing.ground_run import GroundBringing
from maps.bringing.road_lines import ROADS, report_lines, report_table, roads_table
from maps.bringing.sorting import HEIGHTS, MAP, TABLES, sorted_files
from maps.bringing.table_run import MOST_LINES, Bringing, faults_left

__all__ = [
    "HEIGHTS",
    "MAP",
    "MOST_LINES",
    "ROADS",
    "TABLES",
    "Bringing",
    "GroundBringing",
    "faults_left",
    "report_lines",
    "report_table",
    "roads_table",
    "sorted_files",
]
