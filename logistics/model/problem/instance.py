"""One planning problem as numbers; what the programme and the audit read."""

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Literal

import numpy as np

from logistics.model.problem.arrays import Flags, Floats, Integers
from logistics.model.problem.contents import Contents
from logistics.model.problem.feed import Feed, Margin
from logistics.model.problem.nearby import FarmDistances, PeopleNear
from logistics.model.problem.parts import (
    Backhauls,
    Lanes,
    Markets,
    Options,
    Supply,
    Trucks,
    Yards,
)
from logistics.model.problem.standard import Standard

Goal = Literal["cost", "uncollected", "co2e"]


@dataclass(frozen=True, eq=False)
class Mix:
    """
    What a mix must keep; None switches a row off.

    Attributes
    ----------
    cn
        Least and greatest carbon-to-nitrogen ratio. [t/t]
    moisture
        Driest and wettest mix. [t/t]
    density_t_m3
        Greatest additive bulk density. [t/m3]
    structure
        Least volume share of structure feedstock. [m3/m3]
    salt
        Greatest share of the wet mass. [t/t]
    product
        Least share of the dry compost: n, p2o5, k2o. [t/t]
    margin
        How far feedstocks may be off and every mix still keep `cn` and `moisture`.
    """

    cn: tuple[float, float] | None = None
    moisture: tuple[float, float] | None = None
    density_t_m3: float | None = None
    structure: float | None = None
    salt: float | None = None
    product: tuple[float | None, float | None, float | None] = (None, None, None)
    margin: Margin | None = None


@dataclass(frozen=True)
class LeastShare:
    """Collect at least `share` of the year's supply of these sources."""

    code: str
    name: str
    sources: tuple[int, ...]
    share: float


@dataclass(frozen=True)
class MostShare:
    """Let these feedstocks be at most `share` of a yard's intake in every period."""

    name: str
    feedstocks: tuple[int, ...]
    share: float


@dataclass(frozen=True)
class OtherSites:
    """Have a yard at `least` sites more or fewer than these `yards` (their indices)."""

    yards: frozenset[int]
    least: int

    def differs(self, yards: Iterable[int]) -> int:
        """Count the sites that are in one of the two sets alone."""
        return len(self.yards ^ frozenset(yards))


@dataclass(frozen=True)
class ServedWhole:
    """
    Collect a source whole, or give a market all it asks.

    Of a source nothing is left in the year; in single periods as much is collected as
    arises in them, so that waiting is no way out.

    Attributes
    ----------
    kind, site
        "source" or "market", and its index.
    periods
        Indices of the periods asked about.
    short
        What may be left of the source, or be wanting at the market, all the same. [t]
    per_t
        What each tonne costs that is short beyond that; None allows none. [money/t]
    """

    kind: Literal["source", "market"]
    site: int
    periods: tuple[int, ...]
    short: float = 0.0
    per_t: float | None = None


@dataclass(frozen=True)
class Policy:
    """
    Demands of the board; None or empty switches a row off.

    `most_exposed` counts heads near open yards; `worst_farms_km` is the mean distance
    of the worst tenth of the farms' demand. [km]
    """

    least_shares: tuple[LeastShare, ...] = ()
    max_yards: int | None = None
    capital_limit: float | None = None
    budget_limit: float | None = None
    co2e_limit: float | None = None
    most_share: MostShare | None = None
    apart: tuple[OtherSites, ...] = ()
    whole: tuple[ServedWhole, ...] = ()
    most_exposed: float | None = None
    worst_farms_km: float | None = None


@dataclass(frozen=True, eq=False)
class LeastLoads:
    """
    Loads too small to be worth a dispatcher's while; left out after solving.

    Attributes
    ----------
    lane_t
        Least that a lane carries in a period if it carries anything, length t. [t]
    trip_t
        Least load of a trip; smaller trucks make do with what they hold. [t]
    """

    lane_t: Floats
    trip_t: float


@dataclass(frozen=True, eq=False)
class CompostDays:
    """
    Compost from day to day: what may be sent is what is ripe.

    Attributes
    ----------
    ready
        Share of the charge of period t that is ready from the morning of day d on,
        shape (t, d). [t/t]
    sent
        Share of a period's deliveries that has left by the evening of each of its
        days, shape (d,). [t/t]
    period
        Period of each day, shape (d,).
    """

    ready: Floats
    sent: Floats
    period: Integers

    def ready_so_far(self) -> Floats:
        """Share that has become ready in the day's period till then, shape (t, d)."""
        found = np.zeros_like(self.ready)
        for u in range(int(self.period.max()) + 1):
            days = self.period == u
            found[:, days] = np.cumsum(self.ready[:, days], axis=1)
        return found

    def evenings(self) -> list[int]:
        """Days on whose evening least is in store: more is ready the next morning."""
        more = self.ready.sum(axis=0)[1:] > 0
        same = self.period[1:] == self.period[:-1]
        return [int(day) for day in np.flatnonzero(more & same)]


