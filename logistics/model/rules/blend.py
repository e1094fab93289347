"""Rows that keep every mix composting. All are sums over wet tonnes put in."""

from collections.abc import Iterator

import numpy as np

from logistics.model.problem import Floats, Instance, window_ends
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables, option_names


def _mixes(var: Variables, inst: Instance) -> Iterator[tuple[str, int, int, list[int]]]:
    """Yield a name, option, period and its feedstocks, for every mix."""
    feeds: dict[tuple[int, int], list[int]] = {}
    for o, m, t in var.charge:
        feeds.setdefault((o, t), []).append(m)
    names = option_names(inst)
    for (o, t), found in feeds.items():
        yield f"{names[o]}.{inst.periods[t]}", o, t, found


def _row(
    p: Programme,
    var: Variables,
    inst: Instance,
    label: str,
    per_tonne: Floats,
    water: float = 0.0,
) -> None:
    """Add sum_m per_tonne[m] * b[o,m,t] + water * w[o,t] <= 0 for every mix."""
    for name, o, t, feeds in _mixes(var, inst):
        terms: Terms = [(var.charge[o, m, t], float(per_tonne[m])) for m in feeds]
        if water and (o, t) in var.water:
            terms.append((var.water[o, t], water))
        p.at_most(f"{label}.{name}", terms)


def keep_windows(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hold C:N and moisture between their bounds; water w may be added.

    For every option o and period t, with d[m] the dry share, c[m] and n[m] carbon and
    nitrogen of dry matter, y[m] moisture::

        sum_m d[m] * (c[m] - high * n[m]) * b[o,m,t] <= 0
        sum_m d[m] * (low * n[m] - c[m]) * b[o,m,t] <= 0
        sum_m (y[m] - high) * b[o,m,t] + (1 - high) * w[o,t] <= 0
        sum_m (low - y[m]) * b[o,m,t] + (low - 1) * w[o,t] <= 0

    Each feedstock is taken at its worst within the margin, see `window_ends`: in every
    row b is not negative, so the worst sum is the sum of the worst.
    """
    for end in window_ends(inst.feed, inst.mix):
        _row(p, var, inst, end.name, end.row, end.row_water)


def limit_density(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Keep the mix open to air by its additive bulk density.

    Water fills pores and adds mass, no volume::

        sum_m (1 - limit / loose[m]) * b[o,m,t] + w[o,t] <= 0
    """
    limit = inst.mix.density_t_m3
    if limit is not None:
        _row(p, var, inst, "density", 1 - limit / inst.feed.loose_t_m3, 1.0)


def keep_structure(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Keep a least volume share of feedstock that holds the windrow open.

    With f[m] = 1 for such feedstock and 0 otherwise::

        sum_m (share - f[m]) / loose[m] * b[o,m,t] <= 0
    """
    share = inst.mix.structure
    if share is not None:
        per_tonne = (share - inst.feed.structure) / inst.feed.loose_t_m3
        _row(p, var, inst, "structure", per_tonne)


def limit_salt(p: Programme, var: Variables, inst: Instance) -> None:
    """Limit the salt: sum_m (e[m] - limit) * b[o,m,t] - limit * w[o,t] <= 0."""
    limit = inst.mix.salt
    if limit is not None:
        _row(p, var, inst, "salt", inst.feed.salt - limit, -limit)


def keep_product(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Keep nitrogen, phosphate and potash of the dry compost above a floor.

    With loss[m] of dry matter while composting and kept[m] of a nutrient, both of a
    wet tonne::

        sum_m (floor * d[m] * (1 - loss[m]) - kept[m]) * b[o,m,t] <= 0

    For nitrogen there may be two rows: the compost has the smaller of two sums, see
    `composting.nitrogen_bounds`.
    """
    feed = inst.feed
    dry = feed.dry * (1 - feed.dry_matter_loss)
    for label, floor in zip(("n", "p2o5", "k2o"), inst.mix.product, strict=True):
        if floor is not None:
            _row(p, var, inst, f"product.{label}", floor * dry - feed.kept[label])
    line, most = feed.nitrogen_kept
    least = inst.mix.product[0]
    if least is not None and not np.array_equal(line, most):
        _row(p, var, inst, "product.n_most", least * dry - most)
