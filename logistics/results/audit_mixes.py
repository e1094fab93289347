"""The part of the audit that holds mixes against their windows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.results.plan_amounts import PlanArrays

Floats = NDArray[np.float64]
Check = tuple[str, Floats, Floats]


def mixes(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Hold every mix inside its windows, computed as ratios where there is a mix."""
    feed, mix = inst.feed, inst.mix
    mass = a.charge.sum(axis=1)
    dry = np.einsum("jmt,m->jmt", a.charge, feed.dry)
    carbon = np.einsum("jmt,m->jt", dry, feed.carbon)
    nitrogen = np.einsum("jmt,m->jt", dry, feed.nitrogen)
    if mix.cn is not None:
        yield "C:N not above", carbon - mix.cn[1] * nitrogen, carbon
        yield "C:N not below", mix.cn[0] * nitrogen - carbon, carbon
    wet = np.einsum("jmt,m->jt", a.charge, feed.moisture) + a.water
    total = mass + a.water
    if mix.moisture is not None:
        yield "moisture not above", wet - mix.moisture[1] * total, total
        yield "moisture not below", mix.moisture[0] * total - wet, total
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
        ("nitrogen", feed.nitrogen * (1 - mix.nitrogen_loss)),
        ("phosphate", feed.p2o5),
        ("potash", feed.k2o),
    )
    for (name, content), floor in zip(contents, mix.product, strict=True):
        if floor is not None:
            has = np.einsum("jmt,m->jt", dry, content)
            yield f"{name} of compost", floor * left - has, left
