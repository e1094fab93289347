"""Kinds of years: what running them costs or leaves, and the cuts that say so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from logistics.costs import OptionCost
from logistics.model import (
    Floats,
    Instance,
    Integers,
    Key,
    Session,
    YardCut,
    YardCuts,
    yard_options,
)
from logistics.scenario import Scenario


def option_costs(scenario: Scenario) -> dict[Key, OptionCost]:
    """Give what a yard costs in each size it may have in a year."""
    codes = scenario.yards["yard"].tolist()
    return {(codes[j], size["size"]): cost for j, size, cost in yard_options(scenario)}


def running_cost(cost: OptionCost) -> float:
    """Rent and fixed cost, without capital. [money/yr]"""
    return cost.land_rent + cost.fixed


def keys_in(inst: Instance) -> list[Key]:
    """List yard and size of each option."""
    codes = [inst.yards.codes[j] for j in inst.options.yard.tolist()]
    return list(zip(codes, inst.options.size, strict=True))


def to_be_run(inst: Instance, scenario: Scenario, limit: float) -> Instance:
    """
    Give the problem of running a year: what stands is decided before.

    Parameters
    ----------
    inst, scenario
        Of the year.
    limit
        Most that it may cost in net without capital; infinite for no limit. [money/yr]
    """
    costs = option_costs(scenario)
    annual = np.array([running_cost(costs[key]) for key in keys_in(inst)], dtype=float)
    free = tuple("free" if said == "open" else said for said in inst.yards.decision)
    policy = replace(
        inst.policy,
        max_yards=None,
        capital_limit=None,
        budget_limit=limit if np.isfinite(limit) else None,
    )
    return replace(
        inst,
        options=replace(inst.options, annual=annual),
        yards=replace(inst.yards, decision=free),
        policy=policy,
    )


@dataclass(frozen=True, eq=False)
class YearKind:
    """
    Years that are alike: what runs them is the same programme.

    Attributes
    ----------
    years
        Places of the years.
    options
        Place of each option among the yards and sizes of all years, length o.
    count
        How many of these there are.
    cuts
        Of the programme.
    """

    years: tuple[int, ...]
    options: Integers
    count: int
    cuts: YardCuts

    def at(self, works: Floats) -> YardCut | None:
        """Run what works (length k); its cut has a slope for each yard and size."""
        found = self.cuts.at(works[self.options])
        return None if found is None else self._wide(found)

    def by_duals(self, known: Mapping[str, float]) -> YardCut:
        """Make a cut of duals by name."""
        return self._wide(self.cuts.by_duals(known))

    def _wide(self, cut: YardCut) -> YardCut:
        slope = np.zeros(self.count)
        slope[self.options] = cut.slope
        return replace(cut, slope=slope)


def kind_of(
    inst: Instance,
    keys: Sequence[Key],
    years: Sequence[int],
    session: Session,
    *,
    only_short: bool = False,
) -> YearKind:
    """
    Make a kind of year of the problem of running one of them.

    With `only_short` its cuts count by how much demands are missed, and no cost.
    """
    place = {key: n for n, key in enumerate(keys)}
    at = np.array([place[key] for key in keys_in(inst)], dtype=np.int64)
    cuts = YardCuts(inst, session, only_short=only_short)
    return YearKind(tuple(years), at, len(keys), cuts)
