"""The part of the audit that counts truck hours against own and hired trucks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logistics.model import hired_beside

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.results.plan_amounts import PlanArrays

Floats = NDArray[np.float64]
Check = tuple[str, Floats, Floats]


def truck_checks(inst: Instance, a: PlanArrays, hours: Floats) -> Iterator[Check]:
    """
    Drive no longer than the trucks that are there, and base no more than are owned.

    Parameters
    ----------
    inst, a
        The problem, and the plan as arrays.
    hours
        Driven by truck type, yard and period, shape (v, j, t). [h]
    """
    trucks = inst.trucks
    hired = a.hired.sum(axis=1)
    limit = np.minimum(trucks.hire_hours, 1e15)
    yield "hire", hired - limit, hired
    if trucks.own is None:
        total = hours.sum(axis=1)
        owned = np.where(np.isinf(trucks.owned_hours), total, trucks.owned_hours)
        yield "truck hours", total - owned - hired, total
        return
    count = np.maximum(trucks.own, 1)[:, None]
    each = np.where(trucks.own[:, None] > 0, trucks.owned_hours / count, 0.0)
    there = a.bases[:, :, None] * np.minimum(each, 1e15)[:, None, :]
    there = np.where(np.isinf(trucks.owned_hours)[:, None, :], hours, there)
    yield "truck hours", hired_beside(hours, there, trucks) - a.hired, hours
    based = a.bases.sum(axis=1)
    own = trucks.own.astype(float)
    yield "own trucks based", based - own, own
    yield "own trucks whole", np.abs(a.bases - np.round(a.bases)), np.ones(1)
    shut = np.where(a.size < 0, a.bases, 0.0)
    yield "own trucks at open yards", shut, np.ones(1)
