"""
Named changes to a scenario: the "and if" of a planner.

Each is a function from scenario to scenario, in the room of its kind; its name and its
docstring are what the command line and the desk show. Quantities are in the units of
the input tables.
"""

from logistics.changes import costs, markets, rules, sources, yards
from logistics.changes.registry import CHANGES, Change, change

__all__ = ["CHANGES", "Change", "change", "costs", "markets", "rules", "sources"]
__all__ += ["yards"]
