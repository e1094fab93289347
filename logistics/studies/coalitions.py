"""
What groups of districts would pay on their own: each group a plan of its sources.

A group's cost is the least net annual cost of what arises in its districts alone, with
yards and markets of its own districts (`sites` "own") or with all of them ("all"), and
with its part of the trucks: hours owned and hours that can be hired are split by the
tonnes that arise. With "own" two groups can go on as before when they join, so joining
never costs more; with "all" each may take what both want, and it can. What the owned
trucks cost whoever takes part is left out of the game and split by tonnes arising.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from logistics.accounts import (
    EXACT_PARTIES,
    Group,
    groups,
    proportional,
    sampled_shapley,
    shapley,
    shapley_range,
)
from logistics.model import Effort, is_small, solve

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.results import Result
    from logistics.scenario import Scenario

Sites = Literal["all", "own"]
NOWHERE = "no district"
"""Name of the party of sources without a district."""

OWNED = "owned trucks"
"""Line of the ledger that is paid whoever takes part."""

TINY_T, TINY_SHARE = 1e-9, 1e-12
"""A group without tonnes has next to no trucks, and endless hire stays a number."""

Watch = Callable[[int, "Coalition"], None]


@dataclass(frozen=True)
class Coalition:
    """
    A group solved on its own.

    Attributes
    ----------
    group
        Districts.
    cost, bound
        Least cost found and proven bound, without what is paid anyway. [money/yr]
    seconds
        Solving time. [s]
    status
        Of its plan, see `Plan.status`.
    """

    group: Group
    cost: float
    bound: float
    seconds: float
    status: str


@dataclass(frozen=True, eq=False)
class Sharing:
    """
    The joint cost and who pays it under each rule.

    Attributes
    ----------
    parties
        Districts in the order of the sources.
    coalitions
        Every group solved, by group.
    table
        One row a district: district, arises, tonnes (collected) [t], tonne_km
        [t*km], alone (its cost on its own), by_tonnes, by_tonne_km, shapley, low,
        high (between which the exact Shapley share lies, given the gaps; or two
        standard errors either way), standing (its share of what is paid anyway, by
        tonnes arising). [money/yr]
    total, standing
        Cost of all together without what is paid anyway, and that. [money/yr]
    orders
        Orders of joining drawn; 0 where all groups were solved.
    """

    parties: tuple[str, ...]
    coalitions: dict[Group, Coalition]
    table: pd.DataFrame
    total: float
    standing: float
    orders: int = 0

    def renamed(self, name: Mapping[str, str]) -> Sharing:
        """Return the same with districts named; one without a name stays as it is."""

        def of(group: Group) -> Group:
            return frozenset(name.get(party, party) for party in group)

        return replace(
            self,
            parties=tuple(name.get(party, party) for party in self.parties),
            coalitions={
                of(group): replace(one, group=of(one.group))
                for group, one in self.coalitions.items()
            },
            table=self.table.assign(
                district=[name.get(code, code) for code in self.table["district"]]
            ),
        )

    @property
    def game(self) -> dict[Group, float]:
        """Cost of every group solved. [money/yr]"""
        return {group: one.cost for group, one in self.coalitions.items()}


def party_of(districts: Sequence[str]) -> list[str]:
    """Name the party of each source; sources without a district are one party."""
    return [str(code) or NOWHERE for code in districts]


def restricted(
    instance: Instance, scenario: Scenario, group: Group, sites: Sites = "own"
) -> Instance:
    """
    Leave a group its own sources and trucks (and with "own", yards and markets).

    Parameters
    ----------
    instance, scenario
        The whole problem, and the tables it comes from.
    group
        Districts that take part.
    sites
        "own" or "all".
    """
    own = np.isin(party_of(instance.supply.districts), list(group))
    inbound = instance.inbound.take(own[instance.inbound.site])
    outbound = instance.outbound
    if sites == "own":
        yards = np.isin(party_of(list(scenario.yards["district"])), list(group))
        markets = np.isin(party_of(list(scenario.markets["district"])), list(group))
        inbound = inbound.take(yards[inbound.yard])
        outbound = outbound.take(yards[outbound.yard] & markets[outbound.site])
    supply = replace(
        instance.supply, tonnes=np.where(own[:, None], instance.supply.tonnes, 0.0)
    )
    share = float(supply.tonnes.sum() / max(instance.supply.tonnes.sum(), TINY_T))
    trucks = replace(
        instance.trucks,
        owned_hours=instance.trucks.owned_hours * share,
        hire_hours=instance.trucks.hire_hours * max(share, TINY_SHARE),
    )
    return replace(
        instance,
        supply=supply,
        inbound=inbound,
        outbound=outbound,
        trucks=trucks,
        goal="cost",
    )


def coalition(
    result: Result, group: Group, effort: Effort, sites: Sites = "own"
) -> Coalition:
    """
    Solve one group on its own; its cost is without what is paid anyway.

    In a large district the yards of all together are where the search starts.
    """
    instance, joint = result.instance, result.plan
    alone = restricted(instance, result.scenario, group, sites)
    start = None if is_small(alone) else alone.options_of(joint.yard_sizes)
    plan = solve(alone, effort, None, start, joint.warm_start)
    if start is not None and plan.status == "optimal" and plan.gap > 1.01 * effort.gap:
        plan = solve(alone, effort)
    anyway = instance.trucks.fixed_annual
    return Coalition(
        group, plan.objective - anyway, plan.floor - anyway, plan.seconds, plan.status
    )


def share_cost(
    result: Result,
    effort: Effort,
    sites: Sites = "own",
    orders: int = 200,
    watch: Watch | None = None,
) -> Sharing:
    """
    Split the net cost of a plan between the districts of its sources.

    Parameters
    ----------
    result
        The plan of all together, for least cost.
    effort
        Gap and time for each group.
    sites
        Whose yards and markets a group may use.
    orders
        Orders of joining drawn where there are more than `EXACT_PARTIES` districts.
    watch
        Called with the number of groups done and the last one.

    Notes
    -----
    Yards and markets of districts without sources are open to all together, and with
    "own" to no smaller group.
    """
    instance, scenario = result.instance, result.scenario
    parties = tuple(dict.fromkeys(party_of(instance.supply.districts)))
    whole = frozenset(parties)
    anyway = instance.trucks.fixed_annual
    plan = result.plan
    done = {
        whole: Coalition(
            whole,
            plan.objective - anyway,
            plan.floor - anyway,
            plan.seconds,
            plan.status,
        )
    }

    def cost(group: Group) -> float:
        if group not in done:
            done[group] = coalition(result, group, effort, sites)
            if watch is not None:
                watch(len(done), done[group])
        return done[group].cost

    table = _work(result, parties)
    total = done[whole].cost
    table["alone"] = [cost(frozenset([party])) for party in parties]
    for name, weight in (("by_tonnes", "tonnes"), ("by_tonne_km", "tonne_km")):
        table[name] = _split(total, table, weight)
    drawn = 0
    if len(parties) <= EXACT_PARTIES:
        game = {group: cost(group) for group in groups(parties)}
        floor = {group: done[group].bound for group in game}
        share, limits = shapley(game, parties), shapley_range(game, floor, parties)
    else:
        found = sampled_shapley(cost, parties, orders, scenario.settings.solve.seed)
        share, drawn = found.share, found.orders
        limits = {
            party: (x - 2 * found.error[party], x + 2 * found.error[party])
            for party, x in share.items()
        }
    table["shapley"] = [share[party] for party in parties]
    table["low"] = [limits[party][0] for party in parties]
    table["high"] = [limits[party][1] for party in parties]
    table["standing"] = _split(anyway, table, "arises")
    return Sharing(parties, done, table, total, anyway, drawn)


def by_work(result: Result) -> pd.DataFrame:
    """
    Split the net cost of any plan by tonnes and by tonne-kilometres, solving nothing.

    Returns
    -------
    DataFrame
        One row a district, as in `Sharing.table`: district, arises, tonnes [t],
        tonne_km [t*km], by_tonnes, by_tonne_km (of what is not paid anyway), standing
        (what owned trucks cost anyway, by tonnes arising). [money/yr]
    """
    parties = tuple(dict.fromkeys(party_of(list(result.scenario.sources["district"]))))
    table = _work(result, parties)
    owned = result.ledger["line"] == OWNED
    anyway = float(result.ledger.loc[owned, "amount"].sum())
    total = float(result.ledger["amount"].sum()) - anyway
    for name, weight in (("by_tonnes", "tonnes"), ("by_tonne_km", "tonne_km")):
        table[name] = _split(total, table, weight)
    table["standing"] = _split(anyway, table, "arises")
    return table


def _split(total: float, table: pd.DataFrame, weight: str) -> list[float]:
    """Split a total by a column."""
    weights = dict(zip(table["district"], table[weight], strict=True))
    return list(proportional(total, weights).values())


def _work(result: Result, parties: tuple[str, ...]) -> pd.DataFrame:
    """Give tonnes arising and collected, and tonne-kilometres to the yards."""
    sources = result.scenario.sources
    party = dict(
        zip(sources["source"], party_of(list(sources["district"])), strict=True)
    )
    lanes = result.lanes[result.lanes["kind"] == "in"]
    lanes = lanes.assign(
        district=lanes["origin"].map(party), tonne_km=lanes["tonnes"] * lanes["km"]
    )
    sums = lanes.groupby("district")[["tonnes", "tonne_km"]].sum()
    sums = sums.reindex(list(parties)).fillna(0.0)
    arises = result.supply.groupby(result.supply["source"].map(party))
    sums.insert(0, "arises", arises["tonnes_per_year"].sum().reindex(sums.index))
    return sums.rename_axis("district").reset_index()
