"""The answer of the programme."""

from dataclasses import dataclass, field

import pandas as pd

from logistics.model.problem.arrays import Floats
from logistics.model.problem.warm_start import WarmStart


def no_paired_trips() -> pd.DataFrame:
    """Return a table of paired trips without any."""
    columns = ["source", "yard", "market", "truck", "period"]
    kinds: dict[str, str] = dict.fromkeys(columns, "str")
    return pd.DataFrame(columns=[*columns, "trips"]).astype(
        {**kinds, "trips": "float64"}
    )


def no_bases() -> pd.DataFrame:
    """Return a table of homes of own trucks, without any."""
    kinds = {"truck": "str", "yard": "str", "count": "int64"}
    return pd.DataFrame(columns=list(kinds)).astype(kinds)


@dataclass(frozen=True)
class SmallLoads:
    """
    What became of loads below the least (see `LeastLoads`).

    Attributes
    ----------
    left_out, kept
        Lanes and months of the best plan that were left out, and those that stay
        because a demand could not be met without them.
    tonnes
        What those left out carried. [t/yr]
    cost
        What leaving them out adds to the goal. [money/yr]
    """

    left_out: int = 0
    kept: int = 0
    tonnes: float = 0.0
    cost: float = 0.0


@dataclass(frozen=True, eq=False)
class Plan:
    """
    The answer: how good it is proven to be, and who does what when.

    Attributes
    ----------
    status
        "optimal" (gap within the goal), "time_limit", "stopped" or "shortage".
    objective, bound, gap
        Value of the goal, the proven bound and their relative distance.
    seconds
        Solving time. [s]
    yards
        yard, size.
    hauls, deliveries
        source, yard, truck, period, tonnes [t]; yard, market, truck, period,
        tonnes [t].
    uncollected, held
        source, period, tonnes [t]; held is what waits at the period's end.
    stock, charges
        yard, feedstock, period, tonnes [t]; stock at the period's end.
    water
        yard, period, tonnes [t] added when the windrows are built.
    compost
        yard, period, made_t, stock_t, leftover_t [t].
    hired
        truck, yard, period, hours [h].
    bases
        truck, yard, count: own trucks at home at a yard; empty where hours of own
        trucks are pooled.
    shortages
        how, limit, what, where, when, amount, unit: demands that could not be met,
        all with some slack ("together") or one alone ("alone"); limit says whether
        it asks for something ("least") or allows something ("most"); the pipeline
        adds words.
    worth
        kind, where, when, value, unit, words: what one unit more would save.
    paired
        source, yard, market, truck, period, trips: waste in and compost on without an
        empty way to the yard in between.
    small_loads
        What became of loads below the least.
    contents
        What compost in store was held to, shape (k, j, t) of the instance; None where
        nothing was limited. Objective and bound are those with these contents. [t/t]
    homes_held
        Whether objective and bound are those with own trucks at home where they are.
    any_bound
        No plan is better whatever its compost holds and wherever own trucks are at
        home; None where `bound` is such.
    warm_start
        What helps to plan again after a change; no part of the answer.
    """

    status: str
    objective: float
    bound: float
    gap: float
    seconds: float
    yards: pd.DataFrame
    hauls: pd.DataFrame
    deliveries: pd.DataFrame
    uncollected: pd.DataFrame
    held: pd.DataFrame
    stock: pd.DataFrame
    charges: pd.DataFrame
    water: pd.DataFrame
    compost: pd.DataFrame
    hired: pd.DataFrame
    shortages: pd.DataFrame
    worth: pd.DataFrame
    bases: pd.DataFrame = field(default_factory=no_bases)
    paired: pd.DataFrame = field(default_factory=no_paired_trips)
    small_loads: SmallLoads = field(default_factory=SmallLoads)
    contents: Floats | None = None
    homes_held: bool = False
    any_bound: float | None = None
    warm_start: WarmStart = field(default_factory=WarmStart)

    @property
    def floor(self) -> float:
        """No plan at all is better, whatever contents and homes it has. [goal]"""
        if self.any_bound is None:
            return self.bound
        return min(self.any_bound, self.bound)

    @property
    def yard_sizes(self) -> list[tuple[str, str]]:
        """Yards that are open, each with its size."""
        return list(zip(self.yards["yard"], self.yards["size"], strict=True))
