"""
Prove a plan for a large district without carrying every lane.

1. A choice of yards from the year as one period, run month by month: a real plan.
2. The linear relaxation with the nearest lanes, others priced in until none would
   help: what every row is worth.
3. A programme of the lanes that come near to paying, a pool for all the others, and
   branching from the plan of 1. Its bound holds for the whole programme; every choice
   of yards it finds is run with all lanes for its true cost.
4. If the pool was needed, more lanes and again.

With the prices that an earlier plan put on its rows, 2 is left out: the pool at those
prices is a valid relaxation after any change, and close after most.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from logistics.model.build import build
from logistics.model.instance import Instance
from logistics.model.matrix import Matrix, Relaxed, branch, matrix_of, relax
from logistics.model.memory import Basis, read_basis
from logistics.model.parts import Flags, Floats, Lanes, Whole
from logistics.model.pool import LaneColumns, lane_columns, with_pool
from logistics.model.solver import (
    Answer,
    Progress,
    Session,
    relative_gap,
    run_solver,
)

NEAREST = 9
"""Yards that each source and market starts with."""

SMALL = 20_000
"""Columns up to which the whole programme is given to the solver as it is."""

GROWTH = 2.0
"""Lanes kept for branching, as a multiple of those that could pay; again a round."""

ROUNDS = 3

FAR = 3.0
"""Gap after a pool at old prices, in gaps asked for, from which lanes are priced."""


@dataclass
class Best:
    """
    Best plan so far and the bound proven.

    Attributes
    ----------
    chosen, value
        Its options (mask, length o) and its true value.
    bound
        No plan is better.
    basis
        Of the flows of the yards last tried; where the next trial starts.
    prices
        What each row of the relaxation is worth, by name.
    """

    chosen: Flags
    value: float
    bound: float = -np.inf
    basis: Basis | None = None
    prices: Mapping[str, float] = field(default_factory=dict)

    def gap(self) -> float:
        """Proven relative gap. [1]"""
        return relative_gap(self.value, self.bound)


def true_value(
    instance: Instance, chosen: Flags, session: Session, basis: Basis | None = None
) -> tuple[float, Basis | None] | None:
    """Optimum and basis with the yards given and all lanes; None if not to be run."""
    programme, _ = build(instance.with_yards(chosen), linked=False)
    answer = run_solver(programme, session, mip=False, seconds=1e6, basis=basis)
    return None if answer.best is None else (answer.best, read_basis(programme))


def search(
    instance: Instance,
    session: Session,
    best: Best,
    another: Callable[[], Flags | None] | None = None,
) -> Answer:
    """
    Prove how good a first choice of yards is, and better it.

    Parameters
    ----------
    instance, session
        The problem; gap and time.
    best
        A plan and its value; bettered in place. Its prices, if any, are those of an
        earlier plan.
    another
        Finds other yards worth a trial where an earlier plan's are no longer good.

    Returns
    -------
    Answer
        status "optimal" where the gap asked for is proven, else "time_limit" or
        "stopped", with best value and bound.
    """
    programme, variables = build(instance)
    full = matrix_of(programme)
    flows = lane_columns(programme, variables, instance)
    yards = np.flatnonzero(full.whole)
    names = list(programme.rows)
    relaxed = None
    if best.prices:
        relaxed = _recall(instance, session, best, full, flows, names)
        if not _done(best, session) and another is not None:
            _try(instance, session, best, another())
    if relaxed is None or best.gap() > FAR * session.effort.gap:
        kept = _nearest(instance)
        if relaxed is not None:
            kept |= flows.least(full.reduced_cost(relaxed.duals)) <= 0.0
        relaxed = _price(full, flows, kept, session)
        if relaxed is None:
            return _answer(best, session)
        best.bound = max(best.bound, full.safe_bound(relaxed.duals, _most(instance)))
    best.prices = dict(zip(names, relaxed.duals.tolist(), strict=True))
    without_links = np.where(flows.links, 0.0, relaxed.duals)
    room = flows.least(full.reduced_cost(without_links))
    keep = GROWTH * max(1, int((room <= 1e-6).sum()))
    for _ in range(ROUNDS):
        if _done(best, session):
            break
        kept = cheapest(room, keep)
        smaller, columns = with_pool(full, flows, kept, without_links)
        _branch(instance, session, best, smaller, np.searchsorted(columns, yards))
        keep *= GROWTH * 1.5
    return _answer(best, session)


def _recall(
    instance: Instance,
    session: Session,
    best: Best,
    full: Matrix,
    flows: LaneColumns,
    names: list[str],
) -> Relaxed | None:
    """Bound the changed programme with a pool at an earlier plan's prices."""
    prices = np.array([best.prices.get(name, 0.0) for name in names])
    without_links = np.where(flows.links, 0.0, prices)
    room = flows.least(full.reduced_cost(without_links))
    keep = GROWTH * max(1, int((room <= 1e-6).sum()))
    kept = cheapest(room, keep)
    smaller, _ = with_pool(full, flows, kept, without_links)
    relaxed = relax(smaller, session)
    if relaxed is None:
        return None
    bound = smaller.safe_bound(relaxed.duals, _most(instance))
    best.bound = max(best.bound, bound)
    return Relaxed(relaxed.value, relaxed.duals[: len(names)])


