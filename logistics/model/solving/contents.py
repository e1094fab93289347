"""
What compost holds, found with the plan where market ceilings need it.

What a market gets of a nutrient is tonnes times content, both decisions: a pooling
problem (Haverly, Studies of the behavior of recursion for the pooling problem, ACM
SIGMAP Bulletin 25, 1978, from memory). It is solved in two steps. First the contents
are free, and the ceilings reckon with the poorest compost that any mix can give: a
relaxation, whose bound holds whatever the contents are. Then each yard's compost is
held, month by month, to what its mixes made there; rows keep it at that or below, the
ceilings reckon with it, and the programme is linear again and proven as any other. What
it plans keeps every ceiling with what is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from logistics.composting import store_content
from logistics.model.problem import (
    Contents,
    Floats,
    Instance,
    Integers,
    Plan,
    WarmStart,
)
from logistics.model.rules import poorest_contents
from logistics.model.solving.fixed_yards import exact_flows
from logistics.model.solving.highs import Session

POORER = 0.95
"""Step by which poorer compost is tried, as a share of what it holds. [1]"""

TURNS = 8
"""Most steps."""

WORTH_IT = 1e-3
"""Least gain for which a step is taken, as a share of the goal. [1]"""

FITS = 1e-9
"""Rounding in sums over the ceilings, as a share of the limit. [1]"""


def contents_are_free(inst: Instance) -> bool:
    """Whether some content limits what markets get and is not given."""
    return inst.contents is not None and bool(inst.contents.free.any())


def with_free_contents(inst: Instance) -> Instance:
    """
    Let compost hold what it will; ceilings reckon with the poorest that there can be.

    Every plan that keeps the true ceilings is a plan of this one.
    """
    contents = _contents(inst)
    free = contents.free[:, None, None]
    richest = contents.of_feedstock.max(axis=1, initial=0.0)
    ratio = richest / np.maximum(poorest_contents(inst), 1e-12)
    limit = np.where(free[:, 0], contents.limit_t * ratio[:, None], contents.limit_t)
    held = np.where(free, richest[:, None, None], contents.held)
    return replace(inst, contents=replace(contents, limit_t=limit, held=held))


def made_contents(inst: Instance, plan: Plan) -> Floats:
    """
    Reckon what compost in store holds in every yard and period, shape (k, j, t). [t/t]

    Yards without compost get the mean of the others; all is as it was where none is
    made.
    """
    contents, yards, periods = _contents(inst), inst.yards.codes, inst.periods
    shape = (len(yards), len(periods))
    ready, stock = np.zeros(shape), np.zeros(shape)
    at = _places(plan.compost["yard"], yards), _places(plan.compost["period"], periods)
    ready[at] = plan.compost["made_t"].to_numpy(dtype=float)
    stock[at] = plan.compost["stock_t"].to_numpy(dtype=float)
    charge, table = np.zeros((shape[0], len(inst.feed.codes), shape[1])), plan.charges
    place = _places(table["feedstock"], inst.feed.codes)
    at_charge = _places(table["yard"], yards), place, _places(table["period"], periods)
    charge[at_charge] = table["tonnes"].to_numpy(dtype=float)
    inside = np.einsum("jmt,km,tu->kju", charge, contents.kept, inst.ripening)
    found = store_content(ready, inside, stock)
    makes = ready.sum(axis=1) > 0
    if not makes.any():
        return contents.held
    mean = found[:, makes].mean(axis=1, keepdims=True)
    return np.where(makes[None, :, None], found, mean)


def _contents(inst: Instance) -> Contents:
    if inst.contents is None:
        message = "nothing in this district has a ceiling"
        raise ValueError(message)
    return inst.contents


def _places(column: pd.Series, codes: Sequence[str]) -> Integers:
    """Turn codes into their places in the index set."""
    place = {code: n for n, code in enumerate(codes)}
    return np.array([place[code] for code in column], dtype=np.int64)


def keeps_ceilings(inst: Instance, plan: Plan, made: Floats) -> bool:
    """Whether a plan keeps every ceiling with what its compost holds."""
    contents = _contents(inst)
    table, tonnes = plan.deliveries, plan.deliveries["tonnes"].to_numpy(dtype=float)
    n = _places(table["market"], inst.markets.codes)
    j, t = (
        _places(table["yard"], inst.yards.codes),
        _places(table["period"], inst.periods),
    )
    for k, limits in enumerate(contents.limit_t):
        got = np.bincount(n, tonnes * made[k, j, t], len(limits))
        if (got > limits * (1 + FITS)).any():
            return False
    return True


def with_made_contents(
    inst: Instance, plan: Plan, session: Session
) -> tuple[Instance, WarmStart]:
    """
    Hold the contents that a plan made, or poorer ones where that pays.

    Parameters
    ----------
    inst, plan
        The problem, and its plan with free contents.
    session
        Time and threads.

    Returns
    -------
    Instance, WarmStart
        With contents held; what helps to plan it.
    """
    made, start = made_contents(inst, plan), plan.warm_start
    opened = inst.options_of(plan.yard_sizes)
    held = inst.holding(made)
    best = exact_flows(held, opened, session, start)
    for turn in range(1, TURNS + 1):
        if best is None or session.over:
            break
        start = replace(start, basis=best.basis)
        poorer = inst.holding(made * POORER**turn)
        found = exact_flows(poorer, opened, session, start)
        least = best.value - WORTH_IT * abs(best.value)
        if found is None or found.value > least:
            break
        held, best = poorer, found
    return held, start
