"""The row that keeps cover in store for what spoils, and its numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.model.problem import Instance
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, option_names

if TYPE_CHECKING:
    pass


def keep_cover(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Have cover in store when a period begins, for the first days of what spoils.

    For every option o and period t, with c[m,t] the loose volume of structure
    feedstock that must be there for a tonne of m that comes in t (0 for what keeps)::

        sum_n keep[n,t] * s[o,n,t-1] / loose[n] >= sum_m c[m,t] * y[o,m,t]
    """
    if inst.cover is None:
        return
    names, feed = option_names(inst), inst.feed
    rows: dict[tuple[int, int], Terms] = {}
    for (o, m, t), arrived in var.arrived.items():
        if inst.cover[m, t] > 0:
            rows.setdefault((o, t), []).append((arrived, -float(inst.cover[m, t])))
    for (o, n, t), stock in var.stock.items():
        after = (t + 1) % len(inst.periods)
        if feed.structure[n] and (o, after) in rows:
            each = float(feed.keep[n, after] / feed.loose_t_m3[n])
            rows[o, after].append((stock, each))
    for (o, t), terms in rows.items():
        p.at_least(f"cover.{names[o]}.{inst.periods[t]}", terms)
