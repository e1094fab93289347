"""Frozen records: the instance (numbers in), the plan (out), warm-start data."""

from logistics.model.problem.contents import SUBSTANCES, Contents
from logistics.model.problem.instance import (
    CompostDays,
    Instance,
    LeastLoads,
    LeastShare,
    Mix,
    MostShare,
    Policy,
)
from logistics.model.problem.parts import (
    Backhauls,
    Feed,
    Flags,
    Floats,
    Integers,
    Lanes,
    Markets,
    Options,
    Supply,
    Trucks,
    Yards,
)
from logistics.model.problem.plan import Plan, SmallLoads, no_paired_trips
from logistics.model.problem.warm_start import (
    BASIC,
    LOWER,
    Basis,
    Kinds,
    WarmStart,
    basis_of,
)

__all__ = [
    "BASIC",
    "LOWER",
    "SUBSTANCES",
    "Backhauls",
    "Basis",
    "CompostDays",
    "Contents",
    "Feed",
    "Flags",
    "Floats",
    "Instance",
    "Integers",
    "Kinds",
    "Lanes",
    "LeastLoads",
    "LeastShare",
    "Markets",
    "Mix",
    "MostShare",
    "Options",
    "Plan",
    "Policy",
    "SmallLoads",
    "Supply",
    "Trucks",
    "WarmStart",
    "Yards",
    "basis_of",
    "no_paired_trips",
]
