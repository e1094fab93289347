"""The recourse problem of a future: its flows as second stage of a choice of yards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy import sparse

from logistics.model.problem import Basis, Flags, Floats, Instance
from logistics.model.rules import (
    EVERY,
    Programme,
    Variables,
    build,
    goal_terms,
    shortage_terms,
)
from logistics.model.solving.column_choice import least_reduced_cost
from logistics.model.solving.highs import Session
from logistics.model.solving.matrix import Matrix, matrix_of
from logistics.model.solving.pool import lane_columns, with_pool
from logistics.model.solving.simplex import vertex

Key = tuple[str, str]

GROWTH = 2.0
"""Lanes carried, as a multiple of those of no reduced cost."""

SLACK_COST = 1e6
"""Penalty on elastic slack: a demand of the board unmet, in parts for a part. [money]

It only steers between futures: a decision that needs no slack in any is preferred to
any that saves less than this.
"""


@dataclass(frozen=True, eq=False)
class SecondStage:
    """
    Flows of a future given what is built, as matrices (see `l_shaped`).

    Attributes
    ----------
    technology, recourse
        T and W; what is built costs its annual money through `annual`.
    annual
        Annual cost of every option that may be built, usable here or not. [money/yr]
    most
        What no column without a limit exceeds.
    """

    technology: Any
    recourse: Matrix
    annual: Floats
    most: float


def keys_of(instances: Sequence[Instance]) -> list[Key]:
    """Every yard and size that some future allows, in order."""
    return list(dict.fromkeys(key for inst in instances for key in _keys(inst)))


def _keys(inst: Instance) -> list[Key]:
    codes = [inst.yards.codes[j] for j in inst.options.yard.tolist()]
    return list(zip(codes, inst.options.size, strict=True))


def _decided(inst: Instance, code: str) -> str:
    return inst.yards.decision[inst.yards.codes.index(code)]


def forced(inst: Instance) -> set[str]:
    """Yards that must be open."""
    return {j for j in inst.yards.codes if _decided(inst, j) == "open"}


def first_stage(instances: Sequence[Instance], keys: Sequence[Key]) -> Matrix:
    """
    Write what may be built: one size a yard, limits on yards and capital.

    A yard must or may not be open only where every future says so; the board's
    limits are those of the first future.
    """
    lines: list[Floats] = []
    below: list[float] = []
    above: list[float] = []
    yards = np.array([code for code, _ in keys])
    for code in dict.fromkeys(yards.tolist()):
        said = {_decided(i, code) for i in instances if code in i.yards.codes}
        lines.append((yards == code).astype(float))
        below.append(1.0 if said == {"open"} else 0.0)
        above.append(0.0 if said == {"closed"} else 1.0)
    policy, known = instances[0].policy, dict(_capitals(instances))
    if policy.max_yards is not None:
        lines.append(np.ones(len(keys)))
        above.append(float(policy.max_yards))
    if policy.capital_limit is not None:
        lines.append(np.array([known[key] for key in keys]))
        above.append(policy.capital_limit)
    below += [-np.inf] * (len(above) - len(below))
    return Matrix(
        rows=sparse.csc_matrix(np.array(lines)),
        cost=np.zeros(len(keys)),
        low=np.zeros(len(keys)),
        high=np.ones(len(keys)),
        below=np.array(below),
        above=np.array(above),
        constant=0.0,
        integer=np.ones(len(keys), dtype=bool),
    )


def _capitals(instances: Sequence[Instance]) -> list[tuple[Key, float]]:
    return [
        item
        for inst in reversed(instances)
        for item in zip(_keys(inst), inst.options.capital.tolist(), strict=True)
    ]


def _annuals(inst: Instance, keys: Sequence[Key], others: Sequence[Instance]) -> Floats:
    """Annual cost of what may be built; of what a future lacks, another's."""
    known: dict[Key, float] = {}
    for one in [*reversed(others), inst]:
        known |= dict(zip(_keys(one), one.options.annual.tolist(), strict=True))
    return np.array([known[key] for key in keys])


