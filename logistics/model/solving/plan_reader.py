"""Read the solution of a programme into the tables of a plan."""

from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from logistics.model.problem import (
    PART,
    Flags,
    Floats,
    Instance,
    Plan,
    no_paired_trips,
)
from logistics.model.rules import Variables
from logistics.model.solving.amounts import Amounts, DecisionAmounts

TOLERANCE = 1e-7
"""Quantities below this are rounding noise of the solver. [t], [h]"""

Code = tuple[str, Sequence[str]]
"""Name of a column, and the code of each index."""


def read_plan(
    inst: Instance,
    found: Amounts,
    *,
    status: str,
    objective: float,
    bound: float,
    gap: float,
    seconds: float,
    worth: pd.DataFrame | None = None,
    shortages: pd.DataFrame | None = None,
) -> Plan:
    """Turn amounts into a plan; see Plan for the columns."""
    opened = found.opened.index[found.opened.value > 0.5, 0].tolist()
    yard = ("yard", [inst.yards.codes[j] for j in inst.options.yard.tolist()])
    source, period = ("source", inst.supply.codes), ("period", inst.periods)
    feedstock = ("feedstock", inst.feed.codes)
    yards = pd.DataFrame(
        {
            "yard": [yard[1][o] for o in opened],
            "size": [inst.options.size[o] for o in opened],
        }
    )
    return Plan(
        status=status,
        objective=objective,
        bound=bound,
        gap=gap,
        seconds=seconds,
        yards=yards,
        hauls=_flow_table(inst, found.hauled, yard, "source"),
        deliveries=_flow_table(inst, found.delivered, yard, "market"),
        uncollected=_table(found.left, source, period),
        held=_table(found.held, source, period),
        stock=_table(found.stock, yard, feedstock, period),
        charges=_table(found.charge, yard, feedstock, period),
        water=_table(found.water, yard, period),
        compost=_compost_table(inst, found, yard[1]),
        hired=_hired_table(inst, found),
        bases=_bases_table(inst, found),
        shortages=_shortages(()) if shortages is None else shortages,
        worth=_empty_worth() if worth is None else worth,
        paired=_paired_table(inst, found.paired),
    )


def opened_options(variables: Variables) -> Flags:
    """Mark the options that are open, length o."""
    values = [variables.opened[o].amount for o in sorted(variables.opened)]
    return np.array(values) > 0.5


def _table(
    decision: DecisionAmounts, *codes: Code, quantity: str = "tonnes"
) -> pd.DataFrame:
    """Make a table of amounts above `TOLERANCE`, a column an index; text stays text."""
    there = np.flatnonzero(decision.value > TOLERANCE)
    columns: dict[str, Sequence[str]] = {
        name: [code[n] for n in at]
        for (name, code), at in zip(
            codes, decision.index[there].T.tolist(), strict=True
        )
    }
    kinds: dict[str, str] = dict.fromkeys(columns, "str")
    table = pd.DataFrame({**columns, quantity: decision.value[there]})
    return table.astype({**kinds, quantity: "float64"})


def _flow_table(
    inst: Instance, decision: DecisionAmounts, yard: Code, site: str
) -> pd.DataFrame:
    """Flows on lanes by places, truck and period."""
    lanes = inst.inbound if site == "source" else inst.outbound
    codes = inst.supply.codes if site == "source" else inst.markets.codes
    lane, option, period = decision.index.T
    at = np.stack([lanes.site[lane], option, lanes.truck[lane], period], axis=1)
    table = _table(
        DecisionAmounts(at, decision.value),
        (site, codes),
        yard,
        ("truck", inst.trucks.codes),
        ("period", inst.periods),
    )
    first = ["source", "yard"] if site == "source" else ["yard", "market"]
    return table[[*first, "truck", "period", "tonnes"]]


def _paired_table(inst: Instance, decision: DecisionAmounts) -> pd.DataFrame:
    """Paired trips by places, truck and period."""
    backhauls = inst.backhauls
    if backhauls is None:
        return no_paired_trips()
    n, t = decision.index.T
    places = (backhauls.source, backhauls.yard, backhauls.market, backhauls.truck)
    at = [*(place[n] for place in places), t]
    return _table(
        DecisionAmounts(np.stack(at, axis=1), decision.value),
        ("source", inst.supply.codes),
        ("yard", inst.yards.codes),
        ("market", inst.markets.codes),
        ("truck", inst.trucks.codes),
        ("period", inst.periods),
        quantity="trips",
    )


