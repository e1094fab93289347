"""
Fleet sizing as a mixed-integer programme: own trucks of each type, with the flows.

The rows stay as they are. Own trucks are taken out of them, every hour is bought at the
rate of hire, and own hours O get that rate back; integers N of own trucks limit
them. With H the hours bought, limit what may be hired, hours what one truck works::

    O[v,t] <= H[v,t],  O[v,t] <= hours[v,t] * N[v],  H[v,t] - O[v,t] <= limit[v,t]
    cost + sum_v fixed[v] * N[v] - sum_v,t rate[v] * O[v,t]
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
    trucks = instance.trucks
    most = own.most[:, None] * own.hours
    bought = replace(
        instance,
        trucks=replace(
            trucks,
            owned_hours=np.zeros_like(most),
            hire_hours=trucks.hire_hours + most,
            fixed_annual=0.0,
        ),
    )
    programme, variables = build(bought)
    terms, constant = cost_terms(variables, bought)
    more: Terms = []
    numbers = []
    for v, code in enumerate(trucks.codes):
        low, high = int(own.least[v]), int(own.most[v])
        number = programme.number(f"own.{code}", low, high)
        numbers.append(number)
        more.append((number, float(own.fixed[v])))
        for t, period in enumerate(instance.periods):
            if (v, t) not in variables.hired:
                continue
            hired, name = variables.hired[v, t], f"{code}.{period}"
            used = programme.variable(f"own_hours.{name}")
            more.append((used, -float(trucks.hire_per_hour[v])))
            programme.at_most(f"own_bought.{name}", [(used, 1.0), (hired, -1.0)])
            hours = float(own.hours[v, t])
            programme.at_most(f"own_hours.{name}", [(used, 1.0), (number, -hours)])
            limit = float(trucks.hire_hours[v, t])
            if np.isfinite(limit):
                row: Terms = [(hired, 1.0), (used, -1.0)]
                programme.at_most(f"own_limit.{name}", row, limit)
    programme.minimise([*terms, *more], constant)
    return programme, variables, numbers
