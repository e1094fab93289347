"""
Fleet sizing as a mixed-integer programme: own trucks of each type, with the flows.

The rows stay as they are, as if as many were owned as may be. Integers M say how many
are, and those with a home at a yard, N[o,v], are no more::

    sum_o N[o,v] <= M[v],  least[v] <= M[v] <= most[v]
    cost + sum_v fixed[v] * M[v]
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Floats, Instance, Integers
from logistics.model.rules import (
    Programme,
    Quantity,
    Terms,
    Variables,
    build,
    cost_terms,
)
from logistics.model.solving.highs import Answer, Session, run_solver
from logistics.model.solving.plan_reader import opened_options


@dataclass(frozen=True, eq=False)
class OwnTrucks:
    """
    What may be owned, by truck type.

    Attributes
    ----------
    least, most
        Fewest and most trucks, shape (v,).
    fixed
        Fixed cost of one. [money/yr]
    hours
        Hours that one works, shape (v, t). [h]
    """

    least: Integers
    most: Integers
    fixed: Floats
    hours: Floats


@dataclass(frozen=True, eq=False)
class DecidedFleet:
    """
    Own trucks decided.

    Attributes
    ----------
    counts
        Trucks of each type, shape (v,).
    opened
        Options open in that plan (mask, length o).
    answer
        What the solver proves of the joint choice.
    """

    counts: Integers
    opened: Flags
    answer: Answer


def with_own(instance: Instance, own: OwnTrucks, counts: Integers) -> Instance:
    """Return the instance with so many own trucks."""
    trucks = replace(
        instance.trucks,
        owned_hours=counts[:, None] * own.hours,
        fixed_annual=float(counts @ own.fixed),
        own=counts,
    )
    return replace(instance, trucks=trucks)


def decide_own(
    instance: Instance, own: OwnTrucks, session: Session, opened: Flags | None = None
) -> DecidedFleet | None:
    """
    Choose yards and own trucks together, or own trucks for given yards.

    Parameters
    ----------
    instance
        The problem, its goal least cost; its own trucks are left aside.
    own
        What may be owned.
    session
        Gap and time.
    opened
        Yards that are given (mask, length o); None decides them as well.

    Returns
    -------
    DecidedFleet or None
        None where the demands cannot be met, or the time was too short.
    """
    given = instance if opened is None else instance.with_yards(opened)
    programme, variables, trucks = programme_of(given, own)
    answer = run_solver(programme, session, phase="own trucks")
    if answer.incumbent is None:
        return None
    counts = np.array([round(n.amount) for n in trucks], dtype=np.int64)
    decided = opened_options(variables) if opened is None else opened
    return DecidedFleet(counts, decided, answer)


def programme_of(
    instance: Instance, own: OwnTrucks
) -> tuple[Programme, Variables, list[Quantity]]:
    """Write the programme in which own trucks are integers; and these."""
    most = np.maximum(own.most, own.least)
    ample = with_own(instance, replace(own, fixed=np.zeros_like(own.fixed)), most)
    programme, variables = build(ample)
    terms, constant = cost_terms(variables, ample)
    more: Terms = []
    numbers = []
    for v, code in enumerate(instance.trucks.codes):
        number = programme.number(f"own.{code}", int(own.least[v]), int(most[v]))
        numbers.append(number)
        more.append((number, float(own.fixed[v])))
        based: Terms = [(n, 1.0) for (_, u), n in variables.based.items() if u == v]
        if based:
            programme.at_most(f"own.{code}", [*based, (number, -1.0)])
    programme.minimise([*terms, *more], constant)
    return programme, variables, numbers
