"""Why something cannot work, before solving: reach, feasibility, likely slips."""

from logistics.diagnosis.feasibility import idle_yards, nothing_possible
from logistics.diagnosis.findings import checked_travel, warnings
from logistics.diagnosis.reach import out_of_reach, travel_warnings, unreachable_sites
from logistics.diagnosis.slips import cautions, driving_days_only

__all__ = [
    "cautions",
    "checked_travel",
    "driving_days_only",
    "idle_yards",
    "nothing_possible",
    "out_of_reach",
    "travel_warnings",
    "unreachable_sites",
    "warnings",
]
