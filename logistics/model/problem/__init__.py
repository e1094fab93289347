"""Frozen records: the instance (numbers in), the plan (out), warm-start data."""

from logistics.model.problem.instance import (
    Instance,
    LeastShare,
    Mix,
    MostShare,
    Policy,
)
from logistics.model.problem.parts import (
    Feed,
    Flags,
    Floats,
    Lanes,
    Markets,
    Options,
    Pairs,
    Supply,
    Trucks,
    Whole,
    Yards,
)
from logistics.model.problem.plan import Plan, no_pairs
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
    "Basis",
    "Feed",
    "Flags",
    "Floats",
    "Instance",
    "Kinds",
    "Lanes",
    "LeastShare",
    "Markets",
    "Mix",
    "MostShare",
    "Options",
    "Pairs",
    "Plan",
    "Policy",
    "Supply",
    "Trucks",
    "WarmStart",
    "Whole",
    "Yards",
    "basis_of",
    "no_pairs",
]
