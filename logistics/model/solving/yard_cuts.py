"""
What running a year costs as a function of its yards: bounded from below by cuts.

Given duals of the rows that couple yards (supply, demand, trucks), the block of each
option is a small programme of its own, so the best slope of the cut in each option is
known exactly, also for those that are shut (Magnanti and Wong, Accelerating Benders
decomposition, Operations Research 29(3), 1981, ask for such cuts; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Floats, Instance
from logistics.model.rules import EVERY, build, goal_terms, shortage_terms
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.highs import Session
from logistics.model.solving.master import Master, master_of
from logistics.model.solving.matrix import optimum, relax
from logistics.model.solving.recourse import SLACK_COST
from logistics.model.solving.subproblem import block_duals


@dataclass(frozen=True, eq=False)
class YardCut:
    """
    A bound on what a year costs: constant + slope . opened.

    Attributes
    ----------
    value
        What it costs where the cut was made; missing where it was not made at yards.
    constant, slope
        In the goal's unit, length o.
    """

    value: float
    constant: float
    slope: Floats


NOTHING = 1e-6
"""In what part a yard works that does not. [1]"""


class YardCuts:
    """
    Cuts of one year, own trucks based in parts, unmet demands at a penalty.

    Parameters
    ----------
    inst
        The year; which yards must open, how many may and what capital there is are
        decided elsewhere.
    session
        Threads of the block programmes.
    only_short
        Count by how much demands are missed, in parts of them, and nothing else.
    """

    def __init__(
        self, inst: Instance, session: Session, *, only_short: bool = False
    ) -> None:
        programme, variables = build(inst, elastic=EVERY, lanes=False, linked=False)
        short = shortage_terms(variables)
        if only_short:
            programme.minimise([(x, c / 1e3) for x, c in short])
        else:
            terms, constant = goal_terms(variables, inst)
            slack = [(x, c * SLACK_COST / 1e3) for x, c in short]
            programme.minimise([*terms, *slack], constant)
        self._master: Master = master_of(inst, (programme, variables))
        self._session = session

    def at(self, works: Floats) -> YardCut | None:
        """Run options, in part too (0 to 1, length o); None if there is no answer."""
        master = self._master
        opened = works > NOTHING
        high = np.where(opened, works, 0.0)
        low = np.where(high < 1, np.maximum(0.0, high - NOTHING), high)
        branch = replace(master.root_branch(), low=low, high=high)
        restricted = master.restrict(opened[master.flows.option], branch)
        solved = relax(restricted.matrix, self._session) or optimum(
            restricted.matrix, session=self._session
        )  # where little is at stake, the simplex method finds an end
        if solved is None:
            return None
        duals = np.zeros(len(master.names))
        duals[restricted.rows] = solved.duals
        shut = np.ones(int(master.yard.max(initial=-1)) + 1, dtype=bool)
        shut[master.yard[opened]] = False
        duals = master.backhaul_rows.outwards(master.frame, duals, shut)
        return self._cut(duals, ~opened, solved.value)

    def by_duals(self, known: Mapping[str, float]) -> YardCut:
        """Make a cut of duals by the names of their rows, as a plan leaves them."""
        duals = self._master.duals_by_name(known)
        return self._cut(duals, np.ones(len(self._master.opened), dtype=bool), np.nan)

    def _cut(self, duals: Floats, shut: Flags, value: float) -> YardCut:
        """Complete duals by the blocks of options that are shut; read off the cut."""
        master = self._master
        flows, frame = master.flows, master.frame
        duals = block_duals(master, duals, np.flatnonzero(shut), self._session)
        y = frame.usable(duals)
        y[master.links] = 0.0
        y[master.one_size] = 0.0
        flow_cost = flows.cost - flows.rows.T @ y
        gains = np.flatnonzero(flow_cost < 0)
        np.minimum.at(y, flows.link[gains], flow_cost[gains])
        column_cost = frame.reduced_cost(y)
        below, above = master.sides(master.root_branch())
        row_value = np.where(y > 0, below, np.where(y < 0, above, 0.0))
        high = np.where(np.isinf(frame.high), master.most, frame.high)
        ends = np.where(column_cost >= 0, frame.low, high)
        ends[master.opened] = 0.0
        slope = column_cost[master.opened]
        within = (master.option != NONE) & (column_cost < 0)
        within[master.opened] = False  # its columns are at nothing where it is shut
        moved = column_cost * np.where(within, ends, 0.0)
        slope = slope + np.bincount(
            master.option[within], moved[within], minlength=len(slope)
        )
        ends[within] = 0.0
        constant = float(y @ row_value + column_cost @ ends) + frame.constant
        return YardCut(value, constant, slope)
