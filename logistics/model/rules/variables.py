"""The decisions of the programme, and the sums its rows are made of."""

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any, Literal, NoReturn

import numpy as np

from logistics.model.problem import Flags, Instance, steps
from logistics.model.rules.backhaul_lanes import lanes_of_backhauls
from logistics.model.rules.programme import Programme, Quantity, SumOfFlows
from logistics.model.rules.sums import (
    SUMS,
    Key,
    LaneFlowIndex,
    inward_flows,
    keys_of_sum,
    outward_flows,
    weights,
)

Terms = list[tuple[Quantity | SumOfFlows, float]]
Table = dict[tuple[int, ...], Quantity]


Limit = Literal["least", "most"]

EVERY = "every demand"
MUST_COLLECT = "collect every tonne of sources that must be collected"


@dataclass(frozen=True)
class ElasticSlack:
    """
    Elastic slack of one demand: by how much it is not met.

    Attributes
    ----------
    limit
        Whether it asks for something at least, or allows something at most.
    """

    variable: Quantity
    limit: Limit
    what: str
    where: str
    when: str
    unit: str
    scale: float


class NotLaidOut(dict[Any, Any]):
    """Flows that a frame does not lay out one by one: to look at them is an error."""

    def _refuse(self, *_: object) -> NoReturn:
        message = (
            "the flows of a large district are not laid out one by one: write the row "
            "with Variables.sum_of, and add a sum to SUMS if there is none that fits"
        )
        raise LookupError(message)

    __getitem__ = __iter__ = __len__ = __contains__ = __bool__ = _refuse
    get = items = keys = values = setdefault = pop = _refuse


@dataclass
class Variables:
    """
    Decisions by index: i source, o option, m feedstock, t period, a lane, v truck.

    Attributes
    ----------
    inward, outward
        The flows on lanes in order, to yards and from yards.
    opened
        z[o]: the yard is built in this size. [0/1]
    hauled, delivered
        x[a,o,t] inbound and f[a,o,t] outbound, in the order of `inward` and `outward`;
        `NotLaidOut` in a frame. Rules take sums of them (`sum_of`). [t]
    left, held
        u[i,t] not collected; h[i,t] waiting at the source. [t]
    arrived, stock, charge, water
        y[o,m,t], s[o,m,t], b[o,m,t], w[o,t]. [t]
    compost, leftover
        c[o,t] in store; g[o,t] that no market takes. [t]
    hired
        H[v,t], of types whose own trucks have no home, if any are owned. [h]
    based, hired_at, busy, saved
        Of types whose own trucks have a home at a yard: N[o,v], how many do, an
        integer; H[o,v,t] hired for the yard; B[o,v,t] on busy days, a part of it hired;
        S[o,v,t] that pairing saves it. [h]
    paired
        beta[p,t]: trips of backhaul p. [trips]
    wanting
        y[n] short of what the demand n of `Policy.whole` asks, where that is paid. [t]
    hour_rows
        Names of the rows that own trucks with a home enter with their hours.
    elastic, slacks
        Which demand has slack (`EVERY`, one by its words, or none), and by
        how much each has.
    """

    inward: LaneFlowIndex
    outward: LaneFlowIndex
    elastic: str | None = None
    opened: dict[int, Quantity] = field(default_factory=dict)
    hauled: Table = field(default_factory=dict)
    delivered: Table = field(default_factory=dict)
    left: Table = field(default_factory=dict)
    held: Table = field(default_factory=dict)
    arrived: Table = field(default_factory=dict)
    stock: Table = field(default_factory=dict)
    charge: Table = field(default_factory=dict)
    water: Table = field(default_factory=dict)
    compost: Table = field(default_factory=dict)
    leftover: Table = field(default_factory=dict)
    hired: Table = field(default_factory=dict)
    based: Table = field(default_factory=dict)
    hired_at: Table = field(default_factory=dict)
    busy: Table = field(default_factory=dict)
    saved: Table = field(default_factory=dict)
    paired: Table = field(default_factory=dict)
    wanting: dict[int, Quantity] = field(default_factory=dict)
    slacks: list[ElasticSlack] = field(default_factory=list)
    hour_rows: set[str] = field(default_factory=set)
    _sums: dict[str, dict[Key, Terms]] = field(default_factory=dict)

    def sum_of(self, name: str, *key: int) -> Terms:
        """
        Return the terms of a sum of flows on lanes; none if no flow is in it.

        Parameters
        ----------
        name, key
            Which sum of `SUMS`, and its index.
        """
        return list(self.sums_of(name).get(key, []))

    def sums_of(self, name: str) -> dict[Key, Terms]:
        """Return the terms of every sum of that name that holds a flow, by index."""
        if name not in self._sums:
            found: dict[Key, Terms] = {}
            for side, flows, table in (
                (SUMS[name].inward, self.inward, self.hauled),
                (SUMS[name].outward, self.outward, self.delivered),
            ):
                if side is None:
                    continue
                keys = keys_of_sum(side, flows)
                if isinstance(table, NotLaidOut):
                    for key in keys.there():
                        found[key] = [(SumOfFlows(name, key), 1.0)]
                    continue
                each = weights(side, flows).tolist()
                for x, key, c in zip(table.values(), keys.each(), each, strict=True):
                    found.setdefault(key, []).append((x, c))
            self._sums[name] = found
        return self._sums[name]

    def add_slack(
        self,
        programme: Programme,
        limit: Limit,
        what: str,
        where: str,
        when: str,
        unit: str,
        scale: float,
    ) -> list[tuple[Quantity, float]]:
        """Return the slack term of a demand; none if it has no slack."""
        if self.elastic not in (EVERY, what):
            return []
        variable = programme.variable(f"slack.{len(self.slacks)}")
        scale = max(scale, 1e-9)
        self.slacks.append(
            ElasticSlack(variable, limit, what, where, when, unit, scale)
        )
        return [(variable, 1.0)]


