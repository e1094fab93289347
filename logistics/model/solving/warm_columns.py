"""
Warm start of the tree: columns and duals that an earlier plan leaves to the next.

The first restricted master begins with the options and flow columns that have the least
reduced cost by the duals of the earlier root relaxation, and these duals bound the new
problem at once.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from logistics.model.problem import Flags, Instance, Integers, WarmStart
from logistics.model.rules import option_names
from logistics.model.solving.column_choice import (
    LEAST_COLUMNS,
    initial_columns,
    least_of_group,
)
from logistics.model.solving.column_generation import MasterSolution
from logistics.model.solving.highs import Session, relative_gap
from logistics.model.solving.lagrangian import LagrangianBound, lagrangian_bound
from logistics.model.solving.master import Master
from logistics.model.solving.subproblem import block_duals

SHUT = 1e-3
"""Up to so much of an option open is taken for none. [1]"""

NO_PROOF = 0.05
"""Gap from which the blocks of all options are solved again for their duals. [1]"""


@dataclass(frozen=True, eq=False)
class InitialMaster:
    """
    What the root's restricted master begins with.

    Attributes
    ----------
    proven
        What is proven before any relaxation is solved.
    options, kept
        Options (length o) and flow columns (length x) of the restricted master.
    """

    proven: LagrangianBound
    options: Flags
    kept: Flags


@dataclass
class Incumbent:
    """
    Best plan found so far, and the bound proven.

    Attributes
    ----------
    opened, value
        Its options (mask, length o) and its true value; infinite before any.
    bound
        No plan is better.
    warm_start
        Of an earlier plan, and in the end that of this.
    used
        Flows on lanes of the plan to begin with, length x; None without any.
    based
        Own trucks at home at every yard, shape (v, j); None where none are owned.
    """

    opened: Flags
    value: float = np.inf
    bound: float = -np.inf
    warm_start: WarmStart = field(default_factory=WarmStart)
    used: Flags | None = None
    based: Integers | None = None

    def gap(self) -> float:
        """Proven relative gap. [1]"""
        if not np.isfinite(self.value) or not np.isfinite(self.bound):
            return np.inf
        return relative_gap(self.value, self.bound)


def warm_start_of(inst: Instance, master: Master, root: MasterSolution) -> WarmStart:
    """Keep of the root relaxation what helps to plan the district again."""
    names = option_names(inst)
    return WarmStart(
        # cuts found since stand last and have no duals where the time ran out
        duals=dict(zip(master.names, root.duals.tolist(), strict=False)),
        options=frozenset(names[o] for o in np.flatnonzero(root.opened > SHUT)),
    )


def warm_master(
    inst: Instance, master: Master, incumbent: Incumbent, session: Session
) -> InitialMaster:
    """
    Begin where an earlier plan's root relaxation ended.

    Where compost holds something else now, its duals are wrong within the blocks of
    the options; these get theirs from their pricing subproblems.

    Parameters
    ----------
    inst, master
        The district as it is now, and its full master.
    incumbent
        The earlier plan, its yards run anew, with its warm start.
    session
        Time and wish to stop.
    """
    duals = master.duals_by_name(incumbent.warm_start.duals)
    proven = lagrangian_bound(master, duals, master.root_branch())
    if relative_gap(incumbent.value, proven.bound) > NO_PROOF:
        duals = block_duals(master, duals, np.arange(len(master.opened)), session)
        proven = lagrangian_bound(master, duals, master.root_branch())
    known = [name in incumbent.warm_start.options for name in option_names(inst)]
    flows = master.flows
    inside = np.flatnonzero(incumbent.opened[flows.option])
    kept = initial_columns(master, duals, inst)
    kept[inside] |= least_of_group(flows.key[inside], flows.cost[inside], LEAST_COLUMNS)
    return InitialMaster(
        proven=proven,
        options=incumbent.opened | np.array(known, dtype=bool),
        kept=kept if incumbent.used is None else kept | incumbent.used,
    )
