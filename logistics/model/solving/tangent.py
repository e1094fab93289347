"""
The money of a plan's yards under other numbers, to first order: no programme is solved.

The flows of a plan are a vertex of a linear programme. With its amounts x and duals y
kept, the value for other numbers c', A', b' is, to first order, that of the
Lagrangian: c'.x + y.(b' - A'.x). The same holds of any other sum of the flows, such as
what haulage costs, with the duals that the basis gives for that sum in place of the
goal. Yards, sizes, homes of own trucks and moments of the pad stay; what compost holds
follows the numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse.linalg import splu

from logistics.model.problem import (
    BASIC,
    LOWER,
    PART,
    Flags,
    Floats,
    Instance,
    Integers,
    Lanes,
    Plan,
)
from logistics.model.rules import Variables, build, flow_labels, option_names
from logistics.model.solving.given_plan import (
    YearMoney,
    homes_of_plan,
    with_contents_of,
)
from logistics.model.solving.matrix import Matrix, matrix_of

CLOSE = 1e-4
"""Distance from the plan's net cost within which its basis is told to fit. [1]"""

Lane = tuple[str, str, str]


@dataclass(frozen=True, eq=False)
class Written:
    """
    The programme of given yards over the lanes that matter.

    Attributes
    ----------
    columns, rows
        Names.
    matrix
        Its numbers.
    haulage
        What each column costs as haulage. [money/unit]
    own, capital
        Standing cost of own trucks [money/yr]; what the yards cost to begin [money].
    """

    columns: tuple[str, ...]
    rows: tuple[str, ...]
    matrix: Matrix
    haulage: Floats
    own: float
    capital: float


@dataclass(frozen=True, eq=False)
class Tangent:
    """
    A plan as the vertex that it is.

    Attributes
    ----------
    plan, instance, lanes
        The plan, its problem, and the lanes that are in the vertex.
    columns, rows
        Names.
    amounts, at_high
        Of the columns; whether a column is at its upper end.
    duals, haulage_duals
        Of the rows, for the net cost and for what haulage costs.
    """

    plan: Plan
    instance: Instance
    lanes: frozenset[Lane]
    columns: tuple[str, ...]
    rows: tuple[str, ...]
    amounts: Floats
    at_high: Flags
    duals: Floats
    haulage_duals: Floats

    def money(self, instance: Instance) -> YearMoney:
        """
        Reckon the money for other numbers; only differences of two of these count.

        Parameters
        ----------
        instance
            The problem with other prices, amounts or properties; its yards may be
            those of the plan alone.
        """
        there = _written(self.like(instance), self.plan, self.lanes)
        x, high = (
            _aligned(values, self.columns, there.columns)
            for values in (self.amounts, self.at_high.astype(float))
        )
        y, z = (
            _aligned(duals, self.rows, there.rows)
            for duals in (self.duals, self.haulage_duals)
        )
        matrix = there.matrix
        x = np.where((high > 0) & np.isfinite(matrix.high), matrix.high, x)
        left = _sides(matrix) - matrix.rows @ x
        return YearMoney(
            net=float(matrix.cost @ x + y @ left) + matrix.constant,
            haulage=float(there.haulage @ x + z @ left) + there.own,
            capital=there.capital,
        )

    def like(self, instance: Instance) -> Instance:
        """Give a problem the moments of the pad of the plan, and contents like its."""
        mine = self.instance
        instance = with_contents_of(self.plan, instance, mine)
        if instance.pad_days.shape != mine.pad_days.shape:
            return instance
        apart = mine.pad_days[:, :, None] - mine.occupancy[:, None, :]
        days = np.abs(apart).sum(axis=0).argmin(axis=0)
        moved = (instance.pad_days - mine.pad_days)[:, days]
        return replace(
            instance,
            occupancy=np.maximum(mine.occupancy + moved, 0.0),
            pad_period=mine.pad_period,
        )


def tangent_of(instance: Instance, plan: Plan) -> Tangent | None:
    """
    Find the vertex of a plan from the basis that it left.

    Parameters
    ----------
    instance, plan
        A problem whose goal is the cost, and its plan.

    Returns
    -------
    Tangent or None
        None where the basis does not give the plan again.
    """
    basis = plan.warm_start.basis
    if basis is None or plan.yards.empty:
        return None
    lanes = _lanes_in(instance, plan)
    held = instance if plan.contents is None else instance.holding(plan.contents)
    here = _written(held, plan, lanes)
    matrix = here.matrix
    kinds, row_kinds = basis.fit(here.columns, here.rows)
    basic, bound = kinds == BASIC, row_kinds != BASIC
    if int(basic.sum()) != int(bound.sum()):
        return None
    opened = np.array([name.startswith("open.") for name in here.columns])
    at_high = opened | ((kinds != LOWER) & np.isfinite(matrix.high))
    amounts = np.where(~basic & at_high, matrix.high, matrix.low)
    amounts[basic] = 0.0
    within = matrix.rows.tocsr()[bound].tocsc()
    try:
        factors = splu(within[:, basic].tocsc())
    except RuntimeError:  # the basis is singular
        return None
    amounts[basic] = factors.solve(_sides(matrix)[bound] - within @ amounts)
    duals, haulage_duals = np.zeros(len(here.rows)), np.zeros(len(here.rows))
    duals[bound] = factors.solve(matrix.cost[basic], trans="T")
    haulage_duals[bound] = factors.solve(here.haulage[basic], trans="T")
    value = float(matrix.cost @ amounts) + matrix.constant
    if not abs(value - plan.objective) <= CLOSE * max(1.0, abs(plan.objective)):
        return None
    return Tangent(
        plan, instance, lanes, here.columns, here.rows, amounts, ~basic & at_high,
        duals, haulage_duals,
    )  # fmt: skip