def add_variables(
    programme: Programme,
    instance: Instance,
    *,
    elastic: str | None = None,
    lanes: bool = True,
) -> Variables:
    """
    Create every decision that can be other than zero.

    Without `lanes` the flows on lanes are not laid out: their sums are terms of their
    own (`SumOfFlows`), and whoever lays the flows out beside the frame fills them in.
    """
    var = Variables(inward_flows(instance), outward_flows(instance), elastic=elastic)
    names = option_names(instance)
    for o, name in enumerate(names):
        var.opened[o] = programme.choice(f"open.{name}")
    labels = flow_labels(instance)
    var.hauled = _flows(programme, var.inward, labels[0], names, lanes=lanes)
    _add_sources(programme, instance, var)
    _add_yards(programme, instance, var, names)
    var.delivered = _flows(programme, var.outward, labels[1], names, lanes=lanes)
    _add_trucks(programme, instance, var, names)
    if instance.backhauls is not None:
        _add_backhauls(programme, instance, var)
    return var


def option_names(instance: Instance) -> list[str]:
    """Return a name for each option: yard and size."""
    options = instance.options
    return [
        f"{instance.yards.codes[j]}.{size}"
        for j, size in zip(options.yard.tolist(), options.size, strict=True)
    ]


def options_of_yard(instance: Instance) -> dict[int, list[int]]:
    """Return the options of each yard."""
    found: dict[int, list[int]] = defaultdict(list)
    for o, j in enumerate(instance.options.yard.tolist()):
        found[j].append(o)
    return found


def flow_labels(inst: Instance) -> tuple[list[str], list[str]]:
    """Name the lanes in and the lanes out, as the names of their flows begin."""
    both = (
        ("haul", inst.supply.codes, inst.inbound),
        ("deliver", inst.markets.codes, inst.outbound),
    )
    inward, outward = (
        [
            f"{label}.{codes[i]}.{inst.trucks.codes[v]}"
            for i, v in zip(lanes.site.tolist(), lanes.truck.tolist(), strict=True)
        ]
        for label, codes, lanes in both
    )
    return inward, outward


def _flows(
    p: Programme,
    flows: LaneFlowIndex,
    labels: list[str],
    options: list[str],
    *,
    lanes: bool,
) -> Table:
    """Add the flows of one direction."""
    if not lanes:
        return NotLaidOut()
    periods = flows.inst.periods
    columns = (x.tolist() for x in (flows.lane, flows.option, flows.period))
    return {
        (a, o, t): p.variable(f"{labels[a]}.{options[o]}.{periods[t]}")
        for a, o, t in zip(*columns, strict=True)
    }


