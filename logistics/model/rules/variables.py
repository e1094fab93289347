"""The decisions of the programme, and the sums its rows are made of."""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from logistics.model.problem import Flags, Instance, Whole
from logistics.model.rules.backhaul_lanes import pair_lanes
from logistics.model.rules.programme import Programme, Quantity

Terms = list[tuple[Quantity, float]]
Table = dict[tuple[int, ...], Quantity]


EVERY = "every demand"
MUST_COLLECT = "collect every tonne of sources that must be collected"


@dataclass(frozen=True)
class Give:
    """By how much one demand would have to give way."""

    variable: Quantity
    what: str
    where: str
    when: str
    unit: str
    scale: float


@dataclass
class Variables:
    """
    Decisions by index: i source, o option, m feedstock, t period, a lane, v truck.

    Attributes
    ----------
    opened
        z[o]: the yard is built in this size. [0/1]
    hauled, delivered
        x[a,o,t] inbound and f[a,o,t] outbound. [t]
    left, held
        u[i,t] not collected; h[i,t] waiting at the source. [t]
    arrived, stock, charge, water
        y[o,m,t], s[o,m,t], b[o,m,t], w[o,t]. [t]
    compost, leftover
        c[o,t] in store; g[o,t] that no market takes. [t]
    hired
        H[v,t]. [h]
    paired
        beta[p,t]: trips of pair p. [trips]
    elastic, gives
        Which demand may give way (`EVERY`, one by its words, or none), and by
        how much each does.
    """

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
    paired: Table = field(default_factory=dict)
    gives: list[Give] = field(default_factory=list)
    by_source: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_intake: dict[tuple[int, int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_inbound_pair: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_market: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_dispatch: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_outbound_pair: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )
    by_truck: dict[tuple[int, int], Terms] = field(
        default_factory=lambda: defaultdict(list)
    )

    def may_give(
        self,
        programme: Programme,
        what: str,
        where: str,
        when: str,
        unit: str,
        scale: float,
    ) -> Terms:
        """Return the term by which a demand may give way; none if it may not."""
        if self.elastic not in (EVERY, what):
            return []
        variable = programme.variable(f"give.{len(self.gives)}")
        self.gives.append(Give(variable, what, where, when, unit, max(scale, 1e-9)))
        return [(variable, 1.0)]


def add_variables(
    programme: Programme,
    instance: Instance,
    *,
    elastic: str | None = None,
    lanes: bool = True,
) -> Variables:
    """
    Create every decision that can be other than zero, and index the flows.

    Without `lanes` the flows on lanes are left out, and the sums that they would
    enter are empty.
    """
    var = Variables(elastic=elastic)
    names = option_names(instance)
    for o, name in enumerate(names):
        var.opened[o] = programme.choice(f"open.{name}")
    if lanes:
        _add_inbound(programme, instance, var, names)
    else:
        _name_sums(instance, var)
    _add_sources(programme, instance, var)
    _add_yards(programme, instance, var, names)
    if lanes:
        _add_outbound(programme, instance, var, names)
    for (v, t), hours in np.ndenumerate(instance.trucks.hire_hours):
        if hours > 0:
            high = float(hours) if np.isfinite(hours) else None
            name = f"hired.{instance.trucks.codes[v]}.{instance.periods[t]}"
            var.hired[v, t] = programme.variable(name, high)
    if instance.pairs is not None:
        _add_pairs(programme, instance, var)
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


def arising(inst: Instance) -> Flags:
    """Mark when a source has something to fetch, shape (i, t)."""
    supply = inst.supply
    arises = supply.tonnes > 0
    arises |= ((supply.hold_t > 0) & arises.any(axis=1))[:, None]
    return np.asarray(arises, dtype=bool)


def _name_sums(inst: Instance, var: Variables) -> None:
    """Make the sums that flows on lanes enter, with nothing in them."""
    options, feedstock = options_of_yard(inst), inst.supply.feedstock
    for lanes, when in (
        (inst.inbound, arising(inst)),
        (inst.outbound, inst.markets.demand > 0),
    ):
        served = np.isin(lanes.yard, list(options))
        a, t = np.nonzero(lanes.usable & when[lanes.site] & served[:, None])
        site, yard = lanes.site[a], lanes.yard[a]
        for v, u in _each(lanes.truck[a], t):
            var.by_truck[v, u]
        for i, u in _each(site, t):
            (var.by_source if lanes is inst.inbound else var.by_market)[i, u]
        for i, j in _each(site, yard):
            for o in options[j]:
                if lanes is inst.inbound:
                    var.by_inbound_pair[i, o]
                else:
                    var.by_outbound_pair[i, o]
        if lanes is inst.inbound:
            for i, j, u in _each(feedstock[site], yard, t):
                for o in options[j]:
                    var.by_intake[o, i, u]
        else:
            for j, u in _each(yard, t):
                for o in options[j]:
                    var.by_dispatch[o, u]


def _each(*columns: Whole) -> list[list[int]]:
    """Return the rows of some columns, each once, in order."""
    seen = np.zeros([int(c.max(initial=-1)) + 1 for c in columns], dtype=bool)
    seen[columns] = True
    found: list[list[int]] = np.argwhere(seen).tolist()
    return found


def _add_inbound(
    p: Programme, inst: Instance, var: Variables, names: list[str]
) -> None:
    lanes, supply = inst.inbound, inst.supply
    options = options_of_yard(inst)
    arises = arising(inst)
    for a, i in enumerate(lanes.site.tolist()):
        m, v = int(supply.feedstock[i]), int(lanes.truck[a])
        lane = f"{supply.codes[i]}.{inst.trucks.codes[v]}"
        for t in np.flatnonzero(lanes.usable[a] & arises[i]).tolist():
            hours = float(lanes.hours[a, t])
            for o in options.get(int(lanes.yard[a]), []):
                x = p.variable(f"haul.{lane}.{names[o]}.{inst.periods[t]}")
                var.hauled[a, o, t] = x
                var.by_source[i, t].append((x, 1.0))
                var.by_intake[o, m, t].append((x, 1.0))
                var.by_inbound_pair[i, o].append((x, 1.0))
                var.by_truck[v, t].append((x, hours))


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
            for left, _ in var.may_give(p, MUST_COLLECT, code, period, "t", scale):
                var.left[i, t] = left


def _add_yards(p: Programme, inst: Instance, var: Variables, names: list[str]) -> None:
    reached = sorted({(o, m) for o, m, _ in var.by_intake})
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


def _add_outbound(
    p: Programme, inst: Instance, var: Variables, names: list[str]
) -> None:
    lanes, markets = inst.outbound, inst.markets
    options = options_of_yard(inst)
    for a, n in enumerate(lanes.site.tolist()):
        v = int(lanes.truck[a])
        lane = f"{markets.codes[n]}.{inst.trucks.codes[v]}"
        for t in np.flatnonzero(lanes.usable[a] & (markets.demand[n] > 0)).tolist():
            hours = float(lanes.hours[a, t])
            for o in options.get(int(lanes.yard[a]), []):
                f = p.variable(f"deliver.{lane}.{names[o]}.{inst.periods[t]}")
                var.delivered[a, o, t] = f
                var.by_market[n, t].append((f, 1.0))
                var.by_dispatch[o, t].append((f, 1.0))
                var.by_outbound_pair[n, o].append((f, 1.0))
                var.by_truck[v, t].append((f, hours))


def _add_pairs(p: Programme, inst: Instance, var: Variables) -> None:
    """Add beta, with a limit that no plan reaches, and its truck hours saved."""
    found = pair_lanes(inst)
    for n, name in enumerate(found.names):
        v = int(found.pairs.truck[n])
        for t in np.flatnonzero(found.usable[n]).tolist():
            high = 1.0 + 2.0 * float(found.most[n, t])
            beta = p.variable(f"pair.{name}.{inst.periods[t]}", high)
            var.paired[n, t] = beta
            var.by_truck[v, t].append((beta, -float(found.pairs.hours[n, t])))