def _hired_table(inst: Instance, found: Amounts) -> pd.DataFrame:
    """
    Hired hours by truck, yard and period.

    Types that are not owned are hired over all yards together in the programme; each
    yard has the part of it that its hours are.
    """
    shape = (len(inst.trucks.codes), len(inst.yards.codes), len(inst.periods))
    hours = np.zeros(shape)
    o, v, t = found.hired_at.index.T
    np.add.at(hours, (v, inst.options.yard[o], t), found.hired_at.value)
    o, v, t = found.busy.index.T
    np.add.at(hours, (v, inst.options.yard[o], t), PART * found.busy.value)
    driven = hours_by_yard(inst, found)
    total = driven.sum(axis=1)
    for (v, t), hired in zip(
        found.hired.index.tolist(), found.hired.value.tolist(), strict=True
    ):
        if total[v, t] > 0:
            hours[v, :, t] += hired * driven[v, :, t] / total[v, t]
    index = np.argwhere(hours > 0)
    return _table(
        DecisionAmounts(index, hours[tuple(index.T)]),
        ("truck", inst.trucks.codes),
        ("yard", inst.yards.codes),
        ("period", inst.periods),
        quantity="hours",
    )


def hours_by_yard(inst: Instance, found: Amounts) -> Floats:
    """Truck hours by type, yard and period, less those that pairing saves. [h]"""
    shape = (len(inst.trucks.codes), len(inst.yards.codes), len(inst.periods))
    hours = np.zeros(shape)
    for lanes, flow in ((inst.inbound, found.hauled), (inst.outbound, found.delivered)):
        a, _, t = flow.index.T
        each = flow.value * lanes.hours[a, t]
        np.add.at(hours, (lanes.truck[a], lanes.yard[a], t), each)
    if inst.backhauls is not None:
        n, t = found.paired.index.T
        saved = found.paired.value * inst.backhauls.hours[n, t]
        at = (inst.backhauls.truck[n], inst.backhauls.yard[n], t)
        np.add.at(hours, at, -saved)
    return hours


def _bases_table(inst: Instance, found: Amounts) -> pd.DataFrame:
    """
    Own trucks at home at yards.

    Those that the plan has no work for stand where their type drives most, or where
    most is driven.
    """
    own, yards = inst.trucks.own, inst.options.yard
    count = np.zeros((len(inst.trucks.codes), len(inst.yards.codes)), dtype=np.int64)
    if own is not None:
        o, v = found.based.index.T
        np.add.at(count, (v, yards[o]), np.round(found.based.value).astype(np.int64))
        hours = hours_by_yard(inst, found).sum(axis=2)
        for v, spare in enumerate((own - count.sum(axis=1)).tolist()):
            busy = hours[v] if hours[v].any() else hours.sum(axis=0)
            if spare > 0 and busy.any():
                count[v, int(busy.argmax())] += spare
    rows = [
        (inst.trucks.codes[v], inst.yards.codes[j], int(count[v, j]))
        for v, j in np.argwhere(count > 0).tolist()
    ]
    table = pd.DataFrame(rows, columns=["truck", "yard", "count"])
    return table.astype({"truck": "str", "yard": "str", "count": "int64"})


def _compost_table(inst: Instance, found: Amounts, yard: Sequence[str]) -> pd.DataFrame:
    """Compost made, in store at the period's end and left over, per open yard."""
    shape = (len(yard), len(inst.periods))
    charge = found.charge.grid(shape[0], len(inst.feed.codes), shape[1])
    product = np.einsum("omt,m->ot", charge, inst.feed.product_per_t)
    made = product @ inst.ripening
    stock, left = found.compost.grid(*shape), found.leftover.grid(*shape)
    t, o = np.nonzero((np.maximum(np.maximum(made, stock), left) > TOLERANCE).T)
    table = pd.DataFrame(
        {
            "yard": [yard[n] for n in o.tolist()],
            "period": [inst.periods[n] for n in t.tolist()],
            "made_t": made[o, t],
            "stock_t": stock[o, t],
            "leftover_t": left[o, t],
        }
    )
    return table.astype({"yard": "str", "period": "str"})


def read_shortages(var: Variables, how: str) -> pd.DataFrame:
    """
    Read the elastic slack of every demand.

    Returns
    -------
    DataFrame
        how ("together": all demands have slack; "alone": only this one),
        limit ("least": it asks for at least so much; "most": it allows so much), what,
        where, when, amount, unit.
    """
    rows = (
        (how, slack.limit, slack.what, slack.where, slack.when, amount, slack.unit)
        for slack in var.slacks
        if (amount := slack.variable.amount) > TOLERANCE
    )
    return _shortages(rows)


def _shortages(
    rows: Iterable[tuple[str, str, str, str, str, float, str]],
) -> pd.DataFrame:
    columns = ["how", "limit", "what", "where", "when", "amount", "unit"]
    kinds: dict[str, str] = dict.fromkeys(columns, "str")
    return pd.DataFrame(list(rows), columns=columns).astype(
        {**kinds, "amount": "float64"}
    )


def _empty_worth() -> pd.DataFrame:
    columns = ["kind", "where", "when", "value", "unit"]
    return pd.DataFrame(columns=columns).astype({"value": "float64"})
