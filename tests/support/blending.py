"""Small mixes solved by the programme's own mix rows, for checks by hand."""

from dataclasses import replace

import numpy as np
from support.facility_location import instance

from logistics.model.problem.instance import Mix
from logistics.model.rules.blend import (
    keep_product,
    keep_structure,
    keep_windows,
    limit_density,
    limit_salt,
)
from logistics.model.rules.programme import Programme
from logistics.model.rules.sums import inward_flows, outward_flows
from logistics.model.rules.variables import Variables
from logistics.model.solving.highs import Session, run_solver

BLOCKS = (
    keep_windows,
    limit_density,
    keep_structure,
    limit_salt,
    keep_product,
)


def least_mass(
    mix: Mix, feed: dict[str, list], fixed: dict[int, float], *, water: bool = True
) -> list[float] | None:
    """
    Least mass that keeps the mix rows with some feedstocks fixed. [t]

    Returns the tonnes of each feedstock and then of water; None if there is no mix.
    """
    count = len(feed["moisture"])
    ones = np.ones(1)
    inst = instance(ones, ones, ones, np.ones((1, 1)))
    zeros, codes = np.zeros(count), tuple(f"feed_{m}" for m in range(count))
    blank = {
        "carbon": zeros,
        "nitrogen": zeros,
        "p2o5": zeros,
        "k2o": zeros,
        "salt": zeros,
        "loose_t_m3": np.ones(count),
        "dry_matter_loss": zeros,
        "structure": np.zeros(count, dtype=bool),
    }
    given = {name: np.array(values) for name, values in feed.items()}
    dry_nitrogen = (1 - given["moisture"]) * given.get("nitrogen", zeros)
    blank["nitrogen_kept"] = np.tile(dry_nitrogen, (2, 1))
    table = replace(inst.feed, codes=codes, materials=codes, **{**blank, **given})
    inst = replace(inst, feed=table, mix=mix)
    p = Programme()
    var = Variables(inward_flows(inst), outward_flows(inst))
    for m, code in enumerate(codes):
        var.charge[0, m, 0] = p.variable(code)
    var.water[0, 0] = p.variable("water", None if water else 0.0)
    for block in BLOCKS:
        block(p, var, inst)
    for m, tonnes in fixed.items():
        p.equal(f"fixed_{m}", [(var.charge[0, m, 0], 1.0)], tonnes)
    values = [*var.charge.values(), *var.water.values()]
    p.minimise([(x, 1.0) for x in values])
    if run_solver(p, Session(), mip=False).incumbent is None:
        return None
    return [x.amount for x in values]


def partner_for_moisture(
    goal: float, wet_t: float, moisture: float, partner_moisture: float
) -> float:
    """Mass of a second feedstock that brings the first to a moisture. [t]"""
    feed = {"moisture": [moisture, partner_moisture]}
    found = least_mass(Mix(moisture=(goal, goal)), feed, {0: wet_t}, water=False)
    return found[1]


def partner_for_cn(
    goal: float,
    wet_t: float,
    first: tuple[float, float, float],
    partner: tuple[float, float, float],
) -> float:
    """
    Mass of a second feedstock that brings the first to a C:N ratio. [t]

    Feedstocks are (moisture, carbon, nitrogen): shares of wet and of dry mass.
    """
    pairs = zip(first, partner, strict=True)
    feed = dict(zip(("moisture", "carbon", "nitrogen"), map(list, pairs), strict=True))
    return least_mass(Mix(cn=(goal, goal)), feed, {0: wet_t})[1]


def water_to_reach(goal: float, wet_t: list[float], moisture: list[float]) -> float:
    """Water that brings a mix to a moisture. [t]"""
    fixed = dict(enumerate(wet_t))
    feed = {"moisture": list(moisture)}
    return least_mass(Mix(moisture=(goal, goal)), feed, fixed)[-1]
