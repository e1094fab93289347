"""
Named what-ifs and uncertain ranges: scenario in, scenario out.

Each change is a function from scenario to scenario, in the module of its kind; its name
and its docstring are what the command line shows. Quantities are in the units of the
input tables.
"""

from logistics.changes import costs, markets, rules, sources, yards
from logistics.changes.files import (
    ChangeSet,
    Step,
    apply_changes,
    arguments_of,
    change_text,
    changes_of_years,
    find_changes,
    read_change_file,
    read_change_text,
    shown,
    write_change_file,
)
from logistics.changes.ranges import Range, draw, ranges_table, read_ranges
from logistics.changes.registry import CHANGES, Change, change
from logistics.changes.titles import TABLES, title_of, titled

__all__ = [
    "CHANGES",
    "TABLES",
    "Change",
    "ChangeSet",
    "Range",
    "Step",
    "apply_changes",
    "arguments_of",
    "change",
    "change_text",
    "changes_of_years",
    "costs",
    "draw",
    "find_changes",
    "markets",
    "ranges_table",
    "read_change_file",
    "read_change_text",
    "read_ranges",
    "rules",
    "shown",
    "sources",
    "title_of",
    "titled",
    "write_change_file",
    "yards",
]
