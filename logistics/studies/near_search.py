"""Sets of yards around the best one, each planned as it is: many in a short time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import islice

import numpy as np

from logistics.model import (
    Effort,
    Flags,
    Instance,
    NoPlanError,
    Plan,
    Progress,
    Session,
    better_homes,
    operate,
)
from logistics.results import audit, require
from logistics.studies.near_moves import Choice, Move, moves_from, together

Watch = Callable[[Progress], None]

UNTIL = (0.45, 0.65, 0.8, 1.0)
"""When moves of one yard end, better homes, moves together, better homes again. [1]"""
ABOVE = 0.2
"""How far above the limit, in limits, plans are that better homes are looked for."""
BEYOND = 2.0
"""Sum of what moves cost alone up to which they are tried together, in limits."""


@dataclass(frozen=True, eq=False)
class Around:
    """
    What was found around a plan.

    Attributes
    ----------
    plans
        The plan and the cheapest found for every other set of sites, by cost.
    tried
        Sets of yards and sizes that were planned, the first one counted.
    """

    plans: tuple[Plan, ...]
    tried: int


@dataclass(eq=False)
class _Search:
    """Plans of sets of yards so far."""

    instance: Instance
    session: Session
    plans: dict[Choice, Plan | None] = field(default_factory=dict)
    settled: set[Choice] = field(default_factory=set)

    def try_all(self, choices: Iterable[Choice], seconds: float) -> None:
        """Plan sets of yards, a few at the same time, until the time is over."""
        number = self.session.effort.threads
        left = iter(choices)
        with ThreadPoolExecutor(number) as pool:
            while self.session.spent < seconds and not self.session.over:
                batch = list(islice(self._new(left), number))
                if not batch:
                    return
                starts = [self._nearest(choice) for choice in batch]
                found = pool.map(self._planned, batch, starts)
                self.plans.update(zip(batch, found, strict=True))
                self._report()

    def better_all(self, share: float, seconds: float, *, last: bool = False) -> None:
        """
        Look for better homes of the own trucks of the cheapest plans.

        At last those just above the limit come first: they may come within.
        """
        found = {c: plan for c, plan in self.plans.items() if plan}
        least = min(plan.objective for plan in found.values())
        room = share * abs(least)

        def order(choice: Choice) -> tuple[bool, float]:
            cost = found[choice].objective
            return (last and cost <= least + room, cost)

        choices = iter(
            choice
            for choice in sorted(found, key=order)
            if choice not in self.settled
            and found[choice].objective <= least + (1 + ABOVE) * room
            and len(found[choice].bases)
        )
        number = self.session.effort.threads
        with ThreadPoolExecutor(number) as pool:
            while self.session.spent < seconds and not self.session.over:
                batch = list(islice(choices, number))
                if not batch:
                    return
                plans = pool.map(self._bettered, batch)
                self.plans.update(zip(batch, plans, strict=True))
                self.settled.update(batch)
                self._report()

    def _bettered(self, choice: Choice) -> Plan | None:
        """Let yards exchange own trucks; the plan as it was if that gains nothing."""
        plan = self.plans[choice]
        assert plan is not None
        single = replace(self.session.effort, threads=1)
        session = replace(self.session, effort=single, watch=None)
        bases = better_homes(self.instance, plan, session)
        if set(bases) == set(plan.warm_start.bases):
            return plan
        start = replace(plan, warm_start=replace(plan.warm_start, bases=bases))
        found = self._planned(choice, start)
        return found if found and found.objective < plan.objective else plan

    def _new(self, choices: Iterator[Choice]) -> Iterator[Choice]:
        """Leave out sets that are known or that the board does not allow."""
        seen: set[Choice] = set()
        for choice in choices:
            if choice in self.plans or choice in seen:
                continue
            seen.add(choice)
            if allowed(self.instance, choice):
                yield choice

    def _nearest(self, choice: Choice) -> Plan:
        """Choose the plan whose yards are most alike to start from."""
        known = [(c, plan) for c, plan in self.plans.items() if plan]
        return min(known, key=lambda pair: len(choice ^ pair[0]))[1]

    def _planned(self, choice: Choice, start: Plan) -> Plan | None:
        """Plan everything but the yards; None where a demand is left unmet."""
        effort = replace(self.session.effort, threads=1)
        opened = mask_of(self.instance, choice)
        try:
            plan = operate(self.instance, opened, effort, warm_start=start.warm_start)
        except NoPlanError:
            return None
        if plan.status == "shortage":
            return None
        require(audit(as_planned(self.instance, plan), plan))
        return plan

    def _report(self) -> None:
        if self.session.watch is not None:
            found = [plan.objective for plan in self.plans.values() if plan]
            spent = self.session.spent
            self.session.watch(Progress("yards nearby", spent, min(found), None))


def plans_around(
    instance: Instance,
    best: Plan,
    share: float,
    effort: Effort,
    watch: Watch | None = None,
) -> Around:
    """
    Plan sets of yards that differ little from those of a plan.

    Every yard is dropped, added, moved or resized alone; then two and three of these
    together, beginning with those that cost least alone. Own trucks stay at home where
    the most similar plan has them, as far as there are yards; yards of the cheapest
    plans exchange theirs where that gains.

    Parameters
    ----------
    instance, best
        The problem and its best plan.
    share
        What may be given up of its cost. [1]
    effort
        `seconds` for all of it, `threads` sets of yards at the same time.
    watch
        Told how it stands.
    """
    search = _Search(instance, Session(effort, watch))
    first = choice_of(instance, best)
    search.plans[first] = best
    until = [part * effort.seconds for part in UNTIL]
    moves = moves_from(instance, first)
    search.try_all((move.after(first) for move in moves), until[0])
    search.better_all(share, until[1])
    costs, start = {}, search.plans[first] or best
    for move in moves:
        if found := search.plans.get(move.after(first)):
            costs[move] = found.objective - start.objective
    room = BEYOND * share * abs(best.objective)
    groups = together(instance, costs, room)
    search.try_all((_after(first, group) for group in groups), until[2])
    search.better_all(share, until[3], last=True)
    return Around(cheapest_of_sites(search.plans.values()), len(search.plans))


def _after(choice: Choice, moves: Iterable[Move]) -> Choice:
    for move in moves:
        choice = move.after(choice)
    return choice


def cheapest_of_sites(plans: Iterable[Plan | None]) -> tuple[Plan, ...]:
    """Keep the cheapest plan of every set of sites, whatever its sizes, by cost."""
    found: dict[frozenset[str], Plan] = {}
    for plan in sorted(filter(None, plans), key=lambda plan: plan.objective):
        found.setdefault(frozenset(plan.yards["yard"]), plan)
    return tuple(found.values())


def choice_of(instance: Instance, plan: Plan) -> Choice:
    """Return the options of a plan's yards."""
    return frozenset(np.flatnonzero(instance.options_of(plan.yard_sizes)).tolist())


def mask_of(instance: Instance, choice: Choice) -> Flags:
    """Mark options, length o."""
    return np.isin(np.arange(len(instance.options.yard)), list(choice))


def as_planned(instance: Instance, plan: Plan) -> Instance:
    """Hold the contents of compost that a plan has, as its audit needs."""
    return instance if plan.contents is None else instance.holding(plan.contents)


def allowed(instance: Instance, choice: Choice) -> bool:
    """Whether the board allows these yards, forced ones and forbidden ones seen to."""
    if not choice:
        return False
    options, policy = instance.options, instance.policy
    sites = {int(options.yard[o]) for o in choice}
    capital = float(options.capital[list(choice)].sum())
    return (
        all(
            (j in sites) == (d == "open")
            for j, d in enumerate(instance.yards.decision)
            if d != "free"
        )
        and (policy.max_yards is None or len(sites) <= policy.max_yards)
        and (policy.capital_limit is None or capital <= policy.capital_limit)
        and all(cut.differs(sites) >= cut.least for cut in policy.apart)
    )
