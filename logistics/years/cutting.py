"""
The choice of yards by cuts: a master of purchases, and each year's running below it.

Running a year is a programme whose yards are given; its duals bound it from below by a
cut that is linear in what works, and holds in every year alike (Benders 1962; Geoffrion
and Graves, Multicommodity distribution system design by Benders decomposition,
Management Science 20(5), 1974; both from memory). The first cut of each kind of year
comes from the duals of the last year's plan, further ones from what the master wants.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from operator import itemgetter

import numpy as np
from scipy import sparse

from logistics.model import Floats, Matrix, Session, YardCut, optimum, relative_gap
from logistics.years.first_stage import Stage
from logistics.years.futures import YearKind

INWARD, STEADY = 0.3, 0.004
"""How far inside cuts are made; rise of a bound that is worth another such cut. [1]"""

COARSE = 0.01
"""Gap at most that a master is solved to. [1]"""

CHEAPER = 12
"""Trials of a cheaper choice that is as good."""

NOTHING = 1e-3
"""What is no difference in tonnes or kilograms. [goal]"""

AS_GOOD = 0.25
"""Share of the gap by which a choice may be worse that is as good. [1]"""

Report = Callable[[float, float | None, float], None]


@dataclass(frozen=True, eq=False)
class Choice:
    """
    What to buy, when, and what works.

    Attributes
    ----------
    x
        Columns of the first stage.
    value, bound
        What the relaxed years come to, and what no choice falls below, both in the
        goal's unit, divided by the scale of the stage.
    duals
        Of the rows of the first stage, from the relaxed master.
    rounds
        Solutions of the master.
    cuts
        What was learned of running the years: kind of year, and cut.
    """

    x: Floats
    value: float
    bound: float
    duals: Floats
    rounds: int
    cuts: tuple[tuple[int, YardCut], ...]


@dataclass(eq=False)
class _CutSearch:
    """Cuts so far, and what is known of sets of yards."""

    stage: Stage
    kinds: Sequence[YearKind]
    threads: int
    cuts: list[tuple[int, YardCut]] = field(default_factory=list)
    known: dict[tuple[int, bytes], float] = field(default_factory=dict)

    def learn(self, points: Sequence[tuple[int, Floats]]) -> None:
        """Run kinds of years at what works, where that is new; keep the cuts."""
        new = {(kind, u.tobytes()): (kind, u) for kind, u in points}
        wanted = [pair for key, pair in new.items() if key not in self.known]
        with ThreadPoolExecutor(self.threads) as pool:
            cuts = list(pool.map(lambda pair: self.kinds[pair[0]].at(pair[1]), wanted))
        for (kind, u), cut in zip(wanted, cuts, strict=True):
            self.known[(kind, u.tobytes())] = np.inf if cut is None else cut.value
            if cut is not None:
                self.cuts.append((kind, cut))

    def learn_inside(self, x: Floats, best: Floats | None) -> None:
        """Make the cut of each kind of years between a relaxed choice and the best."""
        points = list[tuple[int, Floats]]()
        for k, kind in enumerate(self.kinds):
            columns = self.stage.working[list(kind.years)]
            at = x[columns].mean(axis=0)
            if best is not None:
                at = (1 - INWARD) * at + INWARD * best[columns].mean(axis=0)
            points.append((k, np.round(at, 6)))
        self.learn(points)

    def points(self, x: Floats) -> list[tuple[int, Floats]]:
        """Give what works in each year, with the kind of the year."""
        kind_of = {y: k for k, kind in enumerate(self.kinds) for y in kind.years}
        return [
            (kind_of[y], np.round(x[columns]) + 0.0)
            for y, columns in enumerate(self.stage.working)
        ]

    def value(self, x: Floats) -> float:
        """Tell what a choice costs, the years relaxed."""
        points = self.points(x)
        self.learn(points)
        costs = np.array([self.known[(kind, u.tobytes())] for kind, u in points])
        return float(self.stage.matrix.cost @ x + self.stage.weights @ costs)

    def master(self) -> Matrix:
        """Columns of the first stage, then what running each year costs."""
        first, years = self.stage.matrix, len(self.stage.weights)
        width = len(first.cost)
        rows = sparse.hstack([first.rows, sparse.csc_matrix((len(first.below), years))])
        made = Matrix(
            rows=rows.tocsc(),
            cost=np.append(first.cost, self.stage.weights),
            low=np.append(first.low, np.full(years, -np.inf)),
            high=np.append(first.high, np.full(years, np.inf)),
            below=first.below,
            above=first.above,
            constant=0.0,
            integer=np.append(first.integer, np.zeros(years, dtype=bool)),
        )
        lines, least = list[sparse.csr_matrix](), list[float]()
        for kind, cut in self.cuts:
            for y in self.kinds[kind].years:
                columns = np.append(self.stage.working[y], width + y)
                values = np.append(-cut.slope, 1.0)
                at = (values, (np.zeros(len(columns), dtype=np.int64), columns))
                lines.append(sparse.csr_matrix(at, shape=(1, width + years)))
                least.append(cut.constant)
        below = np.array(least)
        return made.constrain(sparse.vstack(lines), below, np.full(len(below), np.inf))

    def cheapest(
        self, value: float, x: Floats, session: Session
    ) -> tuple[float, Floats]:
        """
        Take of the choices that are at least as good the one that spends least.

        Parameters
        ----------
        value, x
            What a choice may come to, and one that does.
        session
            Threads and time.
        """
        width = len(self.stage.matrix.cost)
        spent = np.append(self.stage.spent, np.zeros(len(self.stage.weights)))
        for _ in range(CHEAPER):
            master = self.master()
            goal = sparse.csr_matrix(master.cost[None, :])
            made = master.constrain(goal, np.array([-np.inf]), np.array([value]))
            made = replace(made, cost=spent)
            found = optimum(made, session=session, integer=True, gap=COARSE / 10)
            if found is None:
                break
            values = found.values[:width]
            other = np.where(self.stage.matrix.integer, np.round(values), values)
            if (reached := self.value(other)) <= value:
                return reached, other
        return self.value(x), x


def choose(
    stage: Stage,
    kinds: Sequence[YearKind],
    known: Mapping[str, float],
    start: Floats | None,
    session: Session,
    *,
    gap: float,
    most: float = np.inf,
    spend_least: bool = False,
    learned: Sequence[tuple[int, YardCut]] = (),
    report: Report | None = None,
) -> Choice | None:
    """
    Choose what is bought and what works, with a proven gap.

    Parameters
    ----------
    stage, kinds
        The first stage; the years.
    known
        Duals of the rows of a plan, by name.
    start
        A choice worth a trial.
    session
        Threads, and the time it may take.
    gap
        When to stop.
    most
        Most that a year may come to; above it are penalties for demands not met, of
        which the gap is no share.
    spend_least
        Take of choices that are worse by a quarter of the gap at most the one that
        spends least.
    learned
        Cuts known already.
    report
        Called with seconds, value of the best choice and bound after every round.

    Returns
    -------
    Choice or None
        None if no choice was found in the time.
    """

    def near(value: float) -> float:
        """Give the gap asked for, as a share of a value with its penalties. [1]"""
        return gap * min(1.0, most / max(abs(value), NOTHING))

    search = _CutSearch(stage, kinds, session.effort.threads)
    search.cuts += learned
    if not learned:
        search.cuts += [(k, kind.by_duals(known)) for k, kind in enumerate(kinds)]
    best: tuple[float, Floats | None] = (np.inf, None)
    bound, rounds, whole, fine, x = -np.inf, 0, False, False, start
    while True:
        if x is not None and (whole or x is start):
            best = min(best, (search.value(x), x), key=itemgetter(0))
        if relative_gap(best[0], bound) <= near(best[0]) or session.over:
            break
        rounds += 1
        loose = min(COARSE, relative_gap(best[0], bound) / 10)
        finest = near(best[0]) / 4
        loose = finest if fine else max(finest, loose)
        found = optimum(search.master(), session=session, integer=whole, gap=loose)
        if found is None:
            break
        proven = found.bound if whole else found.value
        risen = proven - bound
        bound = max(bound, proven)
        seen, values = x, found.values[: len(stage.matrix.cost)]
        if report is not None:
            report(session.spent, None if best[1] is None else best[0], bound)
        if whole:
            x = np.where(stage.matrix.integer, np.round(values), values)
            again = seen is not None and np.array_equal(seen, x)
            if again and loose <= finest:
                break
            fine = fine or again
        else:
            search.learn_inside(values, best[1])
            whole = risen <= STEADY * abs(bound)
    value, chosen = best
    if chosen is None:
        return None
    relaxed = optimum(search.master())
    rows = len(stage.matrix.below)
    duals = np.zeros(rows) if relaxed is None else relaxed.duals[:rows]
    if spend_least:
        room = max(AS_GOOD * near(value) * abs(value), NOTHING)
        value, chosen = search.cheapest(value + room, chosen, session)
    cuts = tuple(search.cuts)
    return Choice(chosen, value, min(bound, value), duals, rounds, cuts)


def value_of(
    stage: Stage, kinds: Sequence[YearKind], x: Floats, session: Session
) -> float:
    """Tell what a choice comes to, the years relaxed; infinite where one cannot run."""
    return _CutSearch(stage, kinds, session.effort.threads).value(x)
