"""Read the values of a solved programme into the tables of a plan."""

from collections.abc import Iterable

import numpy as np
import pandas as pd

from logistics.model.instance import Instance
from logistics.model.parts import Flags
from logistics.model.plan import Plan, no_pairs
from logistics.model.variables import Table, Variables

SPECK = 1e-7
"""Quantities below this are rounding noise of the solver. [t], [h]"""


def read_plan(
    inst: Instance,
    var: Variables,
    *,
    status: str,
    objective: float,
    bound: float,
    gap: float,
    seconds: float,
    worth: pd.DataFrame | None = None,
    shortages: pd.DataFrame | None = None,
) -> Plan:
    """Turn the values of the variables into a plan; see Plan for the columns."""
    opened = [o for o, z in var.opened.items() if (z.value() or 0) > 0.5]
    yard = [inst.yards.codes[j] for j in inst.options.yard.tolist()]
    yards = pd.DataFrame(
        {
            "yard": [yard[o] for o in opened],
            "size": [inst.options.size[o] for o in opened],
        }
    )
    place = {
        "source": inst.supply.codes,
        "feedstock": inst.feed.codes,
        "market": inst.markets.codes,
        "truck": inst.trucks.codes,
        "period": inst.periods,
    }
    hauls = _flow_table(inst, var.hauled, yard, "source")
    deliveries = _flow_table(inst, var.delivered, yard, "market")
    return Plan(
        status=status,
        objective=objective,
        bound=bound,
        gap=gap,
        seconds=seconds,
        yards=yards,
        hauls=hauls,
        deliveries=deliveries[["yard", "market", "truck", "period", "tonnes"]],
        uncollected=_table(var.left, ["source", "period"], place),
        held=_table(var.held, ["source", "period"], place),
        stock=_at_yards(var.stock, yard, ["feedstock", "period"], place),
        charges=_at_yards(var.charge, yard, ["feedstock", "period"], place),
        water=_at_yards(var.water, yard, ["period"], place),
        compost=_compost_table(inst, var, yard),
        hired=_table(var.hired, ["truck", "period"], place, "hours"),
        shortages=read_shortages(var, "") if shortages is None else shortages,
        worth=_empty_worth() if worth is None else worth,
        paired=_paired_table(inst, var),
    )


def chosen_options(variables: Variables) -> Flags:
    """Mark the options that are open, length o."""
    values = [variables.opened[o].value() or 0.0 for o in sorted(variables.opened)]
    return np.array(values) > 0.5


def _amount(variable: object) -> float:
    value = variable.value()  # type: ignore[attr-defined]
    return max(0.0, float(value or 0.0))


def _frame(rows: Iterable[tuple[object, ...]], columns: list[str]) -> pd.DataFrame:
    """Make a table without specks; text columns stay text when empty."""
    table = pd.DataFrame(list(rows), columns=columns)
    kinds: dict[str, str] = dict.fromkeys(columns[:-1], "str")
    table = table.astype({**kinds, columns[-1]: "float64"})
    return table[table[columns[-1]] > SPECK].reset_index(drop=True)


def _table(
    values: Table,
    columns: list[str],
    place: dict[str, tuple[str, ...]],
    quantity: str = "tonnes",
) -> pd.DataFrame:
    rows = (
        (*(place[c][i] for c, i in zip(columns, key, strict=True)), _amount(x))
        for key, x in values.items()
    )
    return _frame(rows, [*columns, quantity])


def _at_yards(
    values: Table,
    yard: list[str],
    columns: list[str],
    place: dict[str, tuple[str, ...]],
) -> pd.DataFrame:
    """Read a table whose first index is an option; a yard has one option open."""
    rows = (
        (
            yard[o],
            *(place[c][i] for c, i in zip(columns, key, strict=True)),
            _amount(x),
        )
        for (o, *key), x in values.items()
    )
    return _frame(rows, ["yard", *columns, "tonnes"])


def _flow_table(
    inst: Instance, values: Table, yard: list[str], site: str
) -> pd.DataFrame:
    lanes = inst.inbound if site == "source" else inst.outbound
    codes = inst.supply.codes if site == "source" else inst.markets.codes
    rows = (
        (
            codes[lanes.site[a]],
            yard[o],
            inst.trucks.codes[lanes.truck[a]],
            inst.periods[t],
            _amount(x),
        )
        for (a, o, t), x in values.items()
    )
    return _frame(rows, [site, "yard", "truck", "period", "tonnes"])


def _paired_table(inst: Instance, var: Variables) -> pd.DataFrame:
    """Paired trips by places, truck and period."""
    pairs = inst.pairs
    if pairs is None:
        return no_pairs()
    rows = (
        (
            inst.supply.codes[pairs.source[n]],
            inst.yards.codes[pairs.yard[n]],
            inst.markets.codes[pairs.market[n]],
            inst.trucks.codes[pairs.truck[n]],
            inst.periods[t],
            _amount(beta),
        )
        for (n, t), beta in var.paired.items()
    )
    return _frame(rows, list(no_pairs().columns))


def _compost_table(inst: Instance, var: Variables, yard: list[str]) -> pd.DataFrame:
    """Compost made, in store at the period's end and left over, per open yard."""
    made: dict[tuple[int, int], float] = {}
    for (o, m, t), b in var.charge.items():
        product = _amount(b) * float(inst.feed.product_per_t[m])
        for u in range(len(inst.periods)):
            made[o, u] = made.get((o, u), 0.0) + product * inst.ripening[t, u]
    rows = []
    for (o, t), left in var.leftover.items():
        stock = _amount(var.compost[o, t]) if (o, t) in var.compost else 0.0
        row = (made.get((o, t), 0.0), stock, _amount(left))
        if max(row) > SPECK:
            rows.append((yard[o], inst.periods[t], *row))
    columns = ["yard", "period", "made_t", "stock_t", "leftover_t"]
    table = pd.DataFrame(rows, columns=columns)
    kinds = dict.fromkeys(columns[2:], "float64")
    return table.astype({"yard": "str", "period": "str", **kinds})


def read_shortages(var: Variables, how: str) -> pd.DataFrame:
    """
    Read by how much demands give way.

    Returns
    -------
    DataFrame
        how ("together": all demands give a little; "alone": only this one gives),
        what, where, when, amount, unit.
    """
    rows = (
        (give.what, give.where, give.when, give.unit, _amount(give.variable))
        for give in var.gives
    )
    table = _frame(rows, ["what", "where", "when", "unit", "amount"])
    table.insert(0, "how", how)
    return table[["how", "what", "where", "when", "amount", "unit"]].astype(
        {"how": "str"}
    )


def _empty_worth() -> pd.DataFrame:
    columns = ["kind", "where", "when", "value", "unit"]
    return pd.DataFrame(columns=columns).astype({"value": "float64"})
