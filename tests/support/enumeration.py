"""
An independent answer: every choice of yards and homes, each a linear programme.

Written from the inequalities of the plan with scipy alone. It shares no code with
the programme: flows belong to yards (not to yards and sizes), rows are numpy arrays
and the choice of yards is by brute force.
"""

import itertools

import numpy as np
from scipy.optimize import linprog

from logistics.model.problem.instance import Instance
from logistics.model.problem.own_hours import FREE, FULL, PART, STEP


class Rows:
    """Collects rows of a linear programme over named blocks of variables."""

    def __init__(self, **shapes):
        self.at, self.shape, count = {}, shapes, 0
        for name, shape in shapes.items():
            self.at[name], count = count, count + int(np.prod(shape))
        self.count = count
        self.less, self.less_right, self.same, self.same_right = [], [], [], []

    def place(self, name, *index):
        place = 0
        for size, at in zip(self.shape[name], index, strict=True):
            assert 0 <= at < size
            place = place * size + int(at)
        return self.at[name] + place

    def add(self, terms, right, *, equal=False):
        row = np.zeros(self.count)
        for place, value in terms:
            row[place] += value
        (self.same if equal else self.less).append(row)
        (self.same_right if equal else self.less_right).append(right)


def cheapest(inst: Instance) -> float:
    """
    Least net cost over every choice of yards and sizes; infinite if none works.

    Where own trucks have homes, over every way to base them at the yards built as well.
    """
    yards = len(inst.yards.codes)
    choices = [
        [-1, *np.flatnonzero(inst.options.yard == j).tolist()] for j in range(yards)
    ]
    return min(
        cost_of(inst, sizes, homes)
        for sizes in itertools.product(*choices)
        for homes in every_home(inst, sizes)
    )


def every_home(inst: Instance, sizes: tuple[int, ...]) -> list[tuple | None]:
    """Own trucks of each type by yard, all of them at yards built; None if pooled."""
    if inst.trucks.own is None:
        return [None]
    built = [j for j, o in enumerate(sizes) if o >= 0]
    each = []
    for own in inst.trucks.own.tolist():
        ways = itertools.combinations_with_replacement(built, own) if built else [()]
        each.append([tuple(way.count(j) for j in range(len(sizes))) for way in ways])
    return list(itertools.product(*each))