@dataclass(frozen=True, eq=False)
class Instance:
    """
    Everything the programme needs, as numbers.

    Attributes
    ----------
    periods
        Codes of the periods, in order; the year is a circle.
    occupancy
        Share of a charge of period t, at fresh volume, that takes room on the pad at
        moment k, shape (t, k): few moments that hold all days. [m3/m3]
    pad_period
        Period that each moment falls into, shape (k,).
    pad_days
        The same share on every day, shape (t, d): what the yard sheets say. [m3/m3]
    ripening
        Share of a charge of period t that becomes ready in period u,
        shape (t, u); rows add up to 1. [t/t]
    turning_water
        Water added while turning, per tonne taken into windrows. [t/t]
    product_t_m3
        Density of compost. [t/m3]
    charge_co2e
        Per tonne of each feedstock taken into windrows, length m: gases of the windrow
        and diesel of machines, less the mineral nitrogen that its compost replaces.
        [kg CO2e/t]
    leftover_per_t, leftover_co2e
        Per tonne of compost that no market takes [money/t]; mineral nitrogen that it
        does not replace [kg CO2e/t].
    cover
        Loose volume of structure feedstock that must be in store when period t begins,
        for each tonne of feedstock m that comes in t, shape (m, t); None switches the
        rule off. [m3/t]
    backhauls
        Trips that may be paired; None switches the rule off.
    contents
        What compost holds and markets limit; None where nobody limits anything.
    standard
        What the compost of every charge must keep; None for no standard.
    least_loads
        None leaves small loads as they come.
    compost_days
        None leaves it open when in a period compost is ripe and sent.
    neighbours, farms
        Who lives near yards; how far markets are from them. None where not known.
    """

    periods: tuple[str, ...]
    feed: Feed
    supply: Supply
    yards: Yards
    options: Options
    markets: Markets
    trucks: Trucks
    inbound: Lanes
    outbound: Lanes
    mix: Mix
    policy: Policy
    occupancy: Floats
    pad_period: Integers
    pad_days: Floats
    ripening: Floats
    turning_water: float
    product_t_m3: float
    charge_co2e: Floats
    leftover_per_t: float
    leftover_co2e: float = 0.0
    goal: Goal = "cost"
    cover: Floats | None = None
    backhauls: Backhauls | None = None
    least_loads: LeastLoads | None = None
    contents: Contents | None = None
    standard: Standard | None = None
    compost_days: CompostDays | None = None
    neighbours: PeopleNear | None = None
    farms: FarmDistances | None = None

    @property
    def most(self) -> float:
        """What no flow, stock, water [t] or hired hours [h] will exceed."""
        return 1e3 * (1.0 + float(self.supply.tonnes.sum()))

    def holding(self, held: Floats, *, given: bool = True) -> "Instance":
        """
        Hold what compost contains, shape (k, j, t) [t/t]; a label's content stays.

        With `given` nothing is left to be found with the plan.
        """
        if self.contents is None:
            return self
        contents = self.contents.with_held(held)
        if given:
            contents = replace(contents, given=np.ones_like(contents.given))
        return replace(self, contents=contents)

    def options_of(self, yards: Iterable[tuple[str, str]]) -> Flags:
        """Mark the options of a plan's yards: of yard and size each, length o."""
        wanted = set(yards)
        names = (self.yards.codes[j] for j in self.options.yard.tolist())
        options = zip(names, self.options.size, strict=True)
        return np.array([option in wanted for option in options], dtype=bool)

    def with_forced(self, opened: Flags) -> Flags:
        """Add to options opened the cheapest of each yard that must be open."""
        yards, added = self.options.yard, opened.copy()
        for j, decision in enumerate(self.yards.decision):
            offered = np.flatnonzero(yards == j)
            if decision == "open" and len(offered) and not opened[offered].any():
                added[offered[np.argmin(self.options.annual[offered])]] = True
        return added

    def with_yards(self, opened: Flags) -> "Instance":
        """Keep only the options opened, each forced open (mask, length o)."""
        options = self.options
        keep = np.flatnonzero(opened)
        arrays = {
            f.name: getattr(options, f.name)[keep]
            for f in fields(options)
            if f.name != "size"
        }
        smaller = Options(size=tuple(options.size[o] for o in keep), **arrays)
        open_yards = set(smaller.yard.tolist())
        decision = tuple(
            "open" if j in open_yards else "closed"
            for j in range(len(self.yards.codes))
        )
        return replace(
            self,
            options=smaller,
            yards=replace(self.yards, decision=decision),
            inbound=self.inbound.take(np.isin(self.inbound.yard, smaller.yard)),
            outbound=self.outbound.take(np.isin(self.outbound.yard, smaller.yard)),
        )
