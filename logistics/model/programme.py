"""A thin hold on PuLP: unique names, rows as lists of (variable, coefficient)."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import pulp

Terms = Iterable[tuple[pulp.LpVariable, float]]


@dataclass
class Programme:
    """
    A linear programme under construction.

    PuLP accepts a second row of the same name without a word; this does not.
    """

    problem: pulp.LpProblem = field(
        default_factory=lambda: pulp.LpProblem("loamhaul", pulp.LpMinimize)
    )
    rows: dict[str, pulp.LpConstraint] = field(default_factory=dict)

    def variable(self, name: str, high: float | None = None) -> pulp.LpVariable:
        """Add a quantity that is not negative and at most `high`."""
        return self.problem.add_variable(name, lowBound=0, upBound=high)

    def choice(self, name: str) -> pulp.LpVariable:
        """Add a yes-or-no decision."""
        return self.problem.add_variable(name, cat="Binary")

    def at_most(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms <= right."""
        self._keep(name, pulp.lpSum_vars_coefs(terms) <= float(right))

    def at_least(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms >= right."""
        self._keep(name, pulp.lpSum_vars_coefs(terms) >= float(right))

    def equal(self, name: str, terms: Terms, right: float = 0.0) -> None:
        """Add a row: sum of terms = right."""
        self._keep(name, pulp.lpSum_vars_coefs(terms) == float(right))

    def minimise(self, terms: Terms, constant: float = 0.0) -> None:
        """Set the goal."""
        self.problem.setObjective(pulp.lpSum_vars_coefs(terms) + float(constant))

    def _keep(self, name: str, row: pulp.LpAffineExpression) -> None:
        if name in self.rows:
            message = f"two rows are called {name!r}"
            raise ValueError(message)
        self.rows[name] = self.problem.addConstraint(row, name)
