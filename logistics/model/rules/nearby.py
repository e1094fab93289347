"""Rows that hold how many people live near yards, and how far farms are from them."""

from collections.abc import Sequence

import numpy as np

from logistics.model.problem import WORST, Instance, PeopleNear
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, options_of_yard


def limit_exposed(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let at most so many people live near open yards, each place counted once.

    With heads h[q] of the places q that the same yards J[q] expose, and e[q] in [0, 1]
    where these are several (of one yard, e[q] is its sum)::

        e[q] >= sum_k z[j,k]   for every j in J[q]
        sum_q h[q] * e[q] <= limit

    Without slack also what follows for whole yards, and not for parts of them: a yard
    that alone exposes more stays shut; and of yards S at most m are open if the m + 1
    with the fewest heads expose too many. Heads near several yards are shared evenly
    among these first, so that no set counts more heads than it exposes.
    """
    limit, people = inst.policy.most_exposed, inst.neighbours
    if limit is None or people is None:
        return
    yards = options_of_yard(inst)
    offered = sorted(yards)
    chosen: dict[int, Terms] = {
        j: [(var.opened[o], 1.0) for o in yards[j]] for j in yards
    }
    scale = max(limit, 1.0)
    slack = var.add_slack(
        p, "most", "most people near yards", "district", "year", "heads", scale
    )
    groups, of = np.unique(people.near[:, offered], axis=0, return_inverse=True)
    heads = np.bincount(of.ravel(), people.heads, minlength=len(groups))
    terms: Terms = []
    for q, (near, count) in enumerate(zip(groups, heads.tolist(), strict=True)):
        among = [offered[at] for at in np.flatnonzero(near).tolist()]
        if len(among) == 1:
            terms += [(z, count) for z, _ in chosen[among[0]]]
        elif among:
            exposed = p.variable(f"exposed.{q}", 1.0)
            terms.append((exposed, count))
            for j in among:
                open_ = [(z, -1.0) for z, _ in chosen[j]]
                name = f"exposes.{q}.{inst.yards.codes[j]}"
                p.at_least(name, [(exposed, 1.0), *open_], 0.0)
    p.at_most("most_exposed", terms + [(x, -1.0) for x, _ in slack], limit)
    if slack:
        return
    for j in offered:
        if people.heads[people.near[:, j]].sum() > limit * (1 + 1e-9):
            p.at_most(f"exposes_too_many.{inst.yards.codes[j]}", chosen[j], 0.0)
    for most, some in covers(people, offered, limit):
        p.at_most(f"exposed_yards.{most}", [x for j in some for x in chosen[j]], most)


def covers(
    people: PeopleNear, offered: Sequence[int], limit: float
) -> list[tuple[int, list[int]]]:
    """
    Find how many of some yards can be open together (cover inequalities).

    Returns
    -------
    list
        Most that may be open of which yards, for the yards with most heads; each most
        once, with the largest set.
    """
    near = people.near[:, offered]
    among = np.maximum(near.sum(axis=1), 1)
    own = near.T @ (people.heads / among)
    order = np.argsort(-own, kind="stable")
    order = order[own[order] > 0]
    found = {}
    for count in range(1, len(order) + 1):
        least = np.cumsum(own[order[:count]][::-1])
        most = int((least <= limit * (1 + 1e-9)).sum())
        if most < count:
            found[most] = [offered[at] for at in order[:count].tolist()]
    return list(found.items())


def limit_worst_farms(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hold the mean distance of the worst tenth of the farms' demand.

    With distance d[n,j], share w[n] of the demand, a[n,j] in [0, 1] the yard that is
    counted for market n, and a = 0.1 (Rockafellar and Uryasev 2000)::

        sum_j a[n,j] = 1,   a[n,j] <= sum_k z[j,k]
        u[n] >= sum_j d[n,j] * a[n,j] - eta
        eta + sum_n w[n] * u[n] / a <= limit
    """
    limit, farms = inst.policy.worst_farms_km, inst.farms
    if limit is None or farms is None:
        return
    yards = options_of_yard(inst)
    most = float(farms.km[np.isfinite(farms.km)].max(initial=0.0))
    eta = p.variable("worst_farms.eta", most)
    terms: Terms = [(eta, 1.0)]
    for n, share in enumerate(farms.share.tolist()):
        if share <= 0:
            continue
        code = inst.markets.codes[n]
        counted: Terms = []
        far: Terms = []
        for j in sorted(yards):
            if np.isfinite(farms.km[n, j]):
                a = p.variable(f"counted.{code}.{inst.yards.codes[j]}", 1.0)
                counted.append((a, 1.0))
                far.append((a, -float(farms.km[n, j])))
                open_ = [(var.opened[o], -1.0) for o in yards[j]]
                name = f"counted_open.{code}.{inst.yards.codes[j]}"
                p.at_most(name, [(a, 1.0), *open_], 0.0)
        above = p.variable(f"worst_farms.{code}", most)
        p.equal(f"counted_once.{code}", counted, 1.0)
        p.at_least(f"farther.{code}", [(above, 1.0), (eta, 1.0), *far], 0.0)
        terms.append((above, share / WORST))
    scale = max(limit, 1.0)
    what = ("worst tenth of farms", "district", "year", "km")
    slack = var.add_slack(p, "most", *what, scale)
    p.at_most("worst_farms", terms + [(x, -1.0) for x, _ in slack], limit)
