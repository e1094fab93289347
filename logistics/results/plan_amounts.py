"""A plan's tables as arrays over the index sets of its instance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.model import Instance, Plan
from logistics.results.audit_backhaul import Saved, saved_by_backhauls

Floats = NDArray[np.float64]


TOLERANCE = 1e-5
"""Breach allowed as a share of the size of the row."""


class AuditError(RuntimeError):
    """A plan breaks a rule: a bug of ours, so the plan is not shown."""


@dataclass(frozen=True, eq=False)
class PlanArrays:
    """The plan's tables as arrays over the instance's index sets. [t], [h], [trucks]"""

    size: NDArray[np.int64]
    inbound: Floats
    outbound: Floats
    left: Floats
    held: Floats
    stock: Floats
    charge: Floats
    water: Floats
    compost: Floats
    leftover: Floats
    made: Floats
    hired: Floats
    bases: Floats
    saved: Saved


def amounts(inst: Instance, plan: Plan) -> PlanArrays:
    """Spread the plan's tables over the index sets; unknown codes are an error."""
    j, n, v = inst.yards.codes, inst.markets.codes, inst.trucks.codes
    i, m, t = inst.supply.codes, inst.feed.codes, inst.periods
    compost = plan.compost
    return PlanArrays(
        size=_sizes(inst, plan),
        inbound=_array(plan.hauls, ["source", "yard", "truck", "period"], (i, j, v, t)),
        outbound=_array(
            plan.deliveries, ["market", "yard", "truck", "period"], (n, j, v, t)
        ),
        left=_array(plan.uncollected, ["source", "period"], (i, t)),
        held=_array(plan.held, ["source", "period"], (i, t)),
        stock=_array(plan.stock, ["yard", "feedstock", "period"], (j, m, t)),
        charge=_array(plan.charges, ["yard", "feedstock", "period"], (j, m, t)),
        water=_array(plan.water, ["yard", "period"], (j, t)),
        compost=_array(compost, ["yard", "period"], (j, t), "stock_t"),
        leftover=_array(compost, ["yard", "period"], (j, t), "leftover_t"),
        made=_array(compost, ["yard", "period"], (j, t), "made_t"),
        hired=_array(plan.hired, ["truck", "yard", "period"], (v, j, t), "hours"),
        bases=_array(plan.bases, ["truck", "yard"], (v, j), "count"),
        saved=saved_by_backhauls(inst, plan.paired),
    )


def _sizes(inst: Instance, plan: Plan) -> NDArray[np.int64]:
    """Option that each yard is built as, length j; -1 where it is not built."""
    names = inst.yards.codes
    pairs = zip(inst.options.yard.tolist(), inst.options.size, strict=True)
    offered = {(names[j], size): o for o, (j, size) in enumerate(pairs)}
    size = np.full(len(names), -1)
    for code, built in plan.yard_sizes:
        if (code, built) not in offered:
            message = f"the plan names an unknown yard or size: {code}, {built}"
            raise AuditError(message)
        where = names.index(code)
        if size[where] >= 0:
            message = f"yard {code} is open in two sizes"
            raise AuditError(message)
        size[where] = offered[code, built]
    return size


def _array(
    table: pd.DataFrame,
    keys: list[str],
    codes: tuple[tuple[str, ...], ...],
    value: str = "tonnes",
) -> Floats:
    array = np.zeros([len(c) for c in codes])
    index = []
    for key, known in zip(keys, codes, strict=True):
        place = table[key].map({code: n for n, code in enumerate(known)})
        if place.isna().any():
            message = f"the plan names an unknown {key}: {table[key][place.isna()]}"
            raise AuditError(message)
        index.append(place.to_numpy(dtype=np.int64))
    np.add.at(array, tuple(index), table[value].to_numpy(dtype=float))
    return array
