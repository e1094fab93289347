"""Yards and rounds chosen together: the records, and every rule reckoned afresh."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from logistics.rounds.check import SLACK, faults
from logistics.rounds.leg_times import cost
from logistics.rounds.records import RoundsSolution, Task, Tour


@dataclass(frozen=True, eq=False)
class Siting:
    """
    Candidate yards with stops and trucks.

    Attributes
    ----------
    task
        Bases are the candidate yards.
    opening_money
        Of each base, paid if a tour leaves from it. [money]
    capacity_t
        Most that all tours bring to each base. [t]
    """

    task: Task
    opening_money: tuple[float, ...]
    capacity_t: tuple[float, ...]

    def __post_init__(self) -> None:
        """Check that tables fit each other."""
        count = len(self.task.bases)
        for name in ("opening_money", "capacity_t"):
            if len(getattr(self, name)) != count:
                given = len(getattr(self, name))
                message = f"{name} has {given} entries for {count} bases"
                raise ValueError(message)


def loads_t(siting: Siting, tours: Iterable[Tour]) -> list[float]:
    """Tonnes that tours bring to each candidate yard. [t]"""
    loads = [0.0] * len(siting.task.bases)
    for tour in tours:
        base = siting.task.trucks[tour.truck].base
        loads[base] += sum(siting.task.stops[s].take_t for s in tour.stops)
    return loads


def located_cost(siting: Siting, answer: RoundsSolution) -> float:
    """Cost of all tours and of opening the yards they leave from. [money]"""
    used = {siting.task.trucks[tour.truck].base for tour in answer.tours}
    return cost(siting.task, answer) + sum(siting.opening_money[b] for b in used)


def located_faults(siting: Siting, answer: RoundsSolution) -> list[str]:
    """
    List all that is wrong: every rule of rounds, and the capacities of the yards.

    Examples
    --------
    >>> import numpy as np
    >>> from logistics.rounds.records import Base, Legs, Stop, Truck
    >>> none = np.zeros((2, 2))
    >>> task = Task((Base("y"),), (Stop("farm", take_t=3),), (Truck("t", 0, 0, 1, 5),),
    ...             (Legs(none, none, none, none, none),))
    >>> found = RoundsSolution((Tour(0, ((0,),)),), ())
    >>> located_faults(Siting(task, (9.0,), (2.0,)), found)
    ['y: receives 3 t of 2']
    """
    found = faults(siting.task, answer)
    loads = loads_t(siting, answer.tours)
    for base, load, most in zip(
        siting.task.bases, loads, siting.capacity_t, strict=True
    ):
        if load > most + SLACK:
            found.append(f"{base.code}: receives {load:.6g} t of {most:.6g}")
    return found