def _loose(inst: Instance) -> Instance:
    """Let yards that must be open be free: what is built is decided before."""
    decision = tuple("free" if d == "open" else d for d in inst.yards.decision)
    policy = replace(inst.policy, max_yards=None, capital_limit=None)
    yards = replace(inst.yards, decision=decision)
    return replace(inst, yards=yards, policy=policy, goal="cost")


def _elastic(inst: Instance, *, linked: bool) -> tuple[Programme, Variables]:
    """Write a programme whose demands have elastic slack, at a penalty."""
    programme, variables = build(inst, elastic=EVERY, linked=linked)
    terms, constant = goal_terms(variables, inst)
    slack = [(x, c * SLACK_COST / 1e3) for x, c in shortage_terms(variables)]
    programme.minimise([*terms, *slack], constant)
    return programme, variables


def second_stage(
    inst: Instance,
    keys: Sequence[Key],
    others: Sequence[Instance],
    duals: Mapping[str, float],
) -> SecondStage:
    """
    Write the relaxed flows of a future for any decision, fractional ones too.

    Parameters
    ----------
    inst, keys, others
        The future, what may be built, all futures.
    duals
        Of the rows of this future's own plan: lanes of high reduced cost are left to
        a pool, which keeps every bound valid. Empty carries all lanes.
    """
    loose = _loose(inst)
    programme, variables = _elastic(loose, linked=True)
    matrix = matrix_of(programme)
    opened = np.array([z.number for z in variables.opened.values()], dtype=np.int64)
    if duals:
        flows = lane_columns(programme, variables, loose)
        known = np.array([duals.get(name, 0.0) for name in programme.rows])
        y = np.where(flows.links, 0.0, known)
        reduced_cost = flows.least(matrix.reduced_cost(y))
        count = GROWTH * max(1, int((reduced_cost <= 1e-6).sum()))
        kept = least_reduced_cost(reduced_cost, count)
        matrix, columns = with_pool(matrix, flows, kept, y)
        opened = np.searchsorted(columns, opened)
    cost = matrix.cost.copy()
    cost[opened] = 0.0  # paid for when built, below
    place = {key: n for n, key in enumerate(keys)}
    at = np.array([place[key] for key in _keys(inst)], dtype=np.int64)
    count, old = len(opened), matrix.rows.shape[0]
    shape = (count, len(cost))
    use = sparse.csr_matrix((np.ones(count), (np.arange(count), opened)), shape=shape)
    technology = sparse.csr_matrix(
        (-np.ones(count), (old + np.arange(count), at)), shape=(old + count, len(keys))
    )
    grown = replace(
        matrix.constrain(use, np.full(count, -np.inf), np.zeros(count)),
        cost=cost,
        integer=np.zeros(len(cost), dtype=bool),
    )
    annual = _annuals(inst, keys, others)
    return SecondStage(technology, grown, annual, inst.most)


class Operating:
    """
    True cost of what is built in one future; remembers the last basis.

    Own trucks are based in parts here, in every future anew: whole ones would make each
    future an integer programme of its own.
    """

    def __init__(
        self,
        inst: Instance,
        keys: Sequence[Key],
        annual: Floats,
        session: Session,
        basis: Basis | None,
    ) -> None:
        self._inst, self._annual = _loose(inst), annual
        self._session, self._basis = session, basis
        place = {key: n for n, key in enumerate(keys)}
        self._at = np.array([place[key] for key in _keys(inst)], dtype=np.int64)
        closed = [d == "closed" for d in self._inst.yards.decision]
        self._shut: Flags = np.array(closed, dtype=bool)[self._inst.options.yard]

    def __call__(self, x: Floats) -> float | None:
        """Solve the flows; annual cost of what cannot be used is paid all the same."""
        opened = (x[self._at] > 0.5) & ~self._shut
        programme, _ = _elastic(self._inst.with_yards(opened), linked=False)
        names = [x.name for x in programme.columns], list(programme.rows)
        found = vertex(matrix_of(programme), names, self._session, self._basis)
        if found is None:
            return None
        self._basis = found.basis
        unused = float(self._annual @ (x > 0.5)) - float(
            self._inst.options.annual[opened].sum()
        )
        return found.value + unused
