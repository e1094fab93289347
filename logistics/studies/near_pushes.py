"""What a board may want beside a low cost, and which plan nearly as good has it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
import pandas as pd

from logistics.accounts import exposure_table, work_table
from logistics.model import Progress, prepare
from logistics.results import Result, effort_of, finished, run
from logistics.scenario import Scenario
from logistics.studies.near_best import OtherPlans, other_plans
from logistics.studies.near_marks import with_proof
from logistics.studies.near_search import as_planned

Watch = Callable[[Progress], None]

ALIKE = 1e-6
"""Share by which a plan has to be better to be preferred to a cheaper one. [1]"""


@dataclass(frozen=True)
class Push:
    """
    A thing that a board may want more of, or less.

    Attributes
    ----------
    code
        "yards", "capital" and so on.
    more
        Whether more of it is better.
    measure
        How much of it a plan has; None where the district's tables do not tell.
    """

    code: str
    more: bool
    measure: Callable[[Result], float | None]


@dataclass(frozen=True, eq=False)
class Pushed:
    """
    One such thing, measured in all plans.

    Attributes
    ----------
    push
        What is wanted.
    values
        How much of it each plan has, in their order.
    best
        Place of the plan that has the most of it, or the least; the cheapest of them.
    """

    push: Push
    values: tuple[float, ...]
    best: int


def work_hours(result: Result) -> float:
    """Count hours of work a year, on the yards by hand and on the road. [h/yr]"""
    table = work_table(result)
    return float(table["hand_h"].sum() + table["truck_h"].sum())


def people_near(result: Result) -> float | None:
    """
    Count the people within `people.far_m` of an open yard. [heads]

    None where nothing is known of people.
    """
    table = exposure_table(result)
    return float(table["far"].iloc[0]) if len(table) else None


def unevenness(result: Result) -> float | None:
    """
    Tell how unevenly the yards' intake lies over the districts.

    Half the sum over districts of the difference between a district's share of the
    intake and its share of the feedstock that arises: the share that would have to be
    taken in elsewhere (Hoover 1936, Review of Economic Statistics 18, from memory).
    [0 to 1] None with less than two districts.
    """
    scenario, instance = result.scenario, result.instance
    if "district" not in scenario.sources or "district" not in scenario.yards:
        return None
    of_source = scenario.sources.set_index("source")["district"]
    of_yard = scenario.yards.set_index("yard")["district"]
    arises = pd.Series(
        instance.supply.tonnes.sum(axis=1),
        index=of_source.reindex(list(instance.supply.codes)).to_numpy(),
    )
    hauls = result.plan.hauls
    taken = pd.Series(
        hauls["tonnes"].to_numpy(dtype=float),
        index=of_yard.reindex(hauls["yard"]).to_numpy(),
    )
    if arises.sum() <= 0 or taken.sum() <= 0 or arises.index.nunique() < 2:
        return None
    shares = pd.DataFrame(
        {name: all_.groupby(level=0).sum() / all_.sum()
        for name, all_ in (("arises", arises), ("taken", taken))}
    ).fillna(0.0)  # fmt: skip
    return float((shares["arises"] - shares["taken"]).abs().sum() / 2)


def _of_summary(key: str) -> Callable[[Result], float | None]:
    return lambda result: float(result.summary[key])


PUSHES: tuple[Push, ...] = (
    Push("yards", False, _of_summary("yards_open")),
    Push("capital", False, _of_summary("capital")),
    Push("haulage", False, _of_summary("haul_cost")),
    Push("work", True, work_hours),
    Push("uneven", False, unevenness),
    Push("people", False, people_near),
)
"""A further one is a line here, and its words in `WANTED`."""


def pushed(results: Sequence[Result]) -> list[Pushed]:
    """
    Measure all plans, cheapest first, and find which has most of what a board may want.

    Returns
    -------
    list of Pushed
        Without what cannot be told, or is the same in all plans.
    """
    found = []
    for push in PUSHES:
        values = [push.measure(result) for result in results]
        known = [value for value in values if value is not None]
        if len(known) < len(values):
            continue
        signed = -np.array(known) if push.more else np.array(known)
        least = float(signed.min())
        alike = ALIKE * max(1.0, abs(least))
        if signed.max() - least <= alike:
            continue
        best = int(np.argmax(signed <= least + alike))
        found.append(Pushed(push, tuple(known), best))
    return found


@dataclass(frozen=True, eq=False)
class Nearby:
    """
    Plans nearly as good, each worked out.

    Attributes
    ----------
    found
        The plans, and what is proven.
    results
        Of each plan, in their order.
    pushed
        What a board may want, see `pushed`.
    """

    found: OtherPlans
    results: tuple[Result, ...]
    pushed: tuple[Pushed, ...]

    @property
    def shown(self) -> list[int]:
        """Places of the plans to set side by side, by cost."""
        return sorted({*self.found.shown, *(one.best for one in self.pushed)})


def plans_nearby(
    scenario: Scenario,
    *,
    share: float = 0.03,
    least: int = 1,
    most: int = 9,
    prove: bool = False,
    watch: Watch | None = None,
    begin: Callable[[int], None] = lambda number: None,
) -> Nearby | None:
    """
    Plan a district, find plans nearly as good, and work each of them out.

    Parameters
    ----------
    scenario
        Its settings say how well and how long each search is to go on.
    share, least, most
        As for `other_plans`.
    prove
        Whether to try to prove of sites that all plans or none have a yard there.
    watch, begin
        Told the progress of a search; the number of a search, counted from 0.

    Returns
    -------
    Nearby or None
        None where no plan meets the demands.
    """
    effort, searches = effort_of(scenario), count()
    begin(next(searches))
    base = run(scenario, watch)
    if base.plan.status == "shortage":
        return None
    made = prepare(base.scenario, base.travel)
    found = other_plans(
        made.instance,
        base.plan,
        share=share,
        least=least,
        most=most,
        effort=effort,
        watch=watch,
        begin=lambda: begin(next(searches)),
    )
    if prove:
        found = with_proof(found, effort, watch, lambda: begin(next(searches)))
    results = tuple(
        finished(replace(made, instance=as_planned(made.instance, one.plan)), one.plan)
        for one in found.plans
    )
    return Nearby(found, results, tuple(pushed(results)))