def _add_sources(p: Programme, inst: Instance, var: Variables) -> None:
    supply = inst.supply
    for i, code in enumerate(supply.codes):
        may_hold = supply.hold_t[i] > 0
        may_hold &= bool(inst.feed.store_periods[supply.feedstock[i]].any())
        for t, period in enumerate(inst.periods):
            if supply.tonnes[i].sum() <= 0:
                continue
            if may_hold:
                var.held[i, t] = p.variable(f"held.{code}.{period}", supply.hold_t[i])
            if not supply.must_collect[i]:
                var.left[i, t] = p.variable(f"left.{code}.{period}")
                continue
            scale = float(supply.tonnes[i].sum())
            what = (MUST_COLLECT, code, period, "t")
            for left, _ in var.add_slack(p, "least", *what, scale):
                var.left[i, t] = left


def _add_yards(p: Programme, inst: Instance, var: Variables, names: list[str]) -> None:
    reached = sorted({(o, m) for o, m, _ in var.sums_of("intake")})
    for t, period in enumerate(inst.periods):
        for o, m in reached:
            feedstock = inst.feed.codes[m]
            name = f"{names[o]}.{feedstock}.{period}"
            var.arrived[o, m, t] = p.variable(f"arrived.{name}")
            var.charge[o, m, t] = p.variable(f"charge.{name}")
            if inst.feed.store_periods[m].any() and inst.options.store_m3[o] > 0:
                var.stock[o, m, t] = p.variable(f"stock.{name}")
        for o, code in enumerate(names):
            if inst.mix.moisture is not None:
                var.water[o, t] = p.variable(f"water.{code}.{period}")
            var.leftover[o, t] = p.variable(f"leftover.{code}.{period}")
            if inst.options.compost_store_m3[o] > 0:
                var.compost[o, t] = p.variable(f"compost.{code}.{period}")


def _add_trucks(p: Programme, inst: Instance, var: Variables, names: list[str]) -> None:
    """Add N and H of own types by option, and H of all others."""
    trucks, based = inst.trucks, based_types(inst)
    for (v, t), hours in np.ndenumerate(trucks.hire_hours):
        if hours > 0 and not based[v]:
            name = f"hired.{trucks.codes[v]}.{inst.periods[t]}"
            var.hired[v, t] = p.variable(name, _limit(hours))
    if trucks.own is None or not based.any():
        return
    _, step = steps(trucks)
    for o, v, t in var.sums_of("option_hours"):
        if not based[v]:
            continue
        name = f"{trucks.codes[v]}.{names[o]}"
        if (o, v) not in var.based:
            yard = int(inst.options.yard[o])
            if trucks.homes is None:
                var.based[o, v] = p.number(f"own.{name}", 0, int(trucks.own[v]))
            else:
                most = float(trucks.homes[v, yard])
                var.based[o, v] = p.variable(f"own.{name}", most)
        name = f"{name}.{inst.periods[t]}"
        if (hours := trucks.hire_hours[v, t]) > 0:
            var.hired_at[o, v, t] = p.variable(f"hired.{name}", _limit(hours))
        if step[v, t] > 0:
            reach = float(step[v, t] * trucks.own[v])
            var.busy[o, v, t] = p.variable(f"busy.{name}", reach)
        if inst.backhauls is not None and (inst.backhauls.truck == v).any():
            var.saved[o, v, t] = p.variable(f"saved.{name}")


def based_types(inst: Instance) -> Flags:
    """Mark the truck types whose own trucks have a home at a yard, length v."""
    own = inst.trucks.own
    if own is None:
        return np.zeros(len(inst.trucks.codes), dtype=bool)
    finite = np.isfinite(inst.trucks.owned_hours).all(axis=1)
    return np.asarray((own > 0) & finite, dtype=bool)


def _limit(value: float) -> float | None:
    """Return a limit; None if there is none."""
    return float(value) if np.isfinite(value) else None


def _add_backhauls(p: Programme, inst: Instance, var: Variables) -> None:
    """Add beta, with a limit that no plan reaches."""
    found = lanes_of_backhauls(inst)
    for n, name in enumerate(found.names):
        for t in np.flatnonzero(found.usable[n]).tolist():
            high = 1.0 + 2.0 * float(found.most[n, t])
            var.paired[n, t] = p.variable(f"backhaul.{name}.{inst.periods[t]}", high)
