"""
Linear relaxations of a wide programme with few of its columns, proven for all of them.

Most flows on lanes are used by no good plan, and most options are not open in any. A
relaxation carries some of both; the duals of its rows, and the own rows of the other
options priced to fit (`mending`), say which others would help, and these are brought
in. For the proof they need not be: `bounding.bound_of` prices every option and every
flow there is, so its bound holds for all of them whatever was carried and however
rough the duals are.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logistics.model.problem import Flags, Floats, Instance
from logistics.model.solving.bound import Bounded, bound_of
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.highs import Session
from logistics.model.solving.master import Narrow, Scope, Wide
from logistics.model.solving.matrix import Relaxed, relax
from logistics.model.solving.subproblem import mended

SPECK = 1e-9
"""Reduced cost that is taken for nothing, as a share of the greatest cost."""

FLOWS = 7
"""Flows to begin with, for each period of each source and market."""

SOME = 4
"""Flows at least of each source and market in each period, within a scope."""

FEW = 0.01
"""Share of the flows carried that is too few to be brought in alone."""

ROUNDS = 12
"""Relaxations solved at most until no flow would help."""


@dataclass(frozen=True, eq=False)
class Priced:
    """
    A relaxation solved, flows brought in as needed.

    Attributes
    ----------
    value
        Of the relaxation with the flows it carries; infinite if there is no plan.
    proven
        What its prices prove for all flows.
    opened
        How far each option is open, length o. [0 to 1]
    prices
        Of all rows.
    kept
        Flows carried.
    """

    value: float
    proven: Bounded
    opened: Floats
    prices: Floats
    kept: Flags

    def without_room(self) -> Priced:
        """Leave out what is known of each flow: there may be millions."""
        return replace(self, proven=replace(self.proven, room=np.empty(0)))


def cheapest(room: Floats, count: float) -> Flags:
    """Mark so many flows that come nearest to paying."""
    finite = int(np.isfinite(room).sum())
    number = min(finite, int(count))
    if number == finite:
        return np.isfinite(room)
    return np.asarray(room <= np.partition(room, number)[number])


def first_of(group: NDArray[np.integer], room: Floats, count: int) -> Flags:
    """Mark the flows of every group that come nearest to paying, so many of each."""
    order = np.lexsort((room, group))
    sorted_ = group[order]
    begin = np.flatnonzero(np.append(True, sorted_[1:] != sorted_[:-1]))
    size = np.diff(np.append(begin, len(sorted_)))
    rank = np.arange(len(sorted_)) - np.repeat(begin, size)
    marked = np.zeros(len(group), dtype=bool)
    marked[order[rank < count]] = True
    return marked


def likely(
    wide: Wide,
    prices: Floats | None,
    inst: Instance,
    each: int | None = None,
    among: Flags | None = None,
) -> Flags:
    """
    Mark the flows that come nearest to paying, some into every yard.

    Parameters
    ----------
    wide, inst
        The programme, and the problem it is of.
    prices
        Of all rows; None where nothing is known but what each flow costs.
    each
        Flows on average for each period of each source and market, if not `FLOWS`.
    among
        Flows to choose from; all if None.
    """
    flows, each = wide.flows, FLOWS if each is None else each
    y = np.zeros(len(wide.names)) if prices is None else wide.frame.usable(prices)
    y[wide.links] = 0.0
    room = flows.cost - flows.rows.T @ y
    at = np.arange(len(flows)) if among is None else np.flatnonzero(among)
    key, balance, room = flows.key[at], flows.balance[at], room[at]
    some = first_of(balance, room, 2)
    some |= first_of(key, room, 2 * each if prices is None else 2)
    if prices is not None:
        sites = len(inst.supply.codes) + len(inst.markets.codes)
        some |= cheapest(room, each * sites * len(inst.periods))
    marked = np.zeros(len(flows), dtype=bool)
    marked[at] = some
    return marked


def price(
    wide: Wide,
    scope: Scope,
    kept: Flags,
    session: Session,
    near: float,
    enough: float = np.inf,
    *,
    some: Flags | None = None,
    rough: bool = False,
    told: Callable[[float], None] | None = None,
) -> Priced | None:
    """
    Solve the relaxation within a scope, bringing in the flows that would help.

    Parameters
    ----------
    wide, scope
        The programme, and which options may or must be open.
    kept
        Flows to begin with, length x.
    session
        Time and wish to stop.
    near
        Distance of value and proven bound at which to end, as a share. [1]
    enough
        A bound at which to end. [goal]
    some
        Options to begin with, length o: others are brought in as they help. All of
        the scope if None.
    rough
        The value matters less than the bound.
    told
        Told the value of every relaxation, which the next can only better.

    Returns
    -------
    Priced or None
        None if the time did not suffice for a first relaxation. If it ends later,
        the last one solved. What is proven holds for all options of the scope.
    """
    flows = wide.flows
    every = scope.high > 0
    some = every if some is None else every & (some | scope.must[wide.yard])
    speck = SPECK * max(1.0, float(np.abs(flows.cost).max(initial=0.0)))
    found: Priced | None = None
    for _ in range(ROUNDS):
        inside = some[flows.option]
        kept = kept | _more(wide, inside, kept)
        part = wide.narrow(kept, replace(scope, high=np.where(some, scope.high, 0.0)))
        relaxed = relax(part.matrix, session, rough=rough)
        if relaxed is None:
            if session.over:
                return found
            if (some == every).all() and kept[inside].all():
                return _nothing(wide, kept)
            some, kept = every, kept | inside  # what is carried may just not suffice
            continue
        if told is not None:
            told(relaxed.value)
        raw = _read(wide, scope, some, part, relaxed, kept)
        far = near * max(1.0, abs(relaxed.value))
        found = _mend(wide, scope, raw, session, (far, enough))
        proven = found.proven
        if relaxed.value - proven.bound <= far or proven.bound >= enough:
            return found
        helps = (_cost(wide, raw) < -speck) & inside & ~kept
        worth = -raw.proven.room * flows.most > far / 20
        fresh = helps & worth
        if fresh.sum() < FEW * kept.sum():
            fresh = helps  # a few at a time would take too many relaxations
        more = every & ~some & (proven.gain < 0)
        if not fresh.any() and not more.any():
            return found
        some, kept = some | more, kept | fresh
    return found


def _more(wide: Wide, inside: Flags, kept: Flags) -> Flags:
    """
    Mark flows to carry too, so that each source and market has a few within the scope.

    One alone leaves its row's price open upwards: the yard's opening pays for it.
    """
    flows = wide.flows
    short = np.bincount(flows.key[kept & inside], minlength=len(wide.names)) < SOME
    left = np.flatnonzero(inside & ~kept & short[flows.key])
    marked = np.zeros(len(flows), dtype=bool)
    marked[left] = first_of(flows.key[left], flows.cost[left], SOME)
    return marked


def _cost(wide: Wide, found: Priced) -> Floats:
    """Reduced cost of every flow. [goal/t]"""
    return found.proven.room - np.minimum(found.prices, 0.0)[wide.flows.link]


def _read(
    wide: Wide,
    scope: Scope,
    some: Flags,
    part: Narrow,
    relaxed: Relaxed,
    kept: Flags,
) -> Priced:
    prices = np.zeros(len(wide.names))
    prices[part.rows] = relaxed.duals
    prices = wide.pairs.outwards(wide.frame, prices, _all_shut(wide, ~some))
    column = np.maximum(part.opened, 0)
    values = np.where(part.opened == NONE, 0.0, relaxed.values[column])
    proven = bound_of(wide, prices, scope)
    return Priced(relaxed.value, proven, values, prices, kept)


def _mend(
    wide: Wide, scope: Scope, found: Priced, session: Session, goal: tuple[float, float]
) -> Priced:
    """Price the own rows of a few options afresh, if they hold the bound down."""
    far, enough = goal
    short = min(found.value - far, enough) - found.proven.bound
    if short <= 0:
        return found
    wrong = np.flatnonzero(found.proven.gain < -far / 100)
    prices = mended(wide, found.prices, wrong, session)
    proven = bound_of(wide, prices, scope)
    if proven.bound <= found.proven.bound:
        return found
    return replace(found, proven=proven, prices=prices)


def around(wide: Wide, run: Priced, session: Session) -> tuple[Floats, Bounded]:
    """
    Price the whole programme from the flows of given yards.

    The rows that all yards share are worth what they are worth to these; the own rows
    of all others are priced to fit.

    Returns
    -------
    tuple
        Prices of all rows, and what they prove.
    """
    shut = run.opened < 0.5
    prices = wide.pairs.outwards(wide.frame, run.prices, _all_shut(wide, shut))
    prices = mended(wide, prices, np.flatnonzero(shut), session)
    return prices, bound_of(wide, prices, wide.anywhere())


def _all_shut(wide: Wide, shut: Flags) -> Flags:
    """Mark the yards all of whose options are shut, length j."""
    yards = np.ones(int(wide.yard.max(initial=-1)) + 1, dtype=bool)
    yards[wide.yard[~shut]] = False
    return yards


def _nothing(wide: Wide, kept: Flags) -> Priced:
    """No plan is within the scope."""
    options = np.zeros(len(wide.opened))
    none = Bounded(np.inf, np.zeros(len(wide.flows)), options, options)
    return Priced(np.inf, none, options, np.zeros(len(wide.names)), kept)


def run_yards(
    wide: Wide,
    chosen: Flags,
    kept: Flags,
    session: Session,
    near: float,
    told: Callable[[float], None] | None = None,
) -> Priced | None:
    """
    Solve the flows of given yards; every value told is that of a true plan.

    Parameters
    ----------
    wide, chosen
        The programme, and the options that are open. Length o.
    kept, session, near, told
        As for `price`.
    """
    return price(wide, wide.given(chosen), kept, session, near, told=told)
