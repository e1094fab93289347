"""Exit codes and words of choice of the command line."""

from enum import IntEnum, StrEnum

MOST_SECONDS = 1_000_000
"""Longest solving time that can be asked for, as in `columns.csv`. [s]"""


class Exit(IntEnum):
    """Exit codes."""

    DONE = 0
    FAULTS = 1
    USAGE = 2
    SHORTAGE = 3
    STOPPED = 4


class Kind(StrEnum):
    """What a new scenario is made of."""

    CSV = "csv"
    XLSX = "xlsx"


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
