"""Rows for the compost: when it is ready, where it waits, who takes it."""

import numpy as np

from logistics.model.problem import Instance
from logistics.model.rules.flows import waiting
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, option_names


def keep_compost(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Account for every tonne of compost.

    For every option o and period u, with ripe[t,u] the share of a charge of
    period t that is ready in u, and y[m] compost per tonne put in::

        c[o,u-1] + sum_t ripe[t,u] * sum_m y[m] * b[o,m,t]
            = sum_a f[a,o,u] + g[o,u] + c[o,u]
    """
    names, per_tonne = option_names(inst), inst.feed.product_per_t
    feeds: dict[int, list[int]] = {}
    for o, m, t in var.charge:
        if t == 0:
            feeds.setdefault(o, []).append(m)
    for o, u in var.leftover:
        terms: Terms = var.sum_of("dispatch", o, u)
        terms.append((var.leftover[o, u], 1.0))
        if (o, u) in var.compost:
            before = var.compost[o, (u - 1) % len(inst.periods)]
            if before is not var.compost[o, u]:
                terms += waiting(var.compost[o, u], before, 1.0)
        terms += [
            (var.charge[o, m, t], -float(inst.ripening[t, u] * per_tonne[m]))
            for t in range(len(inst.periods))
            if inst.ripening[t, u] > 0
            for m in feeds.get(o, [])
        ]
        p.equal(f"compost.{names[o]}.{inst.periods[u]}", terms)


def send_ripe_compost(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Send no compost before it is ripe, also within a period.

    Compost becomes ready batch by batch and leaves evenly. For every option o with a
    store, and every evening of period u before more is ready, with done the share of
    the period's deliveries that has left, and ripe_by[t] the share of a charge of
    period t that has become ready in u by then::

        c[o,u-1] + sum_t ripe_by[t] * sum_m y[m] * b[o,m,t] >= done * sent[o,u]

    What is sent is, by `keep_compost`, c[o,u-1] + all that is ready in u - c[o,u].
    """
    days = inst.compost_days
    if days is None:
        return
    names, per_tonne = option_names(inst), inst.feed.product_per_t
    feeds: dict[int, list[int]] = {}
    for o, m, t in var.charge:
        if t == 0:
            feeds.setdefault(o, []).append(m)
    so_far, total = days.ready_so_far(), len(inst.periods)
    for day in days.evenings():
        u, done = int(days.period[day]), float(days.sent[day])
        early = so_far[:, day] - done * inst.ripening[:, u]
        for o, some in feeds.items():
            if (o, u) not in var.compost:
                continue
            now, before = var.compost[o, u], var.compost[o, (u - 1) % total]
            terms: Terms = [(now, -done), (before, done - 1)]
            if now is before:
                terms = [(now, -1.0)]
            terms += [
                (var.charge[o, m, t], -float(early[t] * per_tonne[m]))
                for t in np.flatnonzero(np.abs(early) > 1e-9).tolist()
                for m in some
            ]
            p.at_most(f"ripe.{names[o]}.{inst.periods[u]}.{day}", terms)


def fit_compost_store(p: Programme, var: Variables, inst: Instance) -> None:
    """Keep compost in its store: c[o,t] / density <= room[o] * z[o]."""
    names = option_names(inst)
    for (o, t), compost in var.compost.items():
        terms: Terms = [(compost, 1 / inst.product_t_m3)]
        terms.append((var.opened[o], -float(inst.options.compost_store_m3[o])))
        p.at_most(f"compost_store.{names[o]}.{inst.periods[t]}", terms)


def meet_demand(p: Programme, var: Variables, inst: Instance) -> None:
    """Deliver no more than a market takes in the period: sum f <= demand[n,t]."""
    for (n, t), terms in var.sums_of("market").items():
        name = f"demand.{inst.markets.codes[n]}.{inst.periods[t]}"
        p.at_most(name, terms, inst.markets.demand[n, t])
