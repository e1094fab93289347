"""What stands and works in which year, as a matrix: columns, rows, money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from logistics.model import Flags, Floats, Integers, Key, Matrix, optimum
from logistics.years.purchases import Purchases

CENT = 0.005
"""Money below this is rounding. [money]"""


@dataclass(frozen=True, eq=False)
class Money:
    """
    What the years allow, and what yards cost in them besides what they work.

    Attributes
    ----------
    capital
        Most that may be spent, length y; infinite without a limit. [money]
    carry_over
        Whether what is left over may be spent the year after, length y.
    running
        Rent and fixed cost of a yard that works, shape (y, k). [money/yr]
    idle_share
        What of that a yard costs that stands and does not work. [1]
    discount
        [1/yr]
    """

    capital: Floats
    carry_over: Floats
    running: Floats
    idle_share: float
    discount: float

    @property
    def idle(self) -> Floats:
        """Cost of a yard that stands idle, out of capital, (y, k). [money/yr]"""
        return self.idle_share * self.running

    @property
    def begins(self) -> Floats:
        """What money at the beginning of each year is worth at the first. [1]"""
        return np.asarray(
            (1 + self.discount) ** -np.arange(len(self.capital), dtype=float)
        )

    @property
    def ends(self) -> Floats:
        """What money at the end of each year is worth at the first beginning. [1]"""
        return np.asarray(self.begins / (1 + self.discount))


@dataclass(frozen=True, eq=False)
class Stage:
    """
    The first stage: purchases p, then what works (y, k), then capital carried over (y).

    Attributes
    ----------
    matrix
        Costs in present money, divided by `scale`; none where the goal is no money.
    spent
        The same costs undivided, whatever the goal, with rent and fixed cost of what
        works. [money]
    weights
        What each year weighs, 1 in all: money by its end, tonnes alike. Length y.
    held
        What stands, shape (y * k, p), sparse.
    working
        Columns of what works, shape (y, k).
    carried
        Columns of what is carried over, length y.
    budget
        Row of the capital of each year; -1 without a limit. Length y.
    scale
        Sum of what the years weigh, before it is made 1.
    """

    matrix: Matrix
    spent: Floats
    weights: Floats
    held: sparse.csr_matrix
    working: Integers
    carried: Integers
    budget: Integers
    scale: float

    def unpriced(self) -> Stage:
        """Weigh all years alike, and no purchase."""
        years = len(self.weights)
        matrix = replace(self.matrix, cost=np.zeros_like(self.matrix.cost))
        shares = np.full(years, 1 / years)
        return replace(self, matrix=matrix, weights=shares, scale=float(years))

    def standing(self, x: Floats) -> Floats:
        """Mark what stands, shape (y, k)."""
        bought = x[: self.held.shape[1]]
        return np.asarray(self.held @ bought).reshape(self.working.shape)


def first_stage_of(
    keys: Sequence[Key],
    bought: Purchases,
    offered: Sequence[set[Key]],
    must: set[str],
    most_yards: int | None,
    money: Money,
) -> Stage:
    """
    Write the first stage.

    Parameters
    ----------
    keys, bought, offered
        See `purchases`.
    must
        Yards that must work in the last year.
    most_yards
        Most yards that may work in a year.
    money
        Of the years.
    """
    years, count, p = len(offered), len(keys), len(bought.year)
    held = _held(bought, years, count)
    working = p + np.arange(years * count).reshape(years, count)
    carried = p + years * count + np.arange(years)
    width = p + years * count + years
    rows, below, above = list[sparse.csr_matrix](), list[Floats](), list[Floats]()

    def add(
        matrix: sparse.csr_matrix, low: float | Floats, high: float | Floats
    ) -> int:
        first = sum(m.shape[0] for m in rows)
        rows.append(matrix)
        below.append(np.broadcast_to(np.asarray(low, float), (matrix.shape[0],)))
        above.append(np.broadcast_to(np.asarray(high, float), (matrix.shape[0],)))
        return first

    def wide(columns: sparse.csr_matrix, first: int) -> sparse.csr_matrix:
        left = sparse.csr_matrix((columns.shape[0], first))
        right = sparse.csr_matrix((columns.shape[0], width - first - columns.shape[1]))
        return sparse.hstack([left, columns, right]).tocsr()

    add(
        wide(held, 0) - wide(sparse.identity(years * count, format="csr"), p),
        0.0,
        np.inf,
    )
    add(wide(_chains(bought, years, count), 0), 0.0, np.inf)
    names = [yard for yard, _ in keys]
    site = _groups(names, count)
    by_site = sparse.kron(sparse.identity(years), site).tocsr()
    add(wide(by_site @ held, 0), -np.inf, 1.0)
    old = _groups_of(bought.size_to, bought.stands, count)
    if old.shape[0]:
        add(wide(old, 0), 1.0, 1.0)
    if most_yards is not None:
        each = sparse.kron(sparse.identity(years), np.ones((1, count))).tocsr()
        add(wide(each, p), -np.inf, float(most_yards))
    for code in sorted(must & set(names)):
        line = np.zeros((1, years * count))
        line[0, (years - 1) * count + np.flatnonzero([n == code for n in names])] = 1.0
        add(wide(sparse.csr_matrix(line), p), 1.0, np.inf)
    budget = np.full(years, -1, dtype=np.int64)
    for y in np.flatnonzero(np.isfinite(money.capital)).tolist():
        line = np.zeros((1, width))
        here = held[y * count : (y + 1) * count]
        line[0, :p] = bought.capital[:, y] + here.T @ money.idle[y]
        line[0, working[y]] = -money.idle[y]
        line[0, carried[y]] = 1.0
        if y:
            line[0, carried[y - 1]] = -1.0
        budget[y] = add(sparse.csr_matrix(line), -np.inf, float(money.capital[y]))
    high = np.ones(width)
    high[working] = [[float(key in now) for key in keys] for now in offered]
    high[carried] = np.where(
        np.isfinite(money.capital) & (money.carry_over > 0), np.inf, 0.0
    )
    high[carried[-1]] = 0.0
    integer = np.ones(width, dtype=bool)
    integer[carried] = False
    cost = np.zeros(width)
    idle = (money.idle * money.begins[:, None]).ravel()
    end = money.begins[-1] / (1 + money.discount)
    cost[:p] = bought.capital @ money.begins - bought.salvage * end + held.T @ idle
    cost[working.ravel()] = -idle
    scale = float(money.ends.sum())
    matrix = Matrix(
        rows=sparse.vstack(rows).tocsc(),
        cost=cost / scale,
        low=np.zeros(width),
        high=high,
        below=np.concatenate(below),
        above=np.concatenate(above),
        constant=0.0,
        integer=integer,
    )
    spent = cost.copy()
    spent[working] += money.running * money.ends[:, None]
    shares = money.ends / scale
    return Stage(matrix, spent, shares, held, working, carried, budget, scale)


def short_of_capital(stage: Stage) -> dict[int, float]:
    """
    Say what capital is short by place of the year, the least in all. [money]

    None is short where something can be bought, kept or cleared within the limits.
    """
    limited = np.flatnonzero(stage.budget >= 0)
    first = stage.matrix
    if optimum(replace(first, cost=np.zeros(len(first.cost))), integer=True):
        return {}
    shape = (len(first.below), len(limited))
    ones = -np.ones(len(limited))
    at = (stage.budget[limited], np.arange(len(limited)))
    more = sparse.csc_matrix((ones, at), shape=shape)
    free = replace(first, cost=np.zeros(len(first.cost)), constant=0.0)
    each = 1 - 1e-6 * np.arange(len(limited), dtype=float)  # of equals, the latest
    found = optimum(free.extend(more, each), integer=True)
    if found is None:
        return {}
    short = found.values[len(first.cost) :]
    return {
        y: by
        for y, by in zip(limited.tolist(), short.tolist(), strict=True)
        if by > CENT
    }


def _held(bought: Purchases, years: int, count: int) -> sparse.csr_matrix:
    """Say what stands of each purchase: 1 in its size, -1 in the size it replaces."""
    rows, columns, values = list[int](), list[int](), list[float]()
    table = zip(
        bought.size_from.tolist(),
        bought.size_to.tolist(),
        bought.year.tolist(),
        bought.until.tolist(),
        strict=True,
    )
    for n, (old, new, first, until) in enumerate(table):
        for y in range(first, until):
            rows.append(y * count + new)
            columns.append(n)
            values.append(1.0)
            if old >= 0:
                rows.append(y * count + old)
                columns.append(n)
                values.append(-1.0)
    shape = (years * count, len(bought.year))
    return sparse.csr_matrix((values, (rows, columns)), shape=shape)


def _chains(bought: Purchases, years: int, count: int) -> sparse.csr_matrix:
    """
    Enlarge only what stands and is given up in the same year.

    One row for each size that may be enlarged, year of giving up, and year before it.
    """
    lines, place = list[tuple[int, int, float]](), dict[tuple[int, int, int], int]()
    for n, old in enumerate(bought.size_from.tolist()):
        if old < 0:
            continue
        first, until = int(bought.year[n]), int(bought.until[n])
        for y in range(first, until):
            row = place.setdefault((old, until, y), len(place))
            lines.append((row, n, -1.0))
    for n, new in enumerate(bought.size_to.tolist()):
        first, until = int(bought.year[n]), int(bought.until[n])
        for y in range(first, until):
            row = place.get((new, until, y), -1)
            if row >= 0:
                lines.append((row, n, 1.0))
    rows, columns, values = zip(*lines, strict=True) if lines else ((), (), ())
    shape = (len(place), len(bought.year))
    return sparse.csr_matrix((values, (rows, columns)), shape=shape)


def _groups(names: Sequence[str], count: int) -> sparse.csr_matrix:
    """One row a name, one column an entry."""
    place = {name: n for n, name in enumerate(dict.fromkeys(names))}
    rows = [place[name] for name in names]
    ones = np.ones(count)
    return sparse.csr_matrix(
        (ones, (rows, np.arange(count))), shape=(len(place), count)
    )


def _groups_of(size: Integers, stands: Flags, count: int) -> sparse.csr_matrix:
    """One row for each yard that stands before the first year: it is one purchase."""
    old = np.unique(size[stands])
    rows = np.searchsorted(old, size[stands])
    columns = np.flatnonzero(stands)
    shape = (len(old), len(size))
    return sparse.csr_matrix((np.ones(len(rows)), (rows, columns)), shape=shape)