def _written(inst: Instance, plan: Plan, lanes: frozenset[Lane]) -> Written:
    """Write the programme of the plan's yards over some lanes."""
    homes = homes_of_plan(inst, plan)
    if plan.homes_held and homes is not None:
        inst = replace(inst, trucks=replace(inst.trucks, homes=homes))
    inst = inst.with_yards(inst.options_of(plan.yard_sizes))
    inst = replace(
        inst,
        inbound=_some(inst.inbound, inst.supply.codes, inst, lanes),
        outbound=_some(inst.outbound, inst.markets.codes, inst, lanes),
    )
    programme, variables = build(inst, linked=False)
    matrix, rows = matrix_of(programme), tuple(programme.rows)
    if not plan.homes_held and homes is not None:
        _fix_homes(matrix, rows, inst, homes)
    return Written(
        columns=tuple(x.name for x in programme.columns),
        rows=rows,
        matrix=matrix,
        haulage=_haulage(len(programme.columns), variables, inst),
        own=inst.trucks.fixed_annual,
        capital=float(inst.options.capital.sum()),
    )


def _lanes_in(inst: Instance, plan: Plan) -> frozenset[Lane]:
    """
    Find the lanes of which a flow is in the basis: source or market, yard, truck.

    Where own trucks are in it that have nothing to haul, one lane of theirs.
    """
    assert plan.warm_start.basis is not None
    there = plan.warm_start.basis.columns.keys()
    options = {
        inst.yards.codes[j]: name
        for j, name, opened in zip(
            inst.options.yard.tolist(),
            option_names(inst),
            inst.options_of(plan.yard_sizes),
            strict=True,
        )
        if opened
    }
    found, idle = set(), set[tuple[str, str]]()
    for lanes, codes, labels in zip(
        (inst.inbound, inst.outbound),
        (inst.supply.codes, inst.markets.codes),
        flow_labels(inst),
        strict=True,
    ):
        for lane, label in zip(_keys(lanes, codes, inst), labels, strict=True):
            name = f"{label}.{options.get(lane[1])}"
            _, yard, truck = lane
            based = f"own.{truck}.{options.get(yard)}" in there
            if any(f"{name}.{period}" in there for period in inst.periods):
                found.add(lane)
            elif based and (yard, truck) not in idle:
                idle.add((yard, truck))
                found.add(lane)
    return frozenset(found)


def _keys(lanes: Lanes, codes: tuple[str, ...], inst: Instance) -> list[Lane]:
    """Name the ends and the truck of every lane."""
    yards, trucks = inst.yards.codes, inst.trucks.codes
    at = zip(
        lanes.site.tolist(), lanes.yard.tolist(), lanes.truck.tolist(), strict=True
    )
    return [(codes[i], yards[j], trucks[v]) for i, j, v in at]


def _some(
    lanes: Lanes, codes: tuple[str, ...], inst: Instance, wanted: frozenset[Lane]
) -> Lanes:
    """Keep the lanes wanted."""
    keys = _keys(lanes, codes, inst)
    return lanes.take(np.array([key in wanted for key in keys], dtype=bool))


def _fix_homes(
    matrix: Matrix, rows: tuple[str, ...], inst: Instance, homes: Integers
) -> None:
    """Hold as many own trucks at home at a yard as the plan has there."""
    at = {name: n for n, name in enumerate(rows) if name.startswith("home.")}
    for (v, j), count in np.ndenumerate(homes):
        name = f"home.{inst.trucks.codes[v]}.{inst.yards.codes[j]}"
        if name in at:
            matrix.below[at[name]] = matrix.above[at[name]] = float(count)


def _haulage(size: int, var: Variables, inst: Instance) -> Floats:
    """Spread what haulage costs over the columns: trips, hire, less pairs. [money]"""
    cost, hire = np.zeros(size), inst.trucks.hire_per_hour
    for table, lanes in ((var.hauled, inst.inbound), (var.delivered, inst.outbound)):
        for (a, _, t), x in table.items():
            cost[x.number] = lanes.money[a, t]
    for (v, _), x in var.hired.items():
        cost[x.number] = hire[v]
    for (_, v, _), x in var.hired_at.items():
        cost[x.number] = hire[v]
    for (_, v, _), x in var.busy.items():
        cost[x.number] = PART * hire[v]
    if inst.backhauls is not None:
        for (n, t), x in var.paired.items():
            cost[x.number] = -inst.backhauls.money[n, t]
    return cost


def _sides(matrix: Matrix) -> Floats:
    """Side of every row that it can be at."""
    side = np.where(np.isfinite(matrix.below), matrix.below, matrix.above)
    return np.where(np.isfinite(side), side, 0.0)


def _aligned(values: Floats, names: tuple[str, ...], wanted: tuple[str, ...]) -> Floats:
    """Bring values into the order of other names; 0 for those that are new."""
    if names == wanted:
        return values
    known = dict(zip(names, values.tolist(), strict=True))
    return np.array([known.get(name, 0.0) for name in wanted])
