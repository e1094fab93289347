"""Rows that make compost meet a product standard."""

from logistics.model.problem import Instance
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, option_names


def meet_standard(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Let the compost of every charge keep each limit of the standard asked for.

    For every limit, option o and period t, with what a wet tonne adds to the side that
    must not be above nothing (`assembly.standard`)::

        sum_m per_tonne[m] * b[o,m,t] <= 0
    """
    if inst.standard is None:
        return
    names, scale = option_names(inst), float(inst.supply.tonnes.sum())
    feeds: dict[tuple[int, int], list[int]] = {}
    for o, m, t in var.charge:
        feeds.setdefault((o, t), []).append(m)
    for (o, t), fed in feeds.items():
        where, when = inst.yards.codes[int(inst.options.yard[o])], inst.periods[t]
        for row in inst.standard.rows:
            terms: Terms = [(var.charge[o, m, t], float(row.per_tonne[m])) for m in fed]
            slack = var.add_slack(p, row.limit, row.what, where, when, "t", scale)
            terms += [(x, -c) for x, c in slack]
            p.at_most(f"standard_{row.code}.{names[o]}.{when}", terms)
