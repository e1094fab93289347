"""
Branch-and-price for a large district: a tree of nodes solved by column generation.

1. Warm start: an earlier plan's yards, or those of the year aggregated to one period,
   run month by month for an incumbent and for duals of all rows; and with these the
   options and flow columns of least reduced cost.
2. The root node: the linear relaxation of the full master, solved by column generation
   (`column_generation`). Its fractional yards are rounded and run for an incumbent.
3. Best-bound search: the node of least bound is branched at a fractional yard, closed
   in one child and open in the other; strong branching on the aggregated year picks
   the yard. Options are fixed shut by reduced cost. Both children are solved at the
   same time, on two threads.

The bound is the least of all open nodes. Every bound is Lagrangian, for all options and
flow columns, so nothing is lost by those left out of a restricted master.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from logistics.model.problem import Flags, Instance
from logistics.model.solving.aggregated_plan import AggregatedPlan, plan_aggregated
from logistics.model.solving.bases import rounded_bases
from logistics.model.solving.branching import (
    INEXACT_TOLERANCE,
    INTEGRALITY_TOLERANCE,
    branching_candidates,
    rounding_heuristic,
)
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.column_generation import (
    ColumnGeneration,
    MasterSolution,
    complete_duals,
    generate_columns,
)
from logistics.model.solving.highs import Answer, Session
from logistics.model.solving.lagrangian import LagrangianBound
from logistics.model.solving.master import Branch, Master
from logistics.model.solving.matrix import relax
from logistics.model.solving.warm_columns import (
    Incumbent,
    InitialMaster,
    warm_master,
    warm_start_of,
)
from logistics.model.solving.yard_runs import CUT_ROUNDS, YardRuns

ACCURACY = 5e-5
"""Gap that rounding in the relaxations may leave when no node is open."""

COLD_COLUMNS = 15
"""Flow columns for each period of each source and market, where no duals are known."""

LEAST_OPTIONS, OPTIONS_PER_YARD = 8, 2
"""Options to begin with: so many, or so many for each yard of the incumbent."""

OPTION_SHARE = 0.3
"""Share of the gap that an option may cost for child nodes to begin with it."""

LEAST_RISE = 0.03
"""Share of the gap that cuts have to close for another round."""

CANDIDATES = 4
"""Branching candidates tried on the aggregated year (strong branching)."""


@dataclass(frozen=True, eq=False)
class Node:
    """A branch, and its relaxation: exact, or within the tolerance for branching."""

    branch: Branch
    solution: MasterSolution
    exact: bool = False

    @property
    def bound(self) -> float:
        """No plan within the branch is better."""
        return self.solution.proven.bound


class _Tree(YardRuns):
    """The open nodes, the incumbent, and the yards run so far."""

    def __init__(
        self,
        instance: Instance,
        master: Master,
        session: Session,
        incumbent: Incumbent,
    ) -> None:
        super().__init__(instance, master, session, incumbent)
        self.nodes: list[Node] = []
        self.fathomed = np.inf  # least bound of the nodes that need no branching

    @cached_property
    def aggregated(self) -> AggregatedPlan | None:
        """The year aggregated to one period, where that is something else."""
        if len(self.instance.periods) == 1:
            return None
        return plan_aggregated(self.instance, self.session)

    def first_columns(self) -> Flags:
        """Mark flow columns by the duals of the aggregated year, or by their cost."""
        if self.aggregated is None:
            return initial_columns(self.master, None, self.instance, COLD_COLUMNS)
        duals = self.master.duals_by_name(self.aggregated.duals)
        return initial_columns(self.master, duals, self.instance)

    def cold_start(self, session: Session) -> InitialMaster | None:
        """
        Run good yards, and complete the duals of their flows; None without any.

        Good yards are those known already and those of the aggregated year.
        """
        incumbent, aggregated = self.incumbent, self.aggregated
        yards = [incumbent.opened] if np.isfinite(incumbent.value) else []
        if aggregated is not None and aggregated.opened is not None:
            yards.append(aggregated.opened)
        kept = self.first_columns()
        ran = [found for opened in yards if (found := self.run(opened, kept))]
        good = min(ran, key=lambda found: found.value, default=None)
        if good is None or not np.isfinite(good.value):
            return None
        master = self.master
        duals, proven = complete_duals(master, good, session)
        options = incumbent.opened.copy()
        order = np.argsort(proven.excess, kind="stable")
        count = max(LEAST_OPTIONS, OPTIONS_PER_YARD * int(options.sum()))
        options[order[:count]] = True
        kept = kept | good.kept | initial_columns(master, duals, self.instance)
        return InitialMaster(proven, options, kept)

    @property
    def over(self) -> bool:
        proven = self.incumbent.gap() <= self.gap_asked
        return proven or self.incumbent.bound >= self.enough or self.session.over

    def solve(
        self,
        branch: Branch,
        options: Flags,
        kept: Flags,
        session: Session,
        *,
        exact: bool = False,
    ) -> MasterSolution | None:
        """Solve the relaxation of a branch from some options and flow columns."""
        params = ColumnGeneration(
            self.tolerance, self.cutoff, options, inexact=not exact
        )
        found = generate_columns(self.master, branch, kept, session, params)
        return None if found is None else found.without_reduced_costs()

    def solve_root(
        self, branch: Branch, options: Flags, kept: Flags, session: Session
    ) -> MasterSolution | None:
        """Solve the root's relaxation, and again with the cuts that it breaks."""
        root = self.solve(branch, options, kept, session)
        for _ in range(CUT_ROUNDS):
            if root is None or root.proven.bound >= self.cutoff:
                break
            if not self.take_cuts(root):
                break
            options = options | (root.opened > INTEGRALITY_TOLERANCE)
            again = self.solve(branch, options, root.kept, session)
            if again is None:
                break
            rise = again.proven.bound - root.proven.bound
            root = replace(again, proven=again.proven.at_least(root.proven.bound))
            if rise < LEAST_RISE * (self.incumbent.value - root.proven.bound):
                break
        return root

    def add(self, node: Node) -> None:
        """Take in a node; a fathomed one only holds the bound down."""
        if node.bound >= self.cutoff:
            self.fathomed = min(self.fathomed, node.bound)
            return
        solution, homes = node.solution, self.master.homes
        opened = rounding_heuristic(solution.opened, self.master)
        self.run(opened, solution.kept)
        if len(homes):
            based = rounded_bases(self.master, node.branch, opened, solution.based)
            self.run_homes(opened, solution.kept, based)
        self.nodes.append(node)

    def update_bound(self) -> None:
        """Take over the least bound of all nodes."""
        bounds = [self.fathomed, *(node.bound for node in self.nodes)]
        bound = min(min(bounds), self.incumbent.value)
        self.incumbent.bound = max(self.incumbent.bound, bound)
        self.report()

    def branch_best(self, pool: ThreadPoolExecutor) -> None:
        """Branch the node of least bound, or fathom it if its yards are integer."""
        node = self.nodes.pop(int(np.argmin([n.bound for n in self.nodes])))
        fixed = self.fix_by_reduced_cost(node.branch, node.solution.proven)
        children: Sequence[Branch] = self.choose_children(node, fixed, pool)
        if not children and node.exact:
            self.fathomed = min(self.fathomed, node.bound)
            return
        exact = node.exact or not children
        options, kept = self.cheap_options(node), node.solution.kept
        jobs = [
            pool.submit(self.solve, b, options, kept, self.session, exact=exact)
            for b in children or [fixed]
        ]
        solved: list[MasterSolution] = []
        for branch, job in zip(children or [fixed], jobs, strict=True):
            found = job.result()
            if found is None:  # out of time
                self.nodes.append(Node(branch, node.solution, exact))
                continue
            solved.append(found)
            proven = found.proven.at_least(node.bound)
            self.add(Node(branch, replace(found, proven=proven), exact))
        self.drop_cuts(solved)
        for found in solved:
            self.take_cuts(found)

    def cheap_options(self, node: Node) -> Flags:
        """Mark the options that the children of a node begin with."""
        cheap = OPTION_SHARE * (self.incumbent.value - node.bound)
        solution = node.solution
        fractional = solution.opened > INTEGRALITY_TOLERANCE
        return fractional | (solution.proven.excess < cheap)

    def choose_children(
        self, node: Node, fixed: Branch, pool: ThreadPoolExecutor
    ) -> Sequence[Branch]:
        """Strong branching: the children that cost most in the aggregated year."""
        tolerance = INTEGRALITY_TOLERANCE if node.exact else INEXACT_TOLERANCE
        solution = node.solution
        found = branching_candidates(
            solution.opened, solution.based, fixed, self.master, tolerance
        )
        candidates = found[:CANDIDATES]
        if len(candidates) < 2 or self.aggregated is None:
            return candidates[0] if candidates else ()
        branches = [fixed, *(child for pair in candidates for child in pair)]

        values = np.array(list(pool.map(self.aggregated_bound, branches)))
        parent = values[0]
        if not np.isfinite(parent):
            return candidates[0]
        distance = max(self.incumbent.value - node.bound, 1e-9)
        rise = np.clip((values[1:] - parent) / distance, 1e-2, 1.0).reshape(-1, 2)
        return candidates[int(np.argmax(rise.prod(axis=1)))]

    def aggregated_bound(self, branch: Branch) -> float:
        """Relaxed value of a branch in the aggregated year. [goal]"""
        if self.aggregated is None:
            return np.inf
        restricted = self.aggregated.master.restrict(self.aggregated.kept, branch)
        found = relax(restricted.matrix, self.session)
        return np.inf if found is None else found.value

    def fix_by_reduced_cost(self, branch: Branch, proven: LagrangianBound) -> Branch:
        """Shut the options that would cost more than the gap there is."""
        gap = self.incumbent.value - proven.bound
        fixed = (proven.excess > gap) & (branch.low == 0)
        return replace(branch, high=np.where(fixed, 0.0, branch.high))


