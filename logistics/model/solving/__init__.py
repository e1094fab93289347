"""Column generation inside branch and bound, with bounds proven for all columns."""

from logistics.model.solving.fleet_choice import choose_fleet
from logistics.model.solving.floor import least_goal
from logistics.model.solving.flow_columns import is_small
from logistics.model.solving.highs import Effort, Progress, Session, relative_gap
from logistics.model.solving.matrix import Matrix, optimum
from logistics.model.solving.recourse import (
    Key,
    Operating,
    first_stage,
    forced,
    keys_of,
    second_stage,
)
from logistics.model.solving.solution import NoPlanError, operate, solve

__all__ = [
    "Effort",
    "Key",
    "Matrix",
    "NoPlanError",
    "Operating",
    "Progress",
    "Session",
    "choose_fleet",
    "first_stage",
    "forced",
    "is_small",
    "keys_of",
    "least_goal",
    "operate",
    "optimum",
    "relative_gap",
    "second_stage",
    "solve",
]