def _try(
    instance: Instance, session: Session, best: Best, chosen: Flags | None
) -> None:
    """Run other yards with all lanes; keep them if they are better."""
    if chosen is None or (chosen == best.chosen).all():
        return
    found = true_value(instance, chosen, session, best.basis)
    if found is not None and found[0] < best.value:
        best.chosen = chosen
        best.value, best.basis = found


def _most(instance: Instance) -> float:
    """Return what no flow, stock or water [t] and no hired hours [h] will exceed."""
    return 1e3 * (1.0 + float(instance.supply.tonnes.sum()))


def _nearest(instance: Instance) -> Flags:
    """Mark the cheapest truck to the nearest yards of every source and market."""

    def near(lanes: Lanes) -> Flags:
        marked = np.zeros(len(lanes), dtype=bool)
        open_ = lanes.usable.sum(axis=1)
        total = np.where(lanes.usable, lanes.money, 0.0).sum(axis=1)
        cost = np.where(open_ > 0, total / np.maximum(open_, 1), np.inf)
        order = np.lexsort((cost, lanes.site))
        seen: dict[int, set[int]] = {}
        for a in order.tolist():
            yards = seen.setdefault(int(lanes.site[a]), set())
            if len(yards) < NEAREST and int(lanes.yard[a]) not in yards:
                yards.add(int(lanes.yard[a]))
                marked[a] = True
        return marked

    return np.concatenate([near(instance.inbound), near(instance.outbound)])


def _price(
    full: Matrix, flows: LaneColumns, kept: Flags, session: Session
) -> Relaxed | None:
    """
    Solve the relaxation over all lanes by bringing in those that would help.

    Ends when no lane left out has a reduced cost below zero. None if the time did
    not suffice.
    """
    lane_of = np.full(len(full.cost), -1)
    lane_of[flows.column] = flows.lane
    while True:
        columns = np.flatnonzero((lane_of < 0) | kept[lane_of])
        relaxed = relax(full.take(columns), session)
        if relaxed is None:
            return None
        gain = flows.least(full.reduced_cost(relaxed.duals))
        scale = 1e-6 * max(1.0, float(np.abs(full.cost[flows.column]).max(initial=0)))
        fresh = (gain < -scale) & ~kept
        if not fresh.any():
            return relaxed
        kept = kept | fresh


def cheapest(room: Floats, count: float) -> Flags:
    """Mark the lanes that come nearest to paying."""
    finite = int(np.isfinite(room).sum())
    number = min(finite, int(count))
    if number == finite:
        return np.isfinite(room)
    return np.asarray(room <= np.partition(room, number)[number])


def _branch(
    instance: Instance, session: Session, best: Best, smaller: Matrix, yards: Whole
) -> None:
    """Branch over the smaller programme; better plan and bound where it can."""

    def gap_with(bound: float) -> float:
        return relative_gap(best.value, max(best.bound, bound))

    def report(bound: float) -> None:
        if session.watch is not None:
            proven = max(best.bound, bound)
            session.watch(Progress("proof", session.spent, best.value, proven))

    bound, values = branch(
        smaller,
        session,
        (yards, best.chosen.astype(float)),
        lambda bound: gap_with(bound) <= session.effort.gap,
        report,
    )
    best.bound = max(best.bound, bound)
    if values is None:
        return
    _try(instance, session, best, values[yards] > 0.5)


def _done(best: Best, session: Session) -> bool:
    late = session.spent >= session.effort.seconds
    return best.gap() <= session.effort.gap or session.stop.asked or late


def _answer(best: Best, session: Session) -> Answer:
    status = "optimal"
    if best.gap() > session.effort.gap:
        status = "stopped" if session.stop.asked else "time_limit"
    return Answer(status, best.value, best.bound, session.spent)


def is_small(instance: Instance) -> bool:
    """Whether the whole programme is small enough to be given as it is."""
    sizes = np.bincount(instance.options.yard, minlength=len(instance.yards.codes))
    columns = sum(
        int((lanes.usable.sum(axis=1) * sizes[lanes.yard]).sum())
        for lanes in (instance.inbound, instance.outbound)
    )
    return columns <= SMALL