def search(
    instance: Instance, master: Master, session: Session, incumbent: Incumbent
) -> Answer:
    """
    Find a plan and prove how good it is.

    Parameters
    ----------
    instance, master, session
        The problem, its full master; gap and time.
    incumbent
        Bettered in place. With a finite value its options have been run.

    Returns
    -------
    Answer
        status "optimal" where the gap asked for is proven, "infeasible" where there
        is no plan, else "time_limit" or "stopped", with incumbent value and bound.
    """
    tree = _Tree(instance, master, session, incumbent)
    branch, options, kept = _begin(tree, session)
    if tree.over:  # the duals of an earlier plan may prove it
        return _answer(tree, session)
    with ThreadPoolExecutor(max(1, session.effort.threads)) as pool:
        root = tree.solve_root(branch, options, kept, session)
        if root is not None:
            incumbent.warm_start = warm_start_of(instance, tree.master, root)
            tree.add(Node(branch, root))
            tree.update_bound()
            left = np.inf if session.effort.nodes is None else session.effort.nodes
            while tree.nodes and not tree.over and left > 0:
                left -= 1
                tree.branch_best(pool)
                tree.update_bound()
    return _answer(tree, session)


def _begin(tree: _Tree, session: Session) -> tuple[Branch, Flags, Flags]:
    """
    Begin with good yards, and with options and flow columns of low reduced cost.

    The duals are those of an earlier plan's root relaxation, as long as its yards can
    be run, or those of the flows of good yards.
    """
    master, incumbent = tree.master, tree.incumbent
    warm = incumbent.used is not None and len(incumbent.warm_start.duals) > 0
    first = (
        warm_master(tree.instance, master, incumbent, session)
        if warm
        else tree.cold_start(session)
    )
    branch = master.root_branch()
    if first is None:
        return branch, np.ones(len(master.opened), dtype=bool), tree.first_columns()
    incumbent.bound = max(incumbent.bound, first.proven.bound)
    tree.report()
    return tree.fix_by_reduced_cost(branch, first.proven), first.options, first.kept


def _answer(tree: _Tree, session: Session) -> Answer:
    incumbent = tree.incumbent
    status = "optimal"
    if not np.isfinite(incumbent.value) and not tree.nodes and not session.over:
        status = "infeasible"
    elif incumbent.gap() > max(session.effort.gap, 0.0 if tree.nodes else ACCURACY):
        status = "stopped" if session.stop.asked else "time_limit"
    value = incumbent.value if np.isfinite(incumbent.value) else None
    return Answer(status, value, incumbent.bound, session.spent)
