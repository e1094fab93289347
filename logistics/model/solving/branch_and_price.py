"""
Prove a plan for a large district: a tree of small relaxations.

1. Good yards, an earlier plan's or those of the year taken as one period, and prices
   of all rows; and with these the options and flows that come near to paying.
2. The relaxation of the whole district: it carries these, and what more would help is
   brought in (`pricing`). What its yards are rounded to is run month by month: a true
   plan.
3. The scope with the least bound is divided at a yard that is neither open nor shut:
   closed on one side, open on the other. Options that would cost more than the gap
   there is are shut. Both sides are solved at the same time, on two threads.

The bound is the least of all scopes not yet divided. Every bound holds for all options
and flows, so nothing is lost by those left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from logistics.model.problem import Flags, Instance
from logistics.model.solving.bound import Bounded
from logistics.model.solving.branching import UNSURE, WHOLE, rounded, sides
from logistics.model.solving.highs import Answer, Progress, Session
from logistics.model.solving.master import Scope, Wide
from logistics.model.solving.matrix import relax
from logistics.model.solving.pricing import (
    Priced,
    around,
    likely,
    price,
    run_yards,
)
from logistics.model.solving.warm_columns import Best, Hint, hint_of, remembered
from logistics.model.solving.yearly import Year, of_the_year

CLOSE = 0.2
"""Distance of a relaxation and its bound, as a share of the gap asked for."""

ACCURACY = 5e-5
"""Gap that rounding in the relaxations may leave when nothing is left to divide."""

MORE = 15
"""Flows to begin with for each period of each source and market, if nothing hints."""

LEAST, TIMES = 8, 2
"""Options to begin with: so many, or so many for each yard of a good plan."""

LIKELY = 0.3
"""Share of the gap that an option may cost for parts of a scope to begin with it."""

TRIALS = 4
"""Ways to divide a scope that are tried on the year as one period."""


@dataclass(frozen=True, eq=False)
class Node:
    """A scope, and its relaxation: exact, or near enough to divide it."""

    scope: Scope
    priced: Priced
    exact: bool = False

    @property
    def bound(self) -> float:
        """No plan within the scope is better."""
        return self.priced.proven.bound


class _Search:
    """The tree, its best plan, and the yards run so far."""

    def __init__(
        self, instance: Instance, wide: Wide, session: Session, best: Best
    ) -> None:
        single = replace(session.effort, threads=1)
        self.instance, self.wide = instance, wide
        self.best, self.asked = best, session.effort.gap
        self.session = replace(session, effort=single)
        self.nodes: list[Node] = []
        self.shut = np.inf  # least bound of the scopes that need no more division
        self.known: set[bytes] = set()  # yards that have been run

    @cached_property
    def year(self) -> Year | None:
        """The year as one period, where that is something else."""
        if len(self.instance.periods) == 1:
            return None
        return of_the_year(self.instance, self.session)

    def hinted(self) -> Flags:
        """Mark flows that prices of the year call likely, or else what they cost."""
        if self.year is None:
            return likely(self.wide, None, self.instance, MORE)
        prices = self.wide.priced(self.year.prices)
        return likely(self.wide, prices, self.instance)

    def afresh(self, session: Session) -> Hint | None:
        """
        Run good yards, and price all others by what their flows cost; None without any.

        Good yards are those known already and those of the year.
        """
        wide, best, year = self.wide, self.best, self.year
        yards = [best.chosen] if np.isfinite(best.value) else []
        yards += [] if year is None or year.chosen is None else [year.chosen]
        kept = self.hinted()
        ran = [found for chosen in yards if (found := self.run(chosen, kept))]
        good = min(ran, key=lambda found: found.value, default=None)
        if good is None or not np.isfinite(good.value):
            return None
        prices, proven = around(wide, good, session)
        some = best.chosen.copy()
        order = np.argsort(proven.excess, kind="stable")
        some[order[: max(LEAST, TIMES * int(some.sum()))]] = True
        kept = kept | good.kept | likely(wide, prices, self.instance)
        return Hint(proven, some, kept)

    @property
    def near(self) -> float:
        return max(CLOSE * self.asked, 1e-9)

    @property
    def enough(self) -> float:
        """Bound from which a scope cannot hold a plan worth finding."""
        value = self.best.value
        return value - self.asked * abs(value) if np.isfinite(value) else np.inf

    @property
    def over(self) -> bool:
        return self.best.gap() <= self.asked or self.session.over

    def solve(
        self,
        scope: Scope,
        some: Flags,
        kept: Flags,
        session: Session,
        *,
        exact: bool = False,
    ) -> Priced | None:
        """Solve the relaxation of a scope, beginning with some options and flows."""
        found = price(
            self.wide,
            scope,
            kept,
            session,
            self.near,
            self.enough,
            some=some,
            rough=not exact,
        )
        return None if found is None else found.without_room()

    def run(self, chosen: Flags, kept: Flags) -> Priced | None:
        """Run yards month by month; keep them if no others are better."""
        if chosen.tobytes() in self.known:
            return None
        self.known.add(chosen.tobytes())

        def better(value: float) -> None:
            if value < self.best.value:
                self.best.chosen, self.best.value = chosen, value
                self.tell()

        near = self.near / 2
        return run_yards(self.wide, chosen, kept, self.session, near, better)

    def add(self, node: Node) -> None:
        """Take in a scope; one that needs no division only holds the bound down."""
        if node.bound >= self.enough:
            self.shut = min(self.shut, node.bound)
            return
        self.run(rounded(node.priced.opened, self.wide), node.priced.kept)
        self.nodes.append(node)

    def count(self) -> None:
        """Take over the bound of all scopes."""
        bounds = [self.shut, *(node.bound for node in self.nodes)]
        bound = min(min(bounds), self.best.value)
        self.best.bound = max(self.best.bound, bound)
        self.tell()

    def tell(self) -> None:
        watch, best = self.session.watch, self.best
        if watch is not None and np.isfinite(best.value):
            bound = best.bound if np.isfinite(best.bound) else None
            phase = "first plan" if bound is None else "proof"
            watch(Progress(phase, self.session.spent, best.value, bound))

    def divide(self, pool: ThreadPoolExecutor) -> None:
        """Divide the scope of least bound, or close it if its yards are whole."""
        node = self.nodes.pop(int(np.argmin([n.bound for n in self.nodes])))
        inside, kept = self.shrunk(node.scope, node.priced.proven), node.priced.kept
        parts: Sequence[Scope] = self.choose(node, inside, pool)
        if not parts and node.exact:
            self.shut = min(self.shut, node.bound)
            return
        exact = node.exact or not parts
        some = self.likely_options(node)
        jobs = [
            pool.submit(self.solve, p, some, kept, self.session, exact=exact)
            for p in parts or [inside]
        ]
        for part, job in zip(parts or [inside], jobs, strict=True):
            found = job.result()
            if found is None:  # out of time
                self.nodes.append(Node(part, node.priced, exact))
                continue
            proven = found.proven.at_least(node.bound)
            self.add(Node(part, replace(found, proven=proven), exact))

    def likely_options(self, node: Node) -> Flags:
        """Mark the options that parts of a scope begin with."""
        cheap = LIKELY * (self.best.value - node.bound)
        return (node.priced.opened > WHOLE) | (node.priced.proven.excess < cheap)

    def choose(
        self, node: Node, inside: Scope, pool: ThreadPoolExecutor
    ) -> Sequence[Scope]:
        """Choose where to divide: where both sides cost most in the year as one."""
        least = WHOLE if node.exact else UNSURE
        ways = sides(node.priced.opened, inside, self.wide, least)[:TRIALS]
        if len(ways) < 2 or self.year is None:
            return ways[0] if ways else ()
        scopes = [inside, *(side for way in ways for side in way)]

        values = np.array(list(pool.map(self.in_the_year, scopes)))
        base = values[0]
        if not np.isfinite(base):
            return ways[0]
        distance = max(self.best.value - node.bound, 1e-9)
        rise = np.clip((values[1:] - base) / distance, 1e-2, 1.0).reshape(-1, 2)
        return ways[int(np.argmax(rise.prod(axis=1)))]

    def in_the_year(self, scope: Scope) -> float:
        """Relaxed value of a scope in the year as one period. [goal]"""
        if self.year is None:
            return np.inf
        part = self.year.wide.narrow(self.year.kept, scope)
        found = relax(part.matrix, self.session)
        return np.inf if found is None else found.value

    def shrunk(self, scope: Scope, proven: Bounded) -> Scope:
        """Shut the options that would cost more than the gap there is."""
        dear = (proven.excess > self.best.value - proven.bound) & (scope.low == 0)
        return replace(scope, high=np.where(dear, 0.0, scope.high))


def search(instance: Instance, wide: Wide, session: Session, best: Best) -> Answer:
    """
    Find a plan and prove how good it is.

    Parameters
    ----------
    instance, wide, session
        The problem, its programme; gap and time.
    best
        Bettered in place. With a finite value its options have been run.

    Returns
    -------
    Answer
        status "optimal" where the gap asked for is proven, "infeasible" where there
        is no plan, else "time_limit" or "stopped", with best value and bound.
    """
    tree = _Search(instance, wide, session, best)
    scope, some, kept = _begin(tree, session)
    if tree.over:  # old prices may prove it
        return _answer(tree, session)
    with ThreadPoolExecutor(max(1, session.effort.threads)) as pool:
        root = tree.solve(scope, some, kept, session)
        if root is not None:
            best.memory = remembered(instance, wide, root)
            tree.add(Node(scope, root))
            tree.count()
            while tree.nodes and not tree.over:
                tree.divide(pool)
                tree.count()
    return _answer(tree, session)


def _begin(tree: _Search, session: Session) -> tuple[Scope, Flags, Flags]:
    """
    Begin with good yards, and with options and flows that are likely to pay.

    What pays is told by an earlier plan's relaxation, as long as its yards can be run,
    or by what the flows of good yards cost.
    """
    wide, best = tree.wide, tree.best
    known = best.used is not None and len(best.memory.prices) > 0
    hint = hint_of(tree.instance, wide, best) if known else tree.afresh(session)
    scope = wide.anywhere()
    if hint is None:
        return scope, np.ones(len(wide.opened), dtype=bool), tree.hinted()
    best.bound = max(best.bound, hint.proven.bound)
    tree.tell()
    return tree.shrunk(scope, hint.proven), hint.some, hint.kept


def _answer(tree: _Search, session: Session) -> Answer:
    best = tree.best
    status = "optimal"
    if not np.isfinite(best.value) and not tree.nodes and not session.over:
        status = "infeasible"
    elif best.gap() > max(session.effort.gap, 0.0 if tree.nodes else ACCURACY):
        status = "stopped" if session.stop.asked else "time_limit"
    value = best.value if np.isfinite(best.value) else None
    return Answer(status, value, best.bound, session.spent)
