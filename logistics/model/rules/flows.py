"""Rows for what arises, waits, is stocked and fills the pad."""

import numpy as np

from logistics.model.problem import Instance
from logistics.model.rules.programme import Programme, Quantity
from logistics.model.rules.variables import Terms, Variables, option_names


def keep_supply(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Account for every tonne that arises.

    For every source i and period t, with keep[m,t] the share that survives a
    period of waiting::

        keep[m,t] * h[i,t-1] + q[i,t] = sum_o,a x[a,o,t] + u[i,t] + h[i,t]
    """
    supply = inst.supply
    for i, code in enumerate(supply.codes):
        if supply.tonnes[i].sum() <= 0:
            continue
        m = int(supply.feedstock[i])
        for t, period in enumerate(inst.periods):
            terms: Terms = var.sum_of("source", i, t)
            terms += [(var.left[i, t], 1.0)] if (i, t) in var.left else []
            if (i, t) in var.held:
                before = (t - 1) % len(inst.periods)
                terms += waiting(
                    var.held[i, t], var.held[i, before], inst.feed.keep[m, t]
                )
            p.equal(f"supply.{code}.{period}", terms, supply.tonnes[i, t])


def waiting(now: Quantity, before: Quantity, keep: float) -> Terms:
    """Return the terms of a stock that gains `now` and gave up `keep` of `before`."""
    if now is before:
        return [(now, 1.0 - keep)]
    return [(now, 1.0), (before, -keep)]


def keep_held_fresh(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let nothing wait at a source longer than it keeps.

    With K[m,t] periods of keeping and use of the oldest first::

        h[i,t] <= sum of q[i,r] for r = t-K[m,t]+1 .. t
    """
    for (i, t), held in var.held.items():
        m = int(inst.supply.feedstock[i])
        periods = recent(t, int(inst.feed.store_periods[m, t]), inst)
        if len(periods) < len(inst.periods):
            name = f"held_fresh.{inst.supply.codes[i]}.{inst.periods[t]}"
            p.at_most(name, [(held, 1.0)], inst.supply.tonnes[i, periods].sum())


def count_arrivals(p: Programme, var: Variables, inst: Instance) -> None:
    """Add up what arrives at a yard: y[o,m,t] = sum_a x[a,o,t]."""
    names = option_names(inst)
    for (o, m, t), arrived in var.arrived.items():
        terms: Terms = [(x, -c) for x, c in var.sum_of("intake", o, m, t)]
        name = f"arrive.{names[o]}.{inst.feed.codes[m]}.{inst.periods[t]}"
        p.equal(name, [*terms, (arrived, 1.0)])


def keep_stock(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Account for every tonne in store; what spoils goes straight into a windrow.

    For every option o, feedstock m and period t::

        keep[m,t] * s[o,m,t-1] + y[o,m,t] = b[o,m,t] + s[o,m,t]
    """
    names = option_names(inst)
    for (o, m, t), charge in var.charge.items():
        terms: Terms = [(var.arrived[o, m, t], -1.0), (charge, 1.0)]
        if (o, m, t) in var.stock:
            before = var.stock[o, m, (t - 1) % len(inst.periods)]
            terms += waiting(var.stock[o, m, t], before, inst.feed.keep[m, t])
        name = f"stock.{names[o]}.{inst.feed.codes[m]}.{inst.periods[t]}"
        p.equal(name, terms)


def keep_stock_fresh(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let nothing wait in store longer than it keeps.

    With K[m,t] periods of keeping and use of the oldest first::

        s[o,m,t] <= sum of y[o,m,r] for r = t-K[m,t]+1 .. t
    """
    names = option_names(inst)
    for (o, m, t), stock in var.stock.items():
        periods = recent(t, int(inst.feed.store_periods[m, t]), inst)
        if len(periods) < len(inst.periods):
            terms: Terms = [(stock, 1.0)]
            terms += [(var.arrived[o, m, r], -1.0) for r in periods]
            name = f"stock_fresh.{names[o]}.{inst.feed.codes[m]}.{inst.periods[t]}"
            p.at_most(name, terms)


def limit_decay(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let no plan rid itself of feedstock by leaving it to rot.

    What is lost in a yard's store over the year is at most what goes into its
    windrows, and what is lost while held at a source at most what is collected.
    For every option o and feedstock m, and every source i of yearly supply Q::

        sum_t (1 - keep[m,t]) * s[o,m,t-1] <= sum_t b[o,m,t]
        2 * sum_t (1 - keep[m,t]) * h[i,t-1] + sum_t u[i,t] <= Q[i]
    """
    names, periods, feed = option_names(inst), len(inst.periods), inst.feed
    for o, m in sorted({(o, m) for o, m, _ in var.stock}):
        terms: Terms = [(var.charge[o, m, t], -1.0) for t in range(periods)]
        for t in range(periods):
            before = var.stock[o, m, (t - 1) % periods]
            terms.append((before, float(1 - feed.keep[m, t])))
        p.at_most(f"decay.{names[o]}.{feed.codes[m]}", terms)
    for i in sorted({i for i, _ in var.held}):
        m = int(inst.supply.feedstock[i])
        terms = [(var.left[i, t], 1.0) for t in range(periods) if (i, t) in var.left]
        for t in range(periods):
            before = var.held[i, (t - 1) % periods]
            terms.append((before, 2 * float(1 - feed.keep[m, t])))
        year = inst.supply.tonnes[i].sum()
        p.at_most(f"decay_held.{inst.supply.codes[i]}", terms, year)


def recent(t: int, count: int, inst: Instance) -> list[int]:
    """Return the last `count` periods up to and with t, round the year."""
    total = len(inst.periods)
    return [(t - back) % total for back in range(min(count, total))]


def fit_pad(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Keep the active windrows on the pad on every day.

    For every option o and every moment k at which the pad can be fullest, with
    occ[t,k] the share of a charge of period t that lies there, and vol[m] the pad
    volume of a tonne::

        sum_t occ[t,k] * sum_m vol[m] * b[o,m,t] <= pad[o] * z[o]
    """
    names, volume = option_names(inst), inst.feed.pad_m3_per_t
    charged: dict[int, list[int]] = {}
    for o, m, t in var.charge:
        if t == 0:
            charged.setdefault(o, []).append(m)
    moments = distinct_moments(inst)
    for o, feeds in charged.items():
        for k in moments:
            terms: Terms = [
                (var.charge[o, m, t], float(inst.occupancy[t, k] * volume[m]))
                for t in range(len(inst.periods))
                if inst.occupancy[t, k] > 0
                for m in feeds
            ]
            terms.append((var.opened[o], -float(inst.options.pad_m3[o])))
            p.at_most(f"pad.{names[o]}.{k}", terms)


def distinct_moments(inst: Instance) -> list[int]:
    """Return the moments of the pad at which not the same lies there as before."""
    columns = np.round(inst.occupancy, 9)
    return sorted(np.unique(columns, axis=1, return_index=True)[1].tolist())


def fit_store(p: Programme, var: Variables, inst: Instance) -> None:
    """Keep the stock in the store: sum_m s[o,m,t] / loose[m] <= store[o] * z[o]."""
    rows: dict[tuple[int, int], Terms] = {}
    for (o, m, t), stock in var.stock.items():
        m3_per_t = 1.0 / float(inst.feed.loose_t_m3[m])
        rows.setdefault((o, t), []).append((stock, m3_per_t))
    names = option_names(inst)
    for (o, t), terms in rows.items():
        terms.append((var.opened[o], -float(inst.options.store_m3[o])))
        p.at_most(f"store.{names[o]}.{inst.periods[t]}", terms)


def draw_water(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Draw no more water than the site has, at building and at turning.

    For every option o of yard j and period t::

        w[o,t] + turn * sum_m b[o,m,t] <= limit[j,t] * z[o]
    """
    rows: dict[tuple[int, int], Terms] = {}
    for (o, t), water in var.water.items():
        rows.setdefault((o, t), []).append((water, 1.0))
    for (o, _, t), charge in var.charge.items():
        rows.setdefault((o, t), []).append((charge, inst.turning_water))
    names = option_names(inst)
    for (o, t), terms in rows.items():
        limit = float(inst.yards.water_t[inst.options.yard[o], t])
        name = f"water.{names[o]}.{inst.periods[t]}"
        p.at_most(name, [*terms, (var.opened[o], -limit)])
