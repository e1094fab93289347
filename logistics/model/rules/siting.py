"""Rows that decide which yards there are, and the demands of the board."""

import numpy as np

from logistics.model.problem import Floats, Instance
from logistics.model.rules.capacity import yearly_intake, yearly_product
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import (
    Terms,
    Variables,
    option_names,
    options_of_yard,
)


def one_size_per_yard(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Build a yard in one size or not at all: sum_k z[j,k] <= 1.

    A yard decided "open" makes it an equation; "closed" makes it zero.
    """
    for j, options in options_of_yard(inst).items():
        terms: Terms = [(var.opened[o], 1.0) for o in options]
        name = f"one_size.{inst.yards.codes[j]}"
        decision = inst.yards.decision[j]
        if decision == "open":
            p.equal(name, terms, 1.0)
        else:
            p.at_most(name, terms, 0.0 if decision == "closed" else 1.0)


def link_intake(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Haul only to yards that are open.

    For every source i and option o, with Q the year's supply, cap the most that
    the option's pad can take of the feedstock in a year, and lost what a full
    store can lose::

        sum_a,t x[a,o,t] <= min(Q[i], cap[o,m] + lost[o,m]) * z[o]
    """
    names, most = option_names(inst), most_hauled(inst)
    for (i, o), terms in var.sums_of("source_to_option").items():
        name = f"link_in.{inst.supply.codes[i]}.{names[o]}"
        p.at_most(name, [*terms, (var.opened[o], -float(most[i, o]))])


def link_dispatch(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Deliver only from yards that are open.

    For every market n and option o, with D the year's demand and cap the most
    compost that the option's pad can make in a year::

        sum_a,t f[a,o,t] <= min(D[n], cap[o]) * z[o]
    """
    names, most = option_names(inst), most_delivered(inst)
    for (n, o), terms in var.sums_of("option_to_market").items():
        name = f"link_out.{inst.markets.codes[n]}.{names[o]}"
        p.at_most(name, [*terms, (var.opened[o], -float(most[n, o]))])


def most_hauled(inst: Instance) -> Floats:
    """Most that each source can send to each option in a year, shape (i, o). [t]"""
    feed, options = inst.feed, inst.options
    lost = (1 - feed.keep).sum(axis=1) * feed.loose_t_m3
    taken = np.outer(np.minimum(yearly_intake(inst), 1e15), options.pad_m3)
    taken += np.outer(lost, options.store_m3)
    year = inst.supply.tonnes.sum(axis=1)
    return np.asarray(np.minimum(taken[inst.supply.feedstock], year[:, None]))


def most_delivered(inst: Instance) -> Floats:
    """Most that each market can get of each option in a year, shape (n, o). [t]"""
    made = min(yearly_product(inst), 1e15) * inst.options.pad_m3
    found = np.minimum(made[None, :], inst.markets.demand.sum(axis=1)[:, None])
    if inst.contents is not None:
        poorest = inst.contents.held[:, inst.options.yard].min(axis=2)
        found = np.minimum(found, inst.contents.most_t(poorest))
    return np.asarray(found)


def keep_least_shares(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Collect the share of supply that the board asks for.

    For every rule with sources I: sum over I of x >= share * sum over I of q.
    """
    for rule in inst.policy.least_shares:
        target = rule.share * float(inst.supply.tonnes[list(rule.sources)].sum())
        terms = [
            term
            for i in rule.sources
            for t in range(len(inst.periods))
            for term in var.sum_of("source", i, t)
        ]
        what = f"collect {rule.share * 100:.4g}% of {rule.name}"
        slack = var.add_slack(p, "least", what, "district", "year", "t", target)
        p.at_least(f"least_share.{rule.code}", [*terms, *slack], target)


def limit_share_of_intake(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Take in at most so much of one material.

    For every option o and period t, with M its feedstocks::

        sum over M of y[o,m,t] <= share * sum_m y[o,m,t]
    """
    rule = inst.policy.most_share
    if rule is None:
        return
    rows: dict[tuple[int, int], Terms] = {}
    for (o, m, t), arrived in var.arrived.items():
        part = (1.0 if m in rule.feedstocks else 0.0) - rule.share
        rows.setdefault((o, t), []).append((arrived, part))
    names, year = option_names(inst), float(inst.supply.tonnes.sum())
    for (o, t), terms in rows.items():
        yard, period = inst.yards.codes[inst.options.yard[o]], inst.periods[t]
        what = f"at most {rule.share * 100:.4g}% {rule.name} in a yard's intake"
        slack = var.add_slack(p, "most", what, yard, period, "t", year)
        name = f"most_share.{names[o]}.{period}"
        p.at_most(name, terms + [(x, -1.0) for x, _ in slack])


def limit_yards(p: Programme, var: Variables, inst: Instance) -> None:
    """Open at most so many yards: sum z[o] <= limit."""
    limit = inst.policy.max_yards
    if limit is not None:
        slack = var.add_slack(
            p, "most", "most yards open", "district", "year", "yards", max(limit, 1)
        )
        terms: Terms = [(z, 1.0) for z in var.opened.values()]
        p.at_most("most_yards", terms + [(x, -1.0) for x, _ in slack], limit)


def keep_apart(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Build at other sites than plans before did.

    For each set of sites S, with z[j] the sum of z[o] over the options of site j::

        sum over S of (1 - z[j]) + sum over all others of z[j] >= least
    """
    for number, cut in enumerate(inst.policy.apart, start=1):
        terms: Terms = [
            (z, -1.0 if inst.options.yard[o] in cut.yards else 1.0)
            for o, z in var.opened.items()
        ]
        what, right = "sites of another plan", cut.least - len(cut.yards)
        slack = var.add_slack(
            p, "least", what, "district", "year", "yards", max(cut.least, 1)
        )
        p.at_least(f"apart.{number}", [*terms, *slack], right)


def serve_whole(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Collect a source whole, or give a market all it asks, but for `short`.

    For a source i in the year, in some periods T, and for a market n, with y >= 0
    where being short is paid for, and 0 where it is not allowed::

        sum_t u[i,t] <= short + y
        sum over T of sum_a x[a,o,t] >= sum over T of q[i,t] - short - y
        sum over T of sum_a f[a,o,t] >= sum over T of demand[n,t] - short - y
    """
    for number, rule in enumerate(inst.policy.whole):
        i, periods = rule.site, list(rule.periods)
        if rule.kind == "source":
            asked = float(inst.supply.tonnes[i, periods].sum())
            code, what = inst.supply.codes[i], "collection of all"
            terms = [x for t in periods for x in var.sum_of("source", i, t)]
        else:
            asked = float(inst.markets.demand[i, periods].sum())
            code, what = inst.markets.codes[i], "delivery of all that is asked"
            terms = [x for t in periods for x in var.sum_of("market", i, t)]
        least = asked - rule.short
        if rule.kind == "source" and len(periods) == len(inst.periods):
            least = -rule.short
            terms = [(var.left[i, t], -1.0) for t in periods if (i, t) in var.left]
        if rule.per_t is not None:
            var.wanting[number] = p.variable(f"wanting.{number}", asked)
            terms.append((var.wanting[number], 1.0))
        else:
            when = inst.periods[periods[0]] if len(periods) == 1 else "year"
            terms += var.add_slack(p, "least", what, code, when, "t", asked)
        p.at_least(f"whole.{number}", terms, least)


def limit_capital(p: Programme, var: Variables, inst: Instance) -> None:
    """Spend at most so much capital: sum K[o] * z[o] <= limit."""
    limit = inst.policy.capital_limit
    if limit is not None:
        scale = limit or max(1.0, float(inst.options.capital.max(initial=0.0)))
        slack = var.add_slack(
            p, "most", "capital limit", "district", "year", "money", scale
        )
        terms: Terms = [
            (z, float(inst.options.capital[o])) for o, z in var.opened.items()
        ]
        p.at_most("capital", terms + [(x, -1.0) for x, _ in slack], limit)
