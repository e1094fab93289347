"""Rows that keep every mix composting. All are sums over wet tonnes put in."""

from collections.abc import Iterator

from logistics.model.problem import Floats, Instance
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


def keep_carbon_nitrogen(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hold the carbon-to-nitrogen ratio between its bounds.

    For every option o and period t, with d[m] the dry share, c[m] and n[m]
    carbon and nitrogen of dry matter::

        sum_m d[m] * (c[m] - high * n[m]) * b[o,m,t] <= 0
        sum_m d[m] * (low * n[m] - c[m]) * b[o,m,t] <= 0
    """
    if inst.mix.cn is None:
        return
    low, high = inst.mix.cn
    feed = inst.feed
    _row(p, var, inst, "cn_high", feed.dry * (feed.carbon - high * feed.nitrogen))
    _row(p, var, inst, "cn_low", feed.dry * (low * feed.nitrogen - feed.carbon))


def keep_moisture(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Hold the moisture between its bounds; water w may be added.

    For every option o and period t, with moisture y[m]::

        sum_m (y[m] - high) * b[o,m,t] + (1 - high) * w[o,t] <= 0
        sum_m (low - y[m]) * b[o,m,t] + (low - 1) * w[o,t] <= 0
    """
    if inst.mix.moisture is None:
        return
    low, high = inst.mix.moisture
    _row(p, var, inst, "moist_high", inst.feed.moisture - high, 1 - high)
    _row(p, var, inst, "moist_low", low - inst.feed.moisture, low - 1)


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
    """
    feed, kept = inst.feed, inst.mix.kept(inst.feed)
    dry = feed.dry * (1 - feed.dry_matter_loss)
    for label, floor in zip(("n", "p2o5", "k2o"), inst.mix.product, strict=True):
        if floor is not None:
            _row(p, var, inst, f"product.{label}", floor * dry - kept[label])
