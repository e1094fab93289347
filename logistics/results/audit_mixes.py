"""The part of the audit that holds mixes against their windows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.results.plan_amounts import PlanArrays

Floats = NDArray[np.float64]
Check = tuple[str, Floats, Floats]


def mixes(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Hold every mix inside its windows, with the margin of its feedstocks."""
    feed, mix = inst.feed, inst.mix
    mass = a.charge.sum(axis=1)
    dry = np.einsum("jmt,m->jmt", a.charge, feed.dry)
    total = mass + a.water
    wet, carbon, nitrogen = corners(inst)

    def worst(beyond: Floats, size: Floats) -> tuple[Floats, Floats]:
        """Add up how far mixes are beyond a limit, each feedstock at its worst end."""
        end = beyond.argmax(axis=0)[None]
        each = (np.take_along_axis(x, end, axis=0)[0] for x in (beyond, size))
        first, second = (np.einsum("jmt,m->jt", a.charge, x) for x in each)
        return first, second

    if mix.cn is not None:
        low, high = mix.cn
        c, n = (1 - wet) * carbon, (1 - wet) * nitrogen
        yield "C:N not above", *worst(c - high * n, c)
        yield "C:N not below", *worst(low * n - c, c)
    if mix.moisture is not None:
        low, high = mix.moisture
        above, _ = worst(wet - high, wet)
        below, _ = worst(low - wet, wet)
        yield "moisture not above", above + (1 - high) * a.water, total
        yield "moisture not below", below - (1 - low) * a.water, total
    volume = a.charge / feed.loose_t_m3[:, None]
    if mix.density_t_m3 is not None:
        yield "density", total - mix.density_t_m3 * volume.sum(axis=1), total
    if mix.structure is not None:
        loose = volume[:, feed.structure].sum(axis=1)
        all_ = volume.sum(axis=1)
        yield "structure", mix.structure * all_ - loose, all_
    if mix.salt is not None:
        salt = np.einsum("jmt,m->jt", a.charge, feed.salt)
        yield "salt", salt - mix.salt * total, total
    left = np.einsum("jmt,m->jt", dry, 1 - feed.dry_matter_loss)
    contents = (
        ("nitrogen", nitrogen_of(inst, a)),
        ("phosphate", np.einsum("jmt,m->jt", dry, feed.p2o5)),
        ("potash", np.einsum("jmt,m->jt", dry, feed.k2o)),
    )
    for (name, has), floor in zip(contents, mix.product, strict=True):
        if floor is not None:
            yield f"{name} of compost", floor * left - has, left


def nitrogen_of(inst: Instance, a: PlanArrays) -> Floats:
    """Nitrogen that the compost of every mix keeps, shape (j, t). [t]"""
    each = np.einsum("jmt,bm->bjt", a.charge, inst.feed.nitrogen_kept)
    return np.asarray(each.min(axis=0))


def corners(inst: Instance) -> tuple[Floats, Floats, Floats]:
    """
    Moisture, carbon and nitrogen of the feedstocks at all ends of their ranges, (k, m).

    Without a margin k is 1: the values themselves.
    """
    feed, margin = inst.feed, inst.mix.margin
    if margin is None:
        return feed.moisture[None], feed.carbon[None], feed.nitrogen[None]
    wet, rich, grain = np.array(list(product((-1, 1), repeat=3))).T[:, :, None]
    return (
        np.clip(feed.moisture + wet * margin.moisture, 0, 1),
        np.maximum(feed.carbon + rich * margin.carbon, 0),
        np.maximum(feed.nitrogen + grain * margin.nitrogen, 0),
    )
