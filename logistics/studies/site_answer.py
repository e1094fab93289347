"""What is known of one site: a yard, a source or a market; why no yard can stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from logistics.land import refused
from logistics.model import Assembly, Instance, KeptYards, Plan
from logistics.results import Result
from logistics.studies.comparison import Outcome
from logistics.studies.entering import Between, TurningPoint


@dataclass(frozen=True, eq=False)
class Ground:
    """
    What every question about a plan begins with.

    Attributes
    ----------
    base
        The plan asked about, proven to `BASE_GAP` where the time allows it.
    made
        Its problem, with the contents of compost free.
    """

    base: Result
    made: Assembly


Kind = Literal["yard", "source", "market"]


@dataclass(frozen=True, eq=False)
class Service:
    """
    How a plan serves a source or a market, period by period.

    Attributes
    ----------
    asked
        Whether a period is asked about, length t.
    wanted, served, left
        What arises or is asked; what the plan collects or delivers; what it leaves, or
        what is wanting, length t. [t]
    reached
        Whether a truck reaches it, in time, to or from a yard of the plan, length t.
    kept
        What serving it whole takes with the yards as they are; None where the plan
        does, or where nothing can.
    short_t
        What is left or wanting of what is asked about: in single periods what arises in
        them less what is collected in them. [t]
    """

    asked: tuple[bool, ...]
    wanted: tuple[float, ...]
    served: tuple[float, ...]
    left: tuple[float, ...]
    reached: tuple[bool, ...]
    short_t: float
    kept: KeptYards | None = None

    @property
    def wanted_t(self) -> float:
        """What arises or is asked in the periods asked about. [t]"""
        pairs = zip(self.wanted, self.asked, strict=True)
        return sum(tonnes for tonnes, mine in pairs if mine)


@dataclass(frozen=True, eq=False)
class SiteAnswer:
    """
    Why a yard stands at a site, or why none does; why a place is not served whole.

    Attributes
    ----------
    code, size
        Code of the site, and of the size asked for; blank for any.
    base
        The plan asked about.
    chosen
        Whether it has that yard.
    no_use
        Why no yard can stand there, or why it cannot be served, a sentence each; then
        nothing is planned.
    outcome
        The other decision and its plan, None where there is none. Of a source or a
        market also the plan that serves it whole with the yards as they are.
    adds
        Least and most that a yard there, or serving it whole, adds to the least cost,
        own trucks at home where the two plans have them. None where a demand is unmet.
        [money/yr]
    anywhere
        The same wherever own trucks are at home.
    turns
        What would have to change, each figure alone.
    nearby
        Sources for which the site is nearer than any other yard of the plan.
    kind, service
        What the site is; how the plan serves it, None of a yard.
    """

    code: str
    size: str
    base: Result
    chosen: bool
    no_use: tuple[str, ...] = ()
    outcome: Outcome | None = None
    adds: Between | None = None
    anywhere: Between | None = None
    turns: tuple[TurningPoint, ...] = ()
    nearby: tuple[str, ...] = ()
    kind: Kind = "yard"
    service: Service | None = None

    @property
    def open_question(self) -> bool:
        """Whether the proofs leave open which decision is better."""
        return self.adds is not None and self.adds[0] < 0 < self.adds[1]


def adds_of(there: Plan, absent: Plan) -> Between | None:
    """Least and most that a yard adds, from the plans with it and without. [money]"""
    ends = (there.bound, there.objective, absent.bound, absent.objective)
    if "shortage" in {there.status, absent.status} or not all(map(math.isfinite, ends)):
        return None
    return there.bound - absent.objective, there.objective - absent.bound


def nearby(inst: Instance, plan: Plan, yard: str) -> list[str]:
    """List the sources for which a site is nearer by road than all yards of a plan."""
    site = inst.yards.codes.index(yard)
    open_yards = {inst.yards.codes.index(code) for code, _ in plan.yard_sizes} - {site}
    lanes = inst.inbound
    km = np.full((2, len(inst.supply.codes)), np.inf)
    for row, yards in enumerate(([site], list(open_yards))):
        mine = np.isin(lanes.yard, yards) & lanes.usable.any(axis=1)
        np.minimum.at(km[row], lanes.site[mine], lanes.km[mine].min(axis=1))
    return [inst.supply.codes[i] for i in np.flatnonzero(km[0] < km[1]).tolist()]


def no_use(made: Assembly, yard: str, size: str) -> list[str]:
    """Say why no yard can stand at a site, by the rule and its metres."""
    scenario, inst = made.scenario, made.instance
    at = inst.yards.codes.index(yard)
    row = scenario.yards.iloc[at]
    if row["decision"] == "closed":
        return ["The scenario rules out a yard there (decision closed in yards.csv)."]
    if yard in refused(made.screening):
        rows = made.screening
        rows = rows[
            (rows["yard"] == yard)
            & (rows["action"] == "refuse")
            & (rows["feedstock"] == "")
        ]
        return [f"The land rules refuse it: {reason}." for reason in rows["reason"]]
    offered = [inst.options.size[o] for o in np.flatnonzero(inst.options.yard == at)]
    if offered and size in ("", *offered):
        return []
    area = float(row["area_m2"])
    sizes = scenario.yard_sizes
    if size:
        sizes = sizes[sizes["size"] == size]
    need = float(sizes["site_m2"].min())
    if need > area:
        return [f"The site has {area:,.0f} m2; a yard needs {need:,.0f} m2 at least."]
    return ["That size is not offered there."]