def cost_of(
    inst: Instance, sizes: tuple[int, ...], homes: tuple | None = None
) -> float:
    """Least net cost with the options and homes given (-1: yard not built)."""
    co = inst.contents
    op, su, fe, ma, tr = inst.options, inst.supply, inst.feed, inst.markets, inst.trucks
    S, T = su.tonnes.shape
    J, M, N, V = len(sizes), len(fe.codes), len(ma.codes), len(tr.codes)
    L, F = len(inst.inbound), len(inst.outbound)
    r = Rows(
        x=(L, T), f=(F, T), u=(S, T), h=(S, T), s=(J, M, T), b=(J, M, T),
        w=(J, T), c=(J, T), g=(J, T), H=(V, J, T), y=(len(inst.policy.whole),),
    )  # fmt: skip
    high = np.full(r.count, np.inf)
    cost = np.zeros(r.count)
    fixed = tr.fixed_annual
    built = [j for j in range(J) if sizes[j] >= 0]
    fixed += sum(op.annual[sizes[j]] for j in built)

    def room(values, j):
        return float(values[sizes[j]]) if sizes[j] >= 0 else 0.0

    for a in range(L):
        i, j = int(inst.inbound.site[a]), int(inst.inbound.yard[a])
        for t in range(T):
            at = r.place("x", a, t)
            cost[at] = inst.inbound.money[a, t] + su.money_per_t[i]
            if not inst.inbound.usable[a, t] or sizes[j] < 0:
                high[at] = 0
    for a in range(F):
        n, j = int(inst.outbound.site[a]), int(inst.outbound.yard[a])
        for t in range(T):
            at = r.place("f", a, t)
            cost[at] = inst.outbound.money[a, t] - ma.price_per_t[n]
            if not inst.outbound.usable[a, t] or sizes[j] < 0:
                high[at] = 0
    for i in range(S):
        m = int(su.feedstock[i])
        for t in range(T):
            cost[r.place("u", i, t)] = su.left_money_per_t[i]
            if su.must_collect[i]:
                high[r.place("u", i, t)] = 0
            K = int(fe.store_periods[m, t])
            limit = su.hold_t[i] if K > 0 else 0.0
            if K < T:
                limit = min(limit, sum(su.tonnes[i, (t - k) % T] for k in range(K)))
            high[r.place("h", i, t)] = limit
            terms = [
                (r.place("x", a, t), 1.0) for a in range(L) if inst.inbound.site[a] == i
            ]
            terms += [(r.place("u", i, t), 1.0), (r.place("h", i, t), 1.0)]
            terms += [(r.place("h", i, (t - 1) % T), -fe.keep[m, t])]
            r.add(terms, su.tonnes[i, t], equal=True)
        lost = [(r.place("h", i, (t - 1) % T), 1 - fe.keep[m, t]) for t in range(T)]
        mine = [a for a in range(L) if inst.inbound.site[a] == i]
        taken = [(r.place("x", a, t), -1.0) for a in mine for t in range(T)]
        r.add(lost + taken, 0.0)
    for j in range(J):
        for k in range(inst.occupancy.shape[1]):
            lying = [
                (r.place("b", j, m, q), inst.occupancy[q, k] * fe.pad_m3_per_t[m])
                for m in range(M)
                for q in range(T)
            ]
            r.add(lying, room(op.pad_m3, j))
        for m in range(M):
            lost = [
                (r.place("s", j, m, (t - 1) % T), 1 - fe.keep[m, t]) for t in range(T)
            ]
            used = [(r.place("b", j, m, t), -1.0) for t in range(T)]
            r.add(lost + used, 0.0)
        price = inst.yards.water_per_t[j]
        for t in range(T):
            into = {
                m: [
                    a
                    for a in range(L)
                    if inst.inbound.yard[a] == j
                    and su.feedstock[inst.inbound.site[a]] == m
                ]
                for m in range(M)
            }
            for m in range(M):
                if fe.store_periods[m, t] == 0:
                    high[r.place("s", j, m, t)] = 0
                cost[r.place("b", j, m, t)] = (
                    room(op.handling_per_t, j) + inst.turning_water * price
                )
                terms = [(r.place("x", a, t), 1.0) for a in into[m]]
                terms += [
                    (r.place("s", j, m, (t - 1) % T), fe.keep[m, t]),
                    (r.place("s", j, m, t), -1.0),
                    (r.place("b", j, m, t), -1.0),
                ]
                r.add(terms, 0.0, equal=True)
                K = int(fe.store_periods[m, t])
                if 0 < K < T:
                    recent = [(t - k) % T for k in range(K)]
                    terms = [(r.place("s", j, m, t), 1.0)]
                    terms += [
                        (r.place("x", a, q), -1.0) for a in into[m] for q in recent
                    ]
                    r.add(terms, 0.0)
            mass = [(r.place("b", j, m, t), m) for m in range(M)]
            water = r.place("w", j, t)
            cost[water] = price
            d, C, Nn = 1 - fe.moisture, fe.carbon, fe.nitrogen
            lo, hi = inst.mix.cn
            r.add([(p, d[m] * (C[m] - hi * Nn[m])) for p, m in mass], 0.0)
            r.add([(p, d[m] * (lo * Nn[m] - C[m])) for p, m in mass], 0.0)
            lo, hi = inst.mix.moisture
            r.add([*((p, fe.moisture[m] - hi) for p, m in mass), (water, 1 - hi)], 0.0)
            r.add([*((p, lo - fe.moisture[m]) for p, m in mass), (water, lo - 1)], 0.0)
            r.add(
                [(water, 1.0), *((p, inst.turning_water) for p, _ in mass)],
                inst.yards.water_t[j, t] if sizes[j] >= 0 else 0.0,
            )
            r.add(
                [(r.place("s", j, m, t), 1 / fe.loose_t_m3[m]) for m in range(M)],
                room(op.store_m3, j),
            )
            high[r.place("c", j, t)] = room(op.compost_store_m3, j) * inst.product_t_m3
            cost[r.place("g", j, t)] = inst.leftover_per_t
            terms = [
                (r.place("f", a, t), -1.0)
                for a in range(F)
                if inst.outbound.yard[a] == j
            ]
            terms += [(r.place("g", j, t), -1.0), (r.place("c", j, t), -1.0)]
            terms += [(r.place("c", j, (t - 1) % T), 1.0)]
            terms += [
                (r.place("b", j, m, q), inst.ripening[q, t] * fe.product_per_t[m])
                for m in range(M)
                for q in range(T)
            ]
            r.add(terms, 0.0, equal=True)
    for k in range(len(co.keys)):
        for j in range(J):
            for t in range(T):
                now, ago = co.held[k, j, t], co.held[k, j, (t - 1) % T]
                terms = [
                    (
                        r.place("b", j, m, q),
                        inst.ripening[q, t]
                        * (co.kept[k, m] - now * fe.product_per_t[m]),
                    )
                    for m in range(M)
                    for q in range(T)
                ]
                r.add([*terms, (r.place("c", j, (t - 1) % T), ago - now)], 0.0)
    for n in range(N):
        mine = [a for a in range(F) if inst.outbound.site[a] == n]
        for t in range(T):
            r.add([(r.place("f", a, t), 1.0) for a in mine], ma.demand[n, t])
        for k in range(len(co.keys)):
            if np.isfinite(co.limit_t[k, n]):
                every = [
                    (r.place("f", a, t), co.held[k, inst.outbound.yard[a], t])
                    for a in mine
                    for t in range(T)
                ]
                r.add(every, co.limit_t[k, n])
    for v, t in itertools.product(range(V), range(T)):
        groups = [range(J)] if homes is None else [[j] for j in range(J)]
        own = tr.owned_hours[v, t]
        one = 0.0 if homes is None else own / max(1, int(tr.own[v]))
        hired = [r.place("H", v, j, t) for j in range(J)]
        cost[hired] = tr.hire_per_hour[v]
        if np.isfinite(tr.hire_hours[v, t]):
            r.add([(at, 1.0) for at in hired], tr.hire_hours[v, t])
        for group in groups:
            terms = [(hired[j], -1.0) for j in group]
            for name, lanes in (("x", inst.inbound), ("f", inst.outbound)):
                terms += [
                    (r.place(name, a, t), lanes.hours[a, t])
                    for a in range(len(lanes))
                    if lanes.truck[a] == v and lanes.yard[a] in group
                ]
            if homes is None:
                r.add(terms, own)
                continue
            there = one * homes[v][group[0]]
            r.add(terms, FULL * there)
            if tr.hire_hours[v, t] >= PART * STEP * own:
                part = [(at, PART * x) for at, x in terms[1:]]
                r.add([terms[0], *part], PART * FREE * there)
    for rule in inst.policy.least_shares:
        mine = [a for a in range(L) if inst.inbound.site[a] in rule.sources]
        target = rule.share * su.tonnes[list(rule.sources)].sum()
        r.add([(r.place("x", a, t), -1.0) for a in mine for t in range(T)], -target)
    for number, rule in enumerate(inst.policy.whole):
        wanting = []
        if rule.per_t is not None:
            at = r.place("y", number)
            cost[at], wanting = rule.per_t, [(at, -1.0)]
        if rule.kind == "source" and len(rule.periods) == T:
            left = [(r.place("u", rule.site, t), 1.0) for t in rule.periods]
            r.add([*left, *wanting], rule.short)
            continue
        if rule.kind == "source":
            mine = [a for a in range(L) if inst.inbound.site[a] == rule.site]
            taken = [(r.place("x", a, t), -1.0) for a in mine for t in rule.periods]
            arises = float(su.tonnes[rule.site, list(rule.periods)].sum())
            r.add([*taken, *wanting], rule.short - arises)
            continue
        for_all = float(ma.demand[rule.site, list(rule.periods)].sum())
        mine = [a for a in range(F) if inst.outbound.site[a] == rule.site]
        sent = [(r.place("f", a, t), -1.0) for a in mine for t in rule.periods]
        r.add([*sent, *wanting], rule.short - for_all)
    if inst.policy.max_yards is not None and len(built) > inst.policy.max_yards:
        return np.inf
    if any(len(cut.yards ^ set(built)) < cut.least for cut in inst.policy.apart):
        return np.inf
    capital = sum(op.capital[sizes[j]] for j in built)
    if inst.policy.capital_limit is not None and capital > inst.policy.capital_limit:
        return np.inf
    exposed = far = 0.0
    if inst.policy.most_exposed is not None:
        for heads, near in zip(
            inst.neighbours.heads, inst.neighbours.near, strict=True
        ):
            exposed += heads * any(near[j] for j in built)
        if exposed > inst.policy.most_exposed:
            return np.inf
    if inst.policy.worst_farms_km is not None:
        nearest = [
            min((row[j] for j in built), default=np.inf) for row in inst.farms.km
        ]
        left = 0.1
        for km, share in sorted(zip(nearest, inst.farms.share, strict=True))[::-1]:
            far += km * min(share, left) / 0.1
            left -= min(share, left)
            if left <= 0:
                break
        if far > inst.policy.worst_farms_km + 1e-9:
            return np.inf
    if any(d == "open" and sizes[j] < 0 for j, d in enumerate(inst.yards.decision)):
        return np.inf
    answer = linprog(
        cost, np.array(r.less), r.less_right, np.array(r.same), r.same_right,
        bounds=np.column_stack([np.zeros(r.count), high]), method="highs",
    )  # fmt: skip
    return float(answer.fun) + fixed if answer.status == 0 else np.inf
