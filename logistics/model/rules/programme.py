"""A programme under construction: quantities, rows of terms, a goal; and in PuLP."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import pulp

INF = float("inf")


@dataclass(slots=True, eq=False)
class Quantity:
    """
    One decision.

    Attributes
    ----------
    name, number
        Unique; its place among the columns.
    low, high
        It is from low to high; None is without an end.
    integer
        It must be an integer.
    amount
        What the solver found, 0 before.
    """

    name: str
    number: int
    low: float = 0.0
    high: float | None = None
    integer: bool = False
    amount: float = 0.0


@dataclass(frozen=True, slots=True)
class SumOfFlows:
    """A sum of flows on lanes that are laid out beside the programme; see `sums`."""

    name: str
    key: tuple[int, ...]


Terms = Iterable[tuple[Quantity | SumOfFlows, float]]


@dataclass(slots=True, eq=False)
class Constraint:
    """
    One rule: below <= sum of terms <= above.

    Attributes
    ----------
    columns, values
        Columns and their coefficients.
    below, above
        Its sides.
    sums
        Sums of flows laid out beside the programme, and their coefficients.
    """

    columns: list[int]
    values: list[float]
    below: float
    above: float
    sums: list[tuple[SumOfFlows, float]] = field(default_factory=list)


@dataclass
class Programme:
    """
    A linear programme under construction.

    Attributes
    ----------
    columns, rows
        In order, rows by name.
    goal, constant
        Terms to be least, and what is added to them.
    goal_sums
        Sums of flows laid out beside the programme that the goal holds as well.
    """

    columns: list[Quantity] = field(default_factory=list)
    rows: dict[str, Constraint] = field(default_factory=dict)
    goal: list[tuple[Quantity, float]] = field(default_factory=list)
    constant: float = 0.0
    goal_sums: list[tuple[SumOfFlows, float]] = field(default_factory=list)

    def variable(self, name: str, high: float | None = None) -> Quantity:
        """Add a quantity that is not negative and at most `high`."""
        return self._add(Quantity(name, len(self.columns), high=high))

    def choice(self, name: str) -> Quantity:
        """Add a yes-or-no decision."""
        return self.number(name, 0, 1)

    def number(self, name: str, low: int, high: int) -> Quantity:
        """Add an integer."""
        return self._add(Quantity(name, len(self.columns), low, high, integer=True))

    def at_most(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms <= right."""
        self._keep(name, terms, -INF, float(right))

    def at_least(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms >= right."""
        self._keep(name, terms, float(right), INF)

    def equal(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms = right."""
        self._keep(name, terms, float(right), float(right))

    def minimise(self, terms: Terms, constant: float = 0.0) -> None:
        """Set the goal."""
        self.goal, self.goal_sums = _parted(terms)
        self.constant = float(constant)

    def in_pulp(self) -> tuple[pulp.LpProblem, list[pulp.LpVariable]]:
        """
        Write it with PuLP; its variables are in the order of the columns.

        Raises
        ------
        ValueError
            If flows are laid out beside the programme.
        """
        if self.goal_sums or any(row.sums for row in self.rows.values()):
            message = "a frame without its flows cannot be solved by itself"
            raise ValueError(message)
        problem = pulp.LpProblem("loamhaul", pulp.LpMinimize)
        there = [
            problem.add_variable(
                x.name, x.low, x.high, "Integer" if x.integer else "Continuous"
            )
            for x in self.columns
        ]
        for name, row in self.rows.items():
            entries = zip(row.columns, row.values, strict=True)
            left = pulp.lpSum_vars_coefs([(there[n], c) for n, c in entries])
            if row.below == row.above:
                rule = left == row.above
            else:
                rule = left <= row.above if row.below == -INF else left >= row.below
            problem.addConstraint(rule, name)
        goal = pulp.lpSum_vars_coefs([(there[x.number], c) for x, c in self.goal])
        problem.setObjective(goal + self.constant)
        return problem, there

    def _add(self, quantity: Quantity) -> Quantity:
        self.columns.append(quantity)
        return quantity

    def _keep(self, name: str, terms: Terms, below: float, above: float) -> None:
        if name in self.rows:
            message = f"two rows are called {name!r}"
            raise ValueError(message)
        alone, sums = _parted(terms)
        self.rows[name] = Constraint(
            [x.number for x, _ in alone], [c for _, c in alone], below, above, sums
        )


def amount_of(terms: Terms) -> float:
    """Sum terms as solved; flows laid out beside the programme are an error."""
    alone, sums = _parted(terms)
    if sums:
        message = "a frame without its flows has no amounts"
        raise ValueError(message)
    return sum(c * x.amount for x, c in alone)


def _parted(
    terms: Terms,
) -> tuple[list[tuple[Quantity, float]], list[tuple[SumOfFlows, float]]]:
    """Part terms into quantities and sums of flows laid out elsewhere."""
    alone, sums = [], []
    for x, c in terms:
        if isinstance(x, Quantity):
            alone.append((x, c))
        else:
            sums.append((x, c))
    return alone, sums
