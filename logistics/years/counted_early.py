"""Compost counted before it is ripe: the first year of a yard is no full one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.results import amounts

if TYPE_CHECKING:
    from logistics.years.way import WayAhead

BEGINS = ("opens", "works again")


def early_compost(way: WayAhead) -> list[float]:
    """
    Give the compost of each year that in truth comes the year after. [t]

    The months of a year are a circle: what ripens in January was piled in November. In
    the first year of a yard nothing was. Yards that grow, and stock, are not looked at.
    """
    found = []
    for year, result in zip(way.years, way.results, strict=True):
        steps = way.steps[(way.steps["year"] == year) & way.steps["step"].isin(BEGINS)]
        inst = result.instance
        new = np.isin(inst.yards.codes, steps["yard"].tolist())
        charge = amounts(inst, result.plan).charge[new]
        later = np.tril(inst.ripening, -1)  # ready in a period before that of its pile
        early = np.einsum("jmt,m,tu->", charge, inst.feed.product_per_t, later)
        found.append(float(early))
    return found
