"""Runs of given yards for an incumbent, and the cuts that they leave to the master."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from logistics.model.problem import Flags, Instance, Integers
from logistics.model.solving.bases import better_bases, rounded_bases
from logistics.model.solving.column_generation import (
    ColumnGeneration,
    MasterSolution,
    run_yards,
)
from logistics.model.solving.cover_cuts import Cuts, with_cuts
from logistics.model.solving.highs import Progress, Session
from logistics.model.solving.master import Master
from logistics.model.solving.warm_columns import Incumbent

RELAXATION_TOLERANCE = 0.2
"""Distance of a relaxation and its bound, as a share of the gap asked for."""

CUT_ROUNDS = 6
"""Rounds of cuts at most, at the root and for given yards."""

MANY_CUTS = 300
"""Cuts from which those that do not bind are left out."""

DUAL_TOLERANCE = 1e-6
"""Dual of a cut that is taken for none. [goal/h]"""

MOVES = 6
"""Own trucks moved to another yard at most, to better an incumbent."""

NEAR = 0.01
"""Distance to the incumbent up to which trucks are moved. [1]"""

LEAST_CUT = 1e-3
"""Share of the cost that cuts have to add for another round, with the yards given."""


class YardRuns:
    """The full master with the cuts found so far, the incumbent, and yards run."""

    def __init__(
        self,
        instance: Instance,
        master: Master,
        session: Session,
        incumbent: Incumbent,
    ) -> None:
        single = replace(session.effort, threads=1)
        self.instance, self.master = instance, master
        self.bare = master  # without cuts
        self.cuts: Cuts | None = None
        self.incumbent, self.gap_asked = incumbent, session.effort.gap
        self.enough = session.effort.enough
        self.session = replace(session, effort=single)
        self.known: set[bytes] = set()  # yards that have been run, and homes

    @property
    def tolerance(self) -> float:
        """Distance of a relaxation and its bound, as a share. [1]"""
        return max(RELAXATION_TOLERANCE * self.gap_asked, 1e-9)

    @property
    def cutoff(self) -> float:
        """Bound from which a node is fathomed: it holds no plan worth finding."""
        value = self.incumbent.value
        near = value - self.gap_asked * abs(value) if np.isfinite(value) else np.inf
        return min(near, self.enough)

    def run(self, opened: Flags, kept: Flags) -> MasterSolution | None:
        """
        Run yards month by month; they are the incumbent if none are better.

        Where trucks are owned the relaxation says whether it is worth while to look
        for homes.
        """
        key = opened.tobytes()
        if key in self.known:
            return None
        self.known.add(key)
        if not len(self.master.homes):
            return self.run_based(opened, kept, None)
        found = self.run_relaxed(opened, kept)
        if found is None or found.value >= self.cutoff:  # whole trucks only cost more
            return found
        branch = self.master.root_branch()
        based = rounded_bases(self.master, branch, opened, found.based)
        self.run_homes(opened, found.kept, based)
        return found

    def run_homes(self, opened: Flags, kept: Flags, based: Integers) -> None:
        """Run yards with homes of own trucks, and move trucks as long as that pays."""
        for _ in range(MOVES):
            best = self.incumbent.value
            found = self.run_based(opened, kept, based)
            if found is None or found.value > best * (1 + NEAR * np.sign(best)):
                break
            moved = better_bases(self.master, opened, based, found.duals)
            if moved is None:
                break
            based, kept = moved, found.kept

    def run_relaxed(self, opened: Flags, kept: Flags) -> MasterSolution | None:
        """Run yards with own trucks in parts, and again with the cuts this breaks."""
        params = ColumnGeneration(self.tolerance / 2)
        last: MasterSolution | None = None
        for _ in range(CUT_ROUNDS):
            found = run_yards(self.master, opened, kept, self.session, params)
            if found is None:
                break
            few = LEAST_CUT * abs(found.value)
            rise = np.inf if last is None else found.value - last.value
            last, kept = found, found.kept
            if found.value >= self.cutoff or rise < few or not self.take_cuts(found):
                break
        return last

    def take_cuts(self, found: MasterSolution) -> bool:
        """Add the cuts that a relaxation breaks to the master; False without any."""
        if found.cuts is None or not len(found.cuts):
            return False
        self.cuts = found.cuts if self.cuts is None else self.cuts.and_more(found.cuts)
        self.master = with_cuts(self.master, found.cuts)
        return True

    def drop_cuts(self, solutions: Sequence[MasterSolution]) -> None:
        """Leave out the cuts that bind in none of some solutions, if there are many."""
        if self.cuts is None or len(self.cuts) <= MANY_CUTS:
            return
        first = len(self.bare.names)
        binds = np.zeros(len(self.cuts), dtype=bool)
        for found in solutions:
            binds |= np.abs(self.master.padded(found.duals)[first:]) > DUAL_TOLERANCE
        self.cuts = self.cuts.take(binds)
        self.master = with_cuts(self.bare, self.cuts)

    def run_based(
        self, opened: Flags, kept: Flags, based: Integers | None
    ) -> MasterSolution | None:
        """Run yards with own trucks at home there (shape (v, j))."""
        key = opened.tobytes() + (b"" if based is None else based.tobytes())
        if based is not None and key in self.known:
            return None
        self.known.add(key)

        def better(value: float) -> None:
            if value < self.incumbent.value:
                self.incumbent.opened, self.incumbent.value = opened, value
                self.incumbent.based = based
                self.report()

        params = ColumnGeneration(self.tolerance / 2, on_value=better)
        return run_yards(self.master, opened, kept, self.session, params, based)

    def report(self) -> None:
        """Tell whoever watches of incumbent and bound."""
        watch, incumbent = self.session.watch, self.incumbent
        if watch is not None and np.isfinite(incumbent.value):
            bound = incumbent.bound if np.isfinite(incumbent.bound) else None
            phase = "first plan" if bound is None else "proof"
            watch(Progress(phase, self.session.spent, incumbent.value, bound))
