"""
Loamhaul in Python: plan the composting yards and the haulage of a district.

What a notebook or a script needs, with the words of the command line: read a scenario,
check it, plan it, compare it under changes, turn a month into rounds, and look at what
was found as tables or write it to a folder.

The names in `__all__` are the promise: they, their arguments and what they return stay
from one version to the next. Of a `Scenario` its `settings` and `tables` are promised,
of a `Result` its `scenario` and `summary`; all else is best taken from `tables`. Other
modules, `logistics` and `maps` among them, may change at any time.

Nothing heavy is loaded before it is used.

Examples
--------
>>> import loamhaul
>>> district = loamhaul.example_scenario()
>>> planned = loamhaul.plan(district, gap_pct=1)
>>> planned.summary["status"]
'optimal'
>>> loamhaul.tables(planned)["yards"]["status"].tolist().count("new")
1
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loamhaul.checking import check
    from loamhaul.districts import (
        example_scenario,
        new_scenario,
        read_scenario,
        write_scenario,
    )
    from loamhaul.findings import Comparison, Rounds, tables, write_outputs
    from loamhaul.planning import compare, plan, rounds
    from logistics.model import NoPlanError
    from logistics.results import AuditError, Result
    from logistics.scenario import Problem, Scenario, ScenarioError

__all__ = [
    "AuditError",
    "Comparison",
    "NoPlanError",
    "Problem",
    "Result",
    "Rounds",
    "Scenario",
    "ScenarioError",
    "check",
    "compare",
    "example_scenario",
    "new_scenario",
    "plan",
    "read_scenario",
    "rounds",
    "tables",
    "write_outputs",
    "write_scenario",
]

_HOMES = {
    "loamhaul.checking": ("check",),
    "loamhaul.districts": (
        "example_scenario",
        "new_scenario",
        "read_scenario",
        "write_scenario",
    ),
    "loamhaul.findings": ("Comparison", "Rounds", "tables", "write_outputs"),
    "loamhaul.planning": ("compare", "plan", "rounds"),
    "logistics.model": ("NoPlanError",),
    "logistics.results": ("AuditError", "Result"),
    "logistics.scenario": ("Problem", "Scenario", "ScenarioError"),
}
"""Module -> the names it gives, loaded when the first of them is asked for."""


if not TYPE_CHECKING:

    def __getattr__(name):
        """Load a promised name when it is first asked for."""
        for home, names in _HOMES.items():
            if name in names:
                globals()[name] = found = getattr(import_module(home), name)
                return found
        message = f"module 'loamhaul' has no attribute {name!r}"
        raise AttributeError(message)


def __dir__() -> list[str]:
    """List the promised names, for completion."""
    return sorted({*globals(), *__all__})
