"""Exit codes and words of choice of the command line."""

from enum import IntEnum, StrEnum

MOST_SECONDS = 1_000_000
"""Longest solving time that can be asked for, as in `columns.csv`. [s]"""

WITH_DATA = "--with-data"
"""Option of all commands: tables go into the report of an error of ours."""


class Exit(IntEnum):
    """Exit codes."""

    DONE = 0
    FAULTS = 1
    USAGE = 2
    SHORTAGE = 3
    STOPPED = 4
    NOTHING = 5
    BUG = 70
    INTERRUPTED = 130


class Kind(StrEnum):
    """What a new scenario is made of."""

    CSV = "csv"
    XLSX = "xlsx"


class Form(StrEnum):
    """What a scenario is exported to."""

    GPKG = "gpkg"
    XLSX = "xlsx"
    CSV = "csv"
    KML = "kml"


class Meant(StrEnum):
    """What files are brought as, where neither ending nor columns say it."""

    TABLES = "tables"
    MAP = "map"
    HEIGHTS = "heights"
    HEADS = "heads"


class Goal(StrEnum):
    """What the plan makes least."""

    COST = "cost"
    UNCOLLECTED = "uncollected"
    CO2E = "co2e"


STATUS_EXIT = {
    "optimal": Exit.DONE,
    "time_limit": Exit.STOPPED,
    "stopped": Exit.STOPPED,
    "shortage": Exit.SHORTAGE,
}
