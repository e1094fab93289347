"""From a plan to a result: audit, trips, mixes, ledger, explanations; `run`."""

from logistics.results.last_result import once_a_result
from logistics.results.pipeline import Result, effort_of, finished, run, run_prepared
from logistics.results.plan_amounts import AuditError, amounts
from logistics.results.plan_audit import audit, emissions, require
from logistics.results.plan_ledger import (
    SAVINGS,
    budget,
    entry_code,
    money_figures,
    of_sources,
)
from logistics.results.standing_yards import cannot_stay
from logistics.results.words import TABLES, demand_names, explain_shortages

__all__ = [
    "SAVINGS",
    "TABLES",
    "AuditError",
    "Result",
    "amounts",
    "audit",
    "budget",
    "cannot_stay",
    "demand_names",
    "effort_of",
    "emissions",
    "entry_code",
    "explain_shortages",
    "finished",
    "money_figures",
    "of_sources",
    "once_a_result",
    "require",
    "run",
    "run_prepared",
]
