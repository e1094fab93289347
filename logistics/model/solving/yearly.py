"""
The year taken as one period: yards worth a trial, and what rows are likely worth.

Twelve times smaller than the whole, it is solved in seconds where the whole takes
minutes. What it says is a hint and proves nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Instance
from logistics.model.solving.branching import WHOLE
from logistics.model.solving.first_incumbent import whole_year
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import Wide, wide_of
from logistics.model.solving.matrix import optimum
from logistics.model.solving.pricing import likely, price

DEAR = 0.02
"""Share of the year's cost from which an option is not tried in a first plan."""


@dataclass(frozen=True, eq=False)
class Year:
    """
    The year as one period: a hint of what is good, and no proof of anything.

    Attributes
    ----------
    wide, kept
        Its programme and the flows it carries.
    chosen
        Options of its plan; None if it has none.
    prices
        Of its rows, by the names that rows have by periods.
    """

    wide: Wide
    kept: Flags
    chosen: Flags | None
    prices: Mapping[str, float]


def of_the_year(instance: Instance, session: Session) -> Year | None:
    """Take the year as one period; None where there is no such plan in time."""
    year = whole_year(instance)
    wide = wide_of(year)
    gap, seconds = max(session.effort.gap, 0.002), session.effort.seconds / 4
    part = replace(session, effort=Effort(gap, session.spent + seconds, 1))
    scope, kept = wide.anywhere(), likely(wide, None, year)
    priced = price(wide, scope, kept, part, gap / 2)
    if priced is None or not np.isfinite(priced.value):
        return None
    near = priced.proven.excess <= DEAR * abs(priced.value)
    near |= (priced.opened > WHOLE) | scope.must[wide.yard]
    narrow = wide.narrow(priced.kept, replace(scope, high=scope.high * near))
    found = optimum(narrow.matrix, session=part, whole=True, gap=gap)
    chosen = None
    if found is not None:
        chosen = (narrow.opened >= 0) & (found.values[narrow.opened] > 0.5)
    prices = dict(zip(wide.names, priced.prices.tolist(), strict=True))
    return Year(wide, priced.kept, chosen, _by_period(prices, instance.periods))


def _by_period(
    prices: Mapping[str, float], periods: tuple[str, ...]
) -> dict[str, float]:
    """Give every period the prices of the year."""
    found: dict[str, float] = {}
    for name, value in prices.items():
        stem, _, last = name.rpartition(".")
        if last == "year":
            found |= {f"{stem}.{period}": value for period in periods}
        else:
            found[name] = value
    return found
