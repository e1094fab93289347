"""Yards and rounds chosen together: the records, and every rule reckoned afresh."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import linear_sum_assignment

from logistics.rounds.check import SLACK, faults
from logistics.rounds.leg_times import cost
from logistics.rounds.records import Floats, RoundsSolution, Task, Tour

NEVER = 1e12
"""Stands for a size that a site may not have. [money]"""


@dataclass(frozen=True, eq=False)
class Siting:
    """
    Candidate yards with stops and trucks.

    Attributes
    ----------
    task
        Bases are the candidate yards, each in one size.
    opening_money
        Of each base, paid if it is open. [money]
    capacity_t
        Most that all tours bring to each base. [t]
    site
        Number of the site of each base, of which no two may be open; by default each
        has its own.
    sort, wanted
        Sort of each base, and how many of every sort are open, with tours or without;
        without these, those are open that have tours.
    always
        Bases that are open whatever happens.
    fleet
        Positions of trucks and how many of them may be out in all.
    """

    task: Task
    opening_money: tuple[float, ...]
    capacity_t: tuple[float, ...]
    site: tuple[int, ...] = ()
    sort: tuple[int, ...] = ()
    wanted: tuple[int, ...] = ()
    always: tuple[int, ...] = ()
    fleet: tuple[tuple[tuple[int, ...], int], ...] = ()
    known: dict[frozenset[int], tuple[float, tuple[int, ...]]] = field(
        default_factory=dict, repr=False
    )
    """What `opened` found."""

    def __post_init__(self) -> None:
        """Fill in what was left out, and check that tables fit each other."""
        count = len(self.task.bases)
        if not self.site:
            object.__setattr__(self, "site", tuple(range(count)))
        if not self.sort:
            object.__setattr__(self, "sort", (0,) * count)
        for name in ("opening_money", "capacity_t", "site", "sort"):
            if len(getattr(self, name)) != count:
                given = len(getattr(self, name))
                message = f"{name} has {given} entries for {count} bases"
                raise ValueError(message)


def opened(siting: Siting, used: Iterable[int]) -> tuple[float, tuple[int, ...]]:
    """
    Open at least cost what is used, what is always open, and as many as are wanted.

    Parameters
    ----------
    siting
        Candidate yards.
    used
        Bases from which tours leave.

    Returns
    -------
    tuple
        Money, infinite if two bases of a site or too many of a sort are among them;
        and the bases that are open, in order.

    Examples
    --------
    Base 0 is used; two are to be open, and of the others base 2 costs least:

    >>> from logistics.rounds.records import Base
    >>> task = Task((Base("a"), Base("b"), Base("c")), (), (), ())
    >>> opened(Siting(task, (5, 9, 7), (1, 1, 1), wanted=(2,)), [0])
    (12.0, (0, 2))
    """
    key = frozenset(used) | frozenset(siting.always)
    if key not in siting.known:
        siting.known[key] = _opened(siting, sorted(key))
    return siting.known[key]


def _opened(siting: Siting, core: list[int]) -> tuple[float, tuple[int, ...]]:
    """Give what is still wanted of each sort to sites (an assignment problem)."""
    money = np.array(siting.opening_money)
    taken = {siting.site[b] for b in core}
    have = Counter(siting.sort[b] for b in core)
    if len(taken) < len(core) or any(
        have[k] > most for k, most in enumerate(siting.wanted)
    ):
        return float("inf"), ()
    missing = [k for k, most in enumerate(siting.wanted) for _ in range(most - have[k])]
    sites = sorted(set(siting.site) - taken)
    base_of = {(siting.sort[b], siting.site[b]): b for b in reversed(range(len(money)))}
    table = np.full((len(missing), len(sites)), NEVER)
    for row, sort in enumerate(missing):
        for column, site in enumerate(sites):
            if (sort, site) in base_of:
                table[row, column] = money[base_of[sort, site]]
    rows, columns = linear_sum_assignment(table)
    if len(rows) < len(missing) or (table[rows, columns] >= NEVER).any():
        return float("inf"), ()
    more = [base_of[missing[r], sites[c]] for r, c in zip(rows, columns, strict=True)]
    chosen = sorted([*core, *more])
    return float(money[chosen].sum()), tuple(chosen)


def one_a_site(siting: Siting) -> Floats:
    """Rows of a programme: which bases are on each site, shape (sites, bases)."""
    sites = np.array(siting.site)
    return np.array(sites[None, :] == np.unique(sites)[:, None], dtype=float)


def loads_t(siting: Siting, tours: Iterable[Tour]) -> list[float]:
    """Tonnes that tours bring to each candidate yard. [t]"""
    loads = [0.0] * len(siting.task.bases)
    for tour in tours:
        base = siting.task.trucks[tour.truck].base
        loads[base] += sum(siting.task.stops[s].take_t for s in tour.stops)
    return loads


def used_bases(siting: Siting, answer: RoundsSolution) -> tuple[int, ...]:
    """Bases from which tours leave."""
    return tuple(sorted({siting.task.trucks[t.truck].base for t in answer.tours}))


def located_cost(siting: Siting, answer: RoundsSolution) -> float:
    """Cost of all tours and of the yards that are open, see `opened`. [money]"""
    opening, _ = opened(siting, used_bases(siting, answer))
    return cost(siting.task, answer) + opening


def over_fleet(siting: Siting, tours: Iterable[Tour]) -> list[tuple[str, int, int]]:
    """Truck, number out and limit, of fleets of which too many are out."""
    out = Counter(tour.truck for tour in tours)
    counted = [
        (siting.task.trucks[group[0]].code, sum(out[v] for v in group), most)
        for group, most in siting.fleet
    ]
    return [row for row in counted if row[1] > row[2]]


def located_faults(siting: Siting, answer: RoundsSolution) -> list[str]:
    """
    List all that is wrong: the rules of rounds, capacities, sites, sorts and fleet.

    Examples
    --------
    >>> import numpy as np
    >>> from logistics.rounds.records import Base, Legs, Stop, Truck
    >>> none = np.zeros((2, 2))
    >>> task = Task((Base("y"),), (Stop("farm", take_t=3),), (Truck("t", 0, 0, 1, 5),),
    ...             (Legs(none, none, none, none, none),))
    >>> answer = RoundsSolution((Tour(0, ((0,),)),), ())
    >>> located_faults(Siting(task, (9.0,), (2.0,)), answer)
    ['y: receives 3 t of 2']
    """
    found = faults(siting.task, answer)
    if opened(siting, used_bases(siting, answer))[0] == float("inf"):
        found.append("a yard has two sizes, or too many have the same")
    found += [
        f"{code}: {count} are out of {most}"
        for code, count, most in over_fleet(siting, answer.tours)
    ]
    loads = loads_t(siting, answer.tours)
    for base, load, most in zip(
        siting.task.bases, loads, siting.capacity_t, strict=True
    ):
        if load > most + SLACK:
            found.append(f"{base.code}: receives {load:.6g} t of {most:.6g}")
    return found
