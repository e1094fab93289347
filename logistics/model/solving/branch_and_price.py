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
from logistics.model.solving.branching import (
    INEXACT_TOLERANCE,
    INTEGRALITY_TOLERANCE,
    branching_candidates,
    rounding_heuristic,
)
from logistics.model.solving.column_generation import (
    ColumnGeneration,
    MasterSolution,
    complete_duals,
    generate_columns,
    initial_columns,
    run_yards,
)
from logistics.model.solving.highs import Answer, Progress, Session
from logistics.model.solving.lagrangian import LagrangianBound
from logistics.model.solving.master import Branch, Master
from logistics.model.solving.matrix import relax
from logistics.model.solving.warm_columns import (
    Incumbent,
    InitialMaster,
    warm_master,
    warm_start_of,
)

RELAXATION_TOLERANCE = 0.2
"""Distance of a relaxation and its bound, as a share of the gap asked for."""

ACCURACY = 5e-5
"""Gap that rounding in the relaxations may leave when no node is open."""

COLD_COLUMNS = 15
"""Flow columns for each period of each source and market, where no duals are known."""

LEAST_OPTIONS, OPTIONS_PER_YARD = 8, 2
"""Options to begin with: so many, or so many for each yard of the incumbent."""

OPTION_SHARE = 0.3
"""Share of the gap that an option may cost for child nodes to begin with it."""

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


class _Tree:
    """The open nodes, the incumbent, and the yards run so far."""

    def __init__(
        self,
        instance: Instance,
        master: Master,
        session: Session,
        incumbent: Incumbent,
    ) -> None:
        single = replace(session.effort, threads=1)
        self.instance, self.master = instance, master
        self.incumbent, self.gap_asked = incumbent, session.effort.gap
        self.session = replace(session, effort=single)
        self.nodes: list[Node] = []
        self.fathomed = np.inf  # least bound of the nodes that need no branching
        self.known: set[bytes] = set()  # yards that have been run

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
        master, incumbent, aggregated = self.master, self.incumbent, self.aggregated
        yards = [incumbent.opened] if np.isfinite(incumbent.value) else []
        if aggregated is not None and aggregated.opened is not None:
            yards.append(aggregated.opened)
        kept = self.first_columns()
        ran = [found for opened in yards if (found := self.run(opened, kept))]
        good = min(ran, key=lambda found: found.value, default=None)
        if good is None or not np.isfinite(good.value):
            return None
        duals, proven = complete_duals(master, good, session)
        options = incumbent.opened.copy()
        order = np.argsort(proven.excess, kind="stable")
        count = max(LEAST_OPTIONS, OPTIONS_PER_YARD * int(options.sum()))
        options[order[:count]] = True
        kept = kept | good.kept | initial_columns(master, duals, self.instance)
        return InitialMaster(proven, options, kept)

    @property
    def tolerance(self) -> float:
        return max(RELAXATION_TOLERANCE * self.gap_asked, 1e-9)

    @property
    def cutoff(self) -> float:
        """Bound from which a node is fathomed: it holds no plan worth finding."""
        value = self.incumbent.value
        return value - self.gap_asked * abs(value) if np.isfinite(value) else np.inf

    @property
    def over(self) -> bool:
        return self.incumbent.gap() <= self.gap_asked or self.session.over

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

    def run(self, opened: Flags, kept: Flags) -> MasterSolution | None:
        """Run yards month by month; they are the incumbent if none are better."""
        if opened.tobytes() in self.known:
            return None
        self.known.add(opened.tobytes())

        def better(value: float) -> None:
            if value < self.incumbent.value:
                self.incumbent.opened, self.incumbent.value = opened, value
                self.report()

        params = ColumnGeneration(self.tolerance / 2, on_value=better)
        return run_yards(self.master, opened, kept, self.session, params)

    def add(self, node: Node) -> None:
        """Take in a node; a fathomed one only holds the bound down."""
        if node.bound >= self.cutoff:
            self.fathomed = min(self.fathomed, node.bound)
            return
        opened = rounding_heuristic(node.solution.opened, self.master)
        self.run(opened, node.solution.kept)
        self.nodes.append(node)

    def update_bound(self) -> None:
        """Take over the least bound of all nodes."""
        bounds = [self.fathomed, *(node.bound for node in self.nodes)]
        bound = min(min(bounds), self.incumbent.value)
        self.incumbent.bound = max(self.incumbent.bound, bound)
        self.report()

    def report(self) -> None:
        watch, incumbent = self.session.watch, self.incumbent
        if watch is not None and np.isfinite(incumbent.value):
            bound = incumbent.bound if np.isfinite(incumbent.bound) else None
            phase = "first plan" if bound is None else "proof"
            watch(Progress(phase, self.session.spent, incumbent.value, bound))

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
        for branch, job in zip(children or [fixed], jobs, strict=True):
            found = job.result()
            if found is None:  # out of time
                self.nodes.append(Node(branch, node.solution, exact))
                continue
            proven = found.proven.at_least(node.bound)
            self.add(Node(branch, replace(found, proven=proven), exact))

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
        opened = node.solution.opened
        found = branching_candidates(opened, fixed, self.master, tolerance)
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
        root = tree.solve(branch, options, kept, session)
        if root is not None:
            incumbent.warm_start = warm_start_of(instance, master, root)
            tree.add(Node(branch, root))
            tree.update_bound()
            while tree.nodes and not tree.over:
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
        warm_master(tree.instance, master, incumbent)
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
