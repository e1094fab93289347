"""Why something cannot work, before solving: reach, feasibility, likely slips."""

from logistics.diagnosis.feasibility import idle_yards, nothing_possible
from logistics.diagnosis.finding import ACCEPT
from logistics.diagnosis.findings import checked_travel, doubts, looked_at, warnings
from logistics.diagnosis.reach import out_of_reach, travel_warnings, unreachable_sites
from logistics.diagnosis.settled import HOW, Settled
from logistics.diagnosis.slips import driving_days_only

__all__ = [
    "ACCEPT",
    "HOW",
    "Settled",
    "checked_travel",
    "doubts",
    "driving_days_only",
    "idle_yards",
    "looked_at",
    "nothing_possible",
    "out_of_reach",
    "travel_warnings",
    "unreachable_sites",
    "warnings",
]
