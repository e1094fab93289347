"""What may be bought for yards over the years, and what each purchase costs when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from logistics.model import Flags, Floats, Integers, Key
from logistics.scenario import FinanceSettings, Row, Scenario, records, rows_by

CLOSE = 1e-9


@dataclass(frozen=True, eq=False)
class Purchases:
    """
    Ways to buy a yard or to enlarge it, length p.

    A yard that is enlarged buys the difference of works and machines; each part wears
    out by its own age and is replaced in the year in which its life is over. All parts
    of a yard are given up together, or kept.

    Attributes
    ----------
    size_from, size_to
        Places in the list of yards and sizes; -1 where nothing stood.
    year, until
        Year from whose beginning it stands, and at whose beginning it is given up:
        the number of years where it is kept.
    stands
        Marks what stands before the first year.
    capital
        What is paid at the beginning of each year, shape (p, y). [money]
    salvage
        What it is still worth after the last year. [money]
    """

    size_from: Integers
    size_to: Integers
    year: Integers
    until: Integers
    stands: Flags
    capital: Floats
    salvage: Floats


@dataclass(frozen=True)
class BoughtPart:
    """Works or machines: what they cost in each year, and how long they last."""

    costs: tuple[float, ...]
    life: float
    free: bool = False

    def money(
        self, bought: int, until: int, discount: float
    ) -> tuple[list[float], float]:
        """
        Return what is paid each year, and what the part is worth in the end. [money]

        What stands already costs nothing until its life is over, and is worth nothing
        until it has been paid for.
        """
        years = len(self.costs)
        paid, date, last = [0.0] * years, float(bought), None
        while date < until - CLOSE:
            at = ceil(date - CLOSE)
            if at < min(until, years) and not (self.free and date == bought):
                paid[at] += self.costs[at]
                last = (date, self.costs[at])
            date += self.life
        if until < years or last is None:
            return paid, 0.0
        left = self.life - (years - last[0])
        return paid, last[1] * worth_left(discount, self.life, left)


def worth_left(discount: float, life: float, left: float) -> float:
    """
    Share of a price that is left: the annuities still to come, discounted.

    Parameters
    ----------
    discount
        [1/yr]
    life, left
        How long it lasts, and how long still. [yr]

    Examples
    --------
    >>> worth_left(0.0, 20, 5)
    0.25
    >>> round(worth_left(0.10, 2, 1), 6)
    0.52381
    """
    if left <= 0:
        return 0.0
    if discount < CLOSE:
        return left / life
    return float(
        np.expm1(-left * np.log1p(discount)) / np.expm1(-life * np.log1p(discount))
    )


def purchases(
    scenarios: Sequence[Scenario], keys: Sequence[Key], offered: Sequence[set[Key]]
) -> Purchases:
    """
    List every purchase that may be made.

    Parameters
    ----------
    scenarios
        The district of each year.
    keys
        Yards and sizes that some year offers.
    offered
        Those that each year offers: only they can be bought then.
    """
    finance = scenarios[0].settings.finance
    place = {key: n for n, key in enumerate(keys)}
    by_yard: dict[str, list[str]] = {}
    for yard, size in keys:
        by_yard.setdefault(yard, []).append(size)
    found = list[tuple[int, int, int, int, bool, list[float], float]]()
    for yard, sizes in by_yard.items():
        site = _Site.of(scenarios, yard, finance)
        for size in sizes:
            before = [""] if not site.existing else []
            before += [small for small in sizes if site.grows(small, size)]
            for small in before:
                first = 0 if small in ("", site.existing) else 1
                for bought in range(first, len(scenarios)):
                    if (yard, size) in offered[bought]:
                        found += site.rows(place, small, size, bought)
            if size == site.existing:
                found += site.rows(place, "", size, 0, stands=True)
    columns = list(zip(*found, strict=True)) if found else [()] * 7
    count = len(scenarios)
    return Purchases(
        size_from=np.array(columns[0], dtype=np.int64),
        size_to=np.array(columns[1], dtype=np.int64),
        year=np.array(columns[2], dtype=np.int64),
        until=np.array(columns[3], dtype=np.int64),
        stands=np.array(columns[4], dtype=bool),
        capital=np.array(columns[5], dtype=float).reshape(-1, count),
        salvage=np.array(columns[6], dtype=float),
    )


@dataclass(frozen=True, eq=False)
class _Site:
    """A yard in each year, and what its sizes cost there."""

    yard: str
    existing: str
    yards: tuple[Row | None, ...]
    sizes: tuple[dict[str, Row], ...]
    finance: FinanceSettings

    @classmethod
    def of(
        cls, scenarios: Sequence[Scenario], yard: str, finance: FinanceSettings
    ) -> _Site:
        rows = tuple(rows_by(s.yards, "yard").get(yard) for s in scenarios)
        sizes = tuple(
            {row["size"]: row for row in records(s.yard_sizes)} for s in scenarios
        )
        first = rows[0]
        existing = "" if first is None else first["existing_size"]
        return cls(yard, existing, rows, sizes, finance)

    def grows(self, small: str, size: str) -> bool:
        table = self.sizes[0]
        return bool(table[small]["site_m2"] < table[size]["site_m2"])

    def rows(
        self,
        place: dict[Key, int],
        small: str,
        size: str,
        bought: int,
        *,
        stands: bool = False,
    ) -> list[tuple[int, int, int, int, bool, list[float], float]]:
        """List a purchase with every year in which it may be given up."""
        years = len(self.sizes)
        number = place[(self.yard, size)]
        before = place[(self.yard, small)] if small else -1
        made = []
        for until in [*range(bought + 1, years), years]:
            capital, salvage = self._money(small, size, bought, until, stands=stands)
            made.append((before, number, bought, until, stands, capital, salvage))
        return made

    def _money(
        self, small: str, size: str, bought: int, until: int, *, stands: bool
    ) -> tuple[list[float], float]:
        works = self._costs(small, size, "works_cost")
        machines = self._costs(small, size, "machine_cost")
        lives = self.sizes[0][size]
        parts = [BoughtPart(machines, lives["machine_life_years"], free=stands)]
        if not stands:  # works that stand outlast the way
            parts.append(BoughtPart(works, lives["works_life_years"]))
        money = [part.money(bought, until, self.finance.discount) for part in parts]
        capital = [sum(paid) for paid in zip(*(paid for paid, _ in money), strict=True)]
        if until < len(capital):
            capital[until] += self.finance.closing * works[until]
        return capital, self.finance.salvage * sum(left for _, left in money)

    def _costs(self, small: str, size: str, column: str) -> tuple[float, ...]:
        """Give what the larger size costs more than the smaller one, each year."""
        found = []
        for yard, sizes in zip(self.yards, self.sizes, strict=True):
            factor = 1.0
            if column == "works_cost" and yard is not None:
                factor = yard["works_factor"]
            less = sizes[small][column] if small else 0.0
            found.append(factor * max(0.0, sizes[size][column] - less))
        return tuple(found)
