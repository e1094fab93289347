"""
The first year decided for many futures at once, the later years once it is known.

The years of each future are a way of their own (`phasing`), weighed by its chance; what
is bought in the first year, and what works in it, is the same in all. Two figures say
what knowing is worth: what it would save to know the future before the first year
(EVPI; Birge and Louveaux, Introduction to Stochastic Programming, 2nd ed. 2011, chapter
4), and what it saves that the later years may wait (multistage against two-stage; Huang
and Ahmed, The value of multistage stochastic programming in capacity planning under
uncertainty, Operations Research 57(4), 2009, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd

from logistics.changes import ChangeSet, apply_changes
from logistics.model import (
    Effort,
    Floats,
    Progress,
    Session,
    YardCut,
    relative_gap,
)
from logistics.scenario import Scenario, change_setting
from logistics.studies import Chance
from logistics.years.cutting import Choice, choose, value_of
from logistics.years.futures import YearKind
from logistics.years.horizon import YearAhead, years_ahead
from logistics.years.phasing import Watch, first_look, soonest
from logistics.years.side_by_side import joint_stage
from logistics.years.tables import steps_table
from logistics.years.years_ready import YearsReady, kinds_of

WITHIN = 0.5
"""Share of the gap asked for at which each choice ends: two are compared. [1]"""


@dataclass(frozen=True, eq=False)
class YearsForFutures:
    """
    The first year for all futures, and the later years of each.

    All money is present value, own trucks based in parts. [money]

    Attributes
    ----------
    scenario, years
        The district of today; the years.
    chances
        The futures, weights adding up to 1; each holds from the second year on.
    steps
        Of each future: which yard opens, grows or closes when, see `WayAhead.steps`;
        the first year is the same in all.
    cost, alone, alone_bound
        Of each future: with the first year decided for all; decided for it alone, and
        what no way of its own falls below. Length f.
    value, bound
        Expected cost, and what no first year falls below.
    now, now_bound
        The same if all years had to be decided now; infinite where no such way exists.
    """

    scenario: Scenario
    years: tuple[int, ...]
    chances: tuple[Chance, ...]
    steps: tuple[pd.DataFrame, ...]
    cost: Floats
    alone: Floats
    alone_bound: Floats
    value: float
    bound: float
    now: float
    now_bound: float

    @property
    def gap(self) -> float:
        """Proven relative gap. [1]"""
        return relative_gap(self.value, self.bound)

    @property
    def weights(self) -> Floats:
        """Of the futures, length f. [1]"""
        return np.array([chance.weight for chance in self.chances])

    @property
    def evpi(self) -> tuple[float, float]:
        """Least and most that knowing the future is worth, within the gaps. [money]"""
        low = max(0.0, self.bound - float(self.weights @ self.alone))
        return low, max(low, self.value - float(self.weights @ self.alone_bound))

    @property
    def waiting(self) -> tuple[float, float]:
        """Least and most that deciding the later years later saves. [money]"""
        low = max(0.0, self.now_bound - self.value)
        return low, max(low, self.now - self.bound)


@dataclass(frozen=True, eq=False)
class _Future:
    """A future: its years, kinds of years, and the best way of its own."""

    ready: YearsReady
    kinds: list[YearKind]
    alone: Choice


def years_for_futures(
    scenario: Scenario,
    changes: Mapping[str, ChangeSet],
    chances: Sequence[Chance],
    *,
    seconds: float = 900.0,
    watch: Watch | None = None,
) -> YearsForFutures | None:
    """
    Decide the first year for all futures, at least expected net present cost.

    Parameters
    ----------
    scenario, changes
        The district of today, planned at least cost, and the changes that its table of
        years may speak of.
    chances
        Futures with weights of any sum; each holds from the second year on.
    seconds
        Time for the choices: one of each future alone, and two of all together.
    watch
        Told what is done, and its progress.

    Returns
    -------
    YearsForFutures or None
        None if no choice was found in the time.

    Raises
    ------
    CapitalShortError
        If the capital of the years does not even pay for what stands today.
    """
    settings = change_setting(scenario.settings, "goal.minimise", "cost")
    scenario = replace(scenario, settings=settings)
    weights = np.array([chance.weight for chance in chances], dtype=float)
    weights /= weights.sum()
    share = seconds / (len(chances) + 2)
    futures, threads = list[_Future](), int(settings.solve.threads)
    running = Session(Effort(seconds=2 * seconds, threads=threads))
    for chance in chances:
        ahead = _ahead(scenario, changes, chance.change)
        found = _alone(ahead, chance.change.title, running, share, watch)
        if found is None:
            return None
        futures.append(found)
    joint, now = (
        _together(futures, weights, every, share, _telling(title, watch))
        for every, title in ((False, "all futures"), (True, "all decided now"))
    )
    if joint is None:
        return None
    scale = futures[0].ready.stage.scale
    parts = np.split(joint.x, np.cumsum([_width(f) for f in futures])[:-1])
    cost = [
        value_of(f.ready.stage, f.kinds, part, _session(f, share))
        for f, part in zip(futures, parts, strict=True)
    ]
    years = tuple(one.year for one in futures[0].ready.ahead)
    return YearsForFutures(
        scenario=scenario,
        years=years,
        chances=tuple(
            replace(chance, weight=float(weight))
            for chance, weight in zip(chances, weights, strict=True)
        ),
        steps=tuple(
            steps_table(years, f.ready.keys, f.ready.stage, f.ready.bought, part)
            for f, part in zip(futures, parts, strict=True)
        ),
        cost=scale * np.array(cost),
        alone=scale * np.array([f.alone.value for f in futures]),
        alone_bound=scale * np.array([f.alone.bound for f in futures]),
        value=scale * joint.value,
        bound=scale * joint.bound,
        now=np.inf if now is None else scale * now.value,
        now_bound=np.inf if now is None else scale * now.bound,
    )


def _telling(title: str, watch: Watch | None) -> Callable[..., None]:
    def tell(spent: float, best: float | None, bound: float) -> None:
        if watch is not None:
            watch(title, Progress(title, spent, best, bound))

    return tell


def _session(future: _Future, seconds: float) -> Session:
    threads = int(future.ready.ahead[0].scenario.settings.solve.threads)
    return Session(Effort(seconds=seconds, threads=threads))


def _width(future: _Future) -> int:
    return len(future.ready.stage.matrix.cost)


def _ahead(
    scenario: Scenario, changes: Mapping[str, ChangeSet], change: ChangeSet
) -> list[YearAhead]:
    """Give the years of a future: the first is as the table has it."""
    first = years_ahead(scenario, changes)[0]
    return [first, *years_ahead(apply_changes(scenario, change), changes)[1:]]


def _alone(
    ahead: Sequence[YearAhead],
    title: str,
    running: Session,
    seconds: float,
    watch: Watch | None,
) -> _Future | None:
    """Make the years of a future ready, and choose its own way."""
    tell = None if watch is None else partial(watch, title)
    ready, last = first_look(ahead, tell)
    kinds = kinds_of(ready, last.plan, running)
    alone = choose(
        ready.stage,
        kinds,
        last.plan.warm_start.duals,
        soonest(ready, last.plan),
        Session(replace(running.effort, seconds=seconds)),
        gap=WITHIN * ready.ahead[0].scenario.settings.solve.gap,
        report=_telling(title, watch),
    )
    return None if alone is None else _Future(ready, kinds, alone)


def _together(
    futures: Sequence[_Future],
    weights: Floats,
    every: bool,
    seconds: float,
    report: Callable[..., None],
) -> Choice | None:
    """Choose for all futures; the first year is one for all, or `every` year is."""
    kinds, learned = list[YearKind](), list[tuple[int, YardCut]]()
    ahead = futures[0].ready.ahead
    for f, future in enumerate(futures):
        first = len(kinds)
        kinds += [
            replace(kind, years=tuple(y + f * len(ahead) for y in kind.years))
            for kind in future.kinds
        ]
        learned += [(first + k, cut) for k, cut in future.alone.cuts]
    return choose(
        joint_stage([f.ready for f in futures], weights, every=every),
        kinds,
        {},
        None,
        _session(futures[0], seconds),
        gap=WITHIN * ahead[0].scenario.settings.solve.gap,
        learned=learned,
        report=report,
    )
