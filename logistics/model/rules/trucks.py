"""
Rows for truck hours: own trucks at home at yards as whole numbers, and hired hours.

An own truck stands at one yard at night and works for that yard: it is not lent to
others in the programme, so idle hours of one yard are no help at another. Rounds may
still send an idle truck over where that saves (`rounds.lending`), so the programme is
on the safe side. Types of which none are owned need no yard: their rows are for all
yards together, which says the same with fewer of them.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from logistics.model.problem import PART, Instance, steps
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import (
    Terms,
    Variables,
    based_types,
    option_names,
)

Saved = dict[tuple[int, ...], Terms]


def share_trucks(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Drive no more hours than there are trucks, own ones of the yard and hired ones.

    For every truck type v that is owned, option o and period t, with r[a,t] hours a
    tonne takes and w[v,t] those that one own truck works on what is planned, before
    any is hired beside it (`problem.own_hours`)::

        sum_a r[a,t] * (x + f)[a,o,t] <= w[v,t] * N[o,v] + B[o,v,t] + H[o,v,t]

    For every other type v and period t::

        sum_a,o r[a,t] * (x + f)[a,o,t] <= owned[v,t] + H[v,t]

    A paired trip takes off the hours of the empty ways that it saves.
    """
    trucks, names = inst.trucks, option_names(inst)
    based = based_types(inst)
    saved = _saved_hours(var, inst)
    for (v, t), driven in var.sums_of("truck_hours").items():
        if based[v] or not np.isfinite(trucks.owned_hours[v, t]):
            continue
        hired: Terms = [(var.hired[v, t], -1.0)] if (v, t) in var.hired else []
        name = f"trucks.{trucks.codes[v]}.{inst.periods[t]}"
        terms = [*driven, *saved.get((v, t), []), *hired]
        p.at_most(name, terms, float(trucks.owned_hours[v, t]))
    if not based.any():
        return
    free, _ = steps(trucks)
    for (o, v, t), driven in var.sums_of("option_hours").items():
        if not based[v]:
            continue
        terms = [*driven, (var.based[o, v], -float(free[v, t]))]
        for table in (var.hired_at, var.busy, var.saved):
            terms += [(table[o, v, t], -1.0)] if (o, v, t) in table else []
        name = f"trucks.{trucks.codes[v]}.{names[o]}.{inst.periods[t]}"
        var.hour_rows.add(name)
        p.at_most(name, terms)


def share_busy_hours(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hire a part of the hours on busy days, of own trucks that are there.

    With s[v,t] those hours of one own truck: B[o,v,t] <= s[v,t] * N[o,v].
    """
    _, step = steps(inst.trucks)
    names = option_names(inst)
    for (o, v, t), busy in var.busy.items():
        name = f"busy.{inst.trucks.codes[v]}.{names[o]}.{inst.periods[t]}"
        p.at_most(name, [(busy, 1.0), (var.based[o, v], -float(step[v, t]))])


def base_trucks(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Give each own truck one home at most: sum_o N[o,v] <= own[v].

    The same for the sizes of each yard j alone, for the tree to branch on.
    """
    if inst.trucks.own is None:
        return
    rows: dict[str, tuple[Terms, float]] = {}
    for (o, v), count in sorted(var.based.items()):
        code, yard = inst.trucks.codes[v], inst.yards.codes[inst.options.yard[o]]
        for name in (f"bases.{code}", f"home.{code}.{yard}"):
            terms, _ = rows.setdefault(name, ([], float(inst.trucks.own[v])))
            terms.append((count, 1.0))
    for name, (terms, most) in rows.items():
        p.at_most(name, terms, most)


def link_bases(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let trucks stand at yards that are open: N[o,v] <= own[v] * z[o].

    Where homes are held at n[v,j] for yard j of option o: N[o,v] = n[v,j] * z[o].
    """
    names = option_names(inst)
    add = p.at_most if inst.trucks.homes is None else p.equal
    for (o, v), count in var.based.items():
        terms: Terms = [(count, 1.0), (var.opened[o], -float(count.high or 0.0))]
        add(f"based.{inst.trucks.codes[v]}.{names[o]}", terms)


def limit_hire(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hire no more trucks than there are to hire, over all yards.

    For every truck type v that is owned and period t, with p the part of the hours on
    busy days that is hired: sum_o H[o,v,t] + p * B[o,v,t] <= limit[v,t].
    """
    rows: dict[tuple[int, int], Terms] = defaultdict(list)
    for (_, v, t), hired in var.hired_at.items():
        rows[v, t].append((hired, 1.0))
    for (_, v, t), busy in var.busy.items():
        rows[v, t].append((busy, PART))
    for (v, t), terms in rows.items():
        limit = float(inst.trucks.hire_hours[v, t])
        if np.isfinite(limit):
            name = f"hire.{inst.trucks.codes[v]}.{inst.periods[t]}"
            p.at_most(name, terms, limit)


def _saved_hours(var: Variables, inst: Instance) -> Saved:
    """Terms of the hours that pairing saves, by type and period. [h]"""
    found: Saved = {}
    if inst.backhauls is not None:
        for (n, t), beta in var.paired.items():
            hours = -float(inst.backhauls.hours[n, t])
            found.setdefault((int(inst.backhauls.truck[n]), t), []).append(
                (beta, hours)
            )
    return found


def share_saved_hours(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Credit the hours that pairing saves at a yard to its own trucks.

    For every yard j with options o, truck type v that is owned and period t, with h the
    hours that a paired trip saves::

        sum_o S[o,v,t] <= sum over backhauls p of j and v of h[p,t] * beta[p,t]
    """
    if inst.backhauls is None or not var.saved:
        return
    rows: dict[tuple[int, int, int], Terms] = defaultdict(list)
    for (o, v, t), saved in var.saved.items():
        rows[int(inst.options.yard[o]), v, t].append((saved, 1.0))
    for (n, t), beta in var.paired.items():
        key = int(inst.backhauls.yard[n]), int(inst.backhauls.truck[n]), t
        if key in rows:
            rows[key].append((beta, -float(inst.backhauls.hours[n, t])))
    for (j, v, t), terms in rows.items():
        name = f"{inst.trucks.codes[v]}.{inst.yards.codes[j]}.{inst.periods[t]}"
        p.at_most(f"paired_hours.{name}", terms)
