"""Rules of a plan lifted one at a time, to see which of them keeps something out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from logistics.model.problem import Instance, Lanes, Mix, ServedWhole

AMPLE = 1e3
"""Room as good as without limit, in units of what there is. [1]"""

Lift = Callable[[Instance, ServedWhole], Instance]


def _pad(inst: Instance, _: ServedWhole) -> Instance:
    options = replace(inst.options, pad_m3=AMPLE * inst.options.pad_m3)
    return replace(inst, options=options)


def _store(inst: Instance, _: ServedWhole) -> Instance:
    options = replace(inst.options, store_m3=AMPLE * inst.options.store_m3)
    return replace(inst, options=options)


def _compost_store(inst: Instance, _: ServedWhole) -> Instance:
    room = AMPLE * inst.options.compost_store_m3
    return replace(inst, options=replace(inst.options, compost_store_m3=room))


def _water(inst: Instance, _: ServedWhole) -> Instance:
    return replace(inst, yards=replace(inst.yards, water_t=AMPLE * inst.yards.water_t))


def _trucks(inst: Instance, _: ServedWhole) -> Instance:
    hours = np.full_like(inst.trucks.hire_hours, np.inf)
    return replace(inst, trucks=replace(inst.trucks, hire_hours=hours))


def _mix(inst: Instance, _: ServedWhole) -> Instance:
    return replace(inst, mix=Mix())


def _margin(inst: Instance, _: ServedWhole) -> Instance:
    return replace(inst, mix=replace(inst.mix, margin=None))


def _demand(inst: Instance, _: ServedWhole) -> Instance:
    markets = replace(inst.markets, demand=AMPLE * inst.markets.demand)
    return replace(inst, markets=markets)


def _nutrients(inst: Instance, _: ServedWhole) -> Instance:
    return replace(inst, contents=None, standard=None)


def _cover(inst: Instance, _: ServedWhole) -> Instance:
    return replace(inst, cover=None)


def _waiting(inst: Instance, asked: ServedWhole) -> Instance:
    hold = inst.supply.hold_t.copy()
    hold[asked.site] = inst.supply.tonnes[asked.site].sum()
    return replace(inst, supply=replace(inst.supply, hold_t=hold))


def _board(inst: Instance, _: ServedWhole) -> Instance:
    policy = replace(
        inst.policy,
        least_shares=(),
        budget_limit=None,
        co2e_limit=None,
        most_share=None,
    )
    return replace(inst, policy=policy)


def _roads(inst: Instance, asked: ServedWhole) -> Instance:
    if asked.kind == "source":
        return replace(inst, inbound=_open_all_year(inst.inbound, asked.site))
    return replace(inst, outbound=_open_all_year(inst.outbound, asked.site))


def _open_all_year(lanes: Lanes, site: int) -> Lanes:
    """Open a place's lanes in every period that have some period, at its mean."""
    usable = lanes.usable
    shut = (lanes.site == site)[:, None] & usable.any(axis=1)[:, None] & ~usable
    count = np.maximum(usable.sum(axis=1), 1)[:, None]
    names = ("load_t", "money", "hours", "co2e", "km")
    means = {
        name: np.where(usable, getattr(lanes, name), 0.0).sum(axis=1)[:, None] / count
        for name in names
    }
    changed = {n: np.where(shut, means[n], getattr(lanes, n)) for n in names}
    return replace(lanes, usable=usable | shut, **changed)


LIFTS: dict[str, Lift] = {
    "pad": _pad,
    "store": _store,
    "compost_store": _compost_store,
    "water": _water,
    "trucks": _trucks,
    "mix": _mix,
    "margin": _margin,
    "demand": _demand,
    "nutrients": _nutrients,
    "cover": _cover,
    "waiting": _waiting,
    "roads": _roads,
    "board": _board,
}
"""Rule -> the problem without it."""

ROWS = {
    "pad": ("pad",),
    "store": ("store",),
    "compost_store": ("compost_store",),
    "water": ("water",),
    "trucks": ("hire", "trucks"),
    "mix": ("cn_", "moist_", "density", "structure", "salt", "product"),
    "margin": ("cn_", "moist_"),
    "demand": ("demand",),
    "nutrients": ("content_", "nutrients_", "standard_"),
    "cover": ("cover",),
    "board": ("budget", "emissions", "most_share", "least_share"),
}
"""Rule -> how the names of its rows begin."""

TINY = 1e-7
"""Duals that count as none. [goal/unit]"""


def bind(duals: Mapping[str, float], inst: Instance, asked: ServedWhole) -> list[str]:
    """
    Name the rules that bind: only they can change anything when they are lifted.

    Parameters
    ----------
    duals
        Of the rows, by name.
    inst, asked
        The problem and the place.
    """
    tight = {name.split(".")[0] for name, dual in duals.items() if abs(dual) > TINY}
    found = [
        rule for rule, rows in ROWS.items() if any(x.startswith(rows) for x in tight)
    ]
    if inst.mix.margin is None and "margin" in found:
        found.remove("margin")
    if asked.kind == "market" and "demand" in found:
        found.remove("demand")  # more asked elsewhere leaves no more for this one
    if _can_wait(inst, asked):
        found.append("waiting")
    lanes = inst.inbound if asked.kind == "source" else inst.outbound
    mine = lanes.usable[lanes.site == asked.site]
    some = mine[mine.any(axis=1)]
    if len(some) and not some[:, list(asked.periods)].all():
        found.append("roads")
    return found


def _can_wait(inst: Instance, asked: ServedWhole) -> bool:
    """Whether what arises at a source keeps, but has little room there."""
    if asked.kind == "market":
        return False
    keeps = inst.feed.store_periods[inst.supply.feedstock[asked.site]].any()
    return bool(keeps) and bool(
        inst.supply.hold_t[asked.site] < inst.supply.tonnes[asked.site].sum()
    )


def unbound(rule: str, inst: Instance, asked: ServedWhole) -> Instance:
    """Lift one rule of `LIFTS`."""
    return LIFTS[rule](inst, asked)
