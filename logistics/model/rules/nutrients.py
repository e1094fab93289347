"""Rows that keep what compost holds, and what of it a market gets, within limits."""

from __future__ import annotations

import numpy as np

from logistics.model.problem import Instance
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, option_names


def hold_contents(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let compost in store hold at most what the market ceilings reckon with.

    What a market gets is a product of two decisions, tonnes and content. With the
    content held, both sides are linear. For every substance, option o of yard j and
    period u, with kept[m] left of it in the compost of a tonne of feedstock, y[m]
    compost of a tonne, and content[j,u] that is held::

        sum_t ripe[t,u] * sum_m (kept[m] - content[j,u] * y[m]) * b[o,m,t]
            + (content[j,u-1] - content[j,u]) * c[o,u-1] <= 0

    Each row is divided by its content, so that it counts tonnes of compost. What
    becomes ready is mixed with what is in store. If that held at most
    content[j,u-1], the row says that the mixture holds at most content[j,u]; going
    round the year the content can only fall, so it holds for the year that repeats.
    """
    if inst.contents is None:
        return
    names, count = option_names(inst), len(inst.periods)
    feeds: dict[int, list[int]] = {}
    for o, m, t in var.charge:
        if t == 0:
            feeds.setdefault(o, []).append(m)
    for key, kept in zip(inst.contents.keys, inst.contents.kept, strict=True):
        held = inst.contents.of(key)
        for o, u in var.leftover:
            j, before = int(inst.options.yard[o]), (u - 1) % count
            content = float(held[j, u])
            fed = feeds.get(o, [])
            unit = content if content > 0 else 1.0
            over = (kept - content * inst.feed.product_per_t) / unit
            more = float(held[j, before] - content) / unit
            if not (over[fed] > 0).any() and more <= 0:
                continue  # no mix holds more
            terms: Terms = [
                (var.charge[o, m, t], float(inst.ripening[t, u] * over[m]))
                for t in range(count)
                if inst.ripening[t, u] > 0
                for m in fed
            ]
            if more and (o, before) in var.compost:
                terms.append((var.compost[o, before], more))
            p.at_most(f"content_{key}.{names[o]}.{inst.periods[u]}", terms)


def respect_nutrient_limits(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Keep what a market gets in a year under its ceiling.

    For every substance and market n that limits it, with content[j,t] that the yard's
    compost holds at most (`hold_contents`)::

        sum_a,o,t content[j,t] * f[a,o,t] <= limit[n]

    divided by the greatest content, so that it counts tonnes of compost.
    """
    if inst.contents is None:
        return
    contents, demand = inst.contents, inst.markets.demand.sum(axis=1)
    for key, limits in zip(contents.keys, contents.limit_t, strict=True):
        most = float(contents.of(key).max(initial=0.0))
        for n in np.flatnonzero(limits < most * demand).tolist():
            each = 1 / most  # a factor: the same to the last bit however flows are laid
            terms = [(x, c * each) for x, c in var.sum_of(f"market_{key}", n)]
            name = f"nutrients_{key}.{inst.markets.codes[n]}"
            p.at_most(name, terms, limits[n] * each)
