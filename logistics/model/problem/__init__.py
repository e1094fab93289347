"""Frozen records: the instance (numbers in), the plan (out), warm-start data."""

from logistics.model.problem.arrays import Flags, Floats, Integers
from logistics.model.problem.contents import SUBSTANCES, Contents
from logistics.model.problem.feed import Feed, Margin
from logistics.model.problem.instance import (
    CompostDays,
    Instance,
    LeastLoads,
    LeastShare,
    Mix,
    MostShare,
    OtherSites,
    Policy,
    ServedWhole,
)
from logistics.model.problem.nearby import (
    WORST,
    FarmDistances,
    PeopleNear,
    mean_of_worst,
)
from logistics.model.problem.own_hours import PART, hired_beside, own_factor, steps
from logistics.model.problem.parts import (
    Backhauls,
    Lanes,
    Markets,
    Options,
    Supply,
    Trucks,
    Yards,
)
from logistics.model.problem.plan import Plan, SmallLoads, no_paired_trips
from logistics.model.problem.standard import Standard, StandardRow
from logistics.model.problem.warm_start import (
    BASIC,
    LOWER,
    Basis,
    Kinds,
    WarmStart,
    basis_of,
)
from logistics.model.problem.windows import WindowEnd, window_ends

__all__ = [
    "BASIC",
    "LOWER",
    "PART",
    "SUBSTANCES",
    "WORST",
    "Backhauls",
    "Basis",
    "CompostDays",
    "Contents",
    "FarmDistances",
    "Feed",
    "Flags",
    "Floats",
    "Instance",
    "Integers",
    "Kinds",
    "Lanes",
    "LeastLoads",
    "LeastShare",
    "Margin",
    "Markets",
    "Mix",
    "MostShare",
    "Options",
    "OtherSites",
    "PeopleNear",
    "Plan",
    "Policy",
    "ServedWhole",
    "SmallLoads",
    "Standard",
    "StandardRow",
    "Supply",
    "Trucks",
    "WarmStart",
    "WindowEnd",
    "Yards",
    "basis_of",
    "hired_beside",
    "mean_of_worst",
    "no_paired_trips",
    "own_factor",
    "steps",
    "window_ends",
]
