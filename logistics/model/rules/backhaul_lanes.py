"""Which lanes a backhaul is made of, and how many trips there can be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logistics.model.problem import Backhauls, Flags, Floats, Instance, Integers, Lanes

NONE = -1


@dataclass(frozen=True, eq=False)
class BackhaulLanes:
    """
    Backhauls of an instance beside the lanes that it has.

    Attributes
    ----------
    backhauls
        As offered, length p.
    inbound, outbound
        Position of each backhaul's lanes; -1 where the instance lacks one. Length p.
    usable
        Where both lanes may carry something, shape (p, t).
    most
        Trips that no plan exceeds, shape (p, t). [trips]
    names
        Source, yard, market and truck, length p.
    """

    backhauls: Backhauls
    inbound: Integers
    outbound: Integers
    usable: Flags
    most: Floats
    names: tuple[str, ...]


def lanes_of_backhauls(inst: Instance) -> BackhaulLanes:
    """Find the lanes of an instance's backhauls; the instance must have some."""
    backhauls, supply, markets = inst.backhauls, inst.supply, inst.markets
    if backhauls is None:
        message = "this instance has no backhauls"
        raise ValueError(message)
    inbound = _lane(inst.inbound, backhauls.source, backhauls.yard, backhauls.truck)
    outbound = _lane(inst.outbound, backhauls.market, backhauls.yard, backhauls.truck)
    there = (
        (inbound >= 0) & (outbound >= 0) & np.isin(backhauls.yard, inst.options.yard)
    )
    carried = supply.tonnes + supply.hold_t[:, None]
    there_t = there[:, None] & backhauls.usable
    there_t &= (carried[backhauls.source] > 0) & (markets.demand[backhauls.market] > 0)
    most = np.full(backhauls.usable.shape, np.inf)
    for lanes, at, tonnes in (
        (inst.inbound, inbound, carried[backhauls.source]),
        (inst.outbound, outbound, markets.demand[backhauls.market]),
    ):
        if len(lanes):
            there_t &= lanes.usable[at]
            with np.errstate(divide="ignore", invalid="ignore"):
                most = np.fmin(most, tonnes / lanes.load_t[at])
    return BackhaulLanes(
        backhauls=backhauls,
        inbound=inbound,
        outbound=outbound,
        usable=there_t,
        most=np.where(there_t & np.isfinite(most), most, 0.0),
        names=tuple(
            ".".join(
                (
                    supply.codes[i],
                    inst.yards.codes[j],
                    markets.codes[n],
                    inst.trucks.codes[v],
                )
            )
            for i, j, n, v in zip(
                backhauls.source.tolist(),
                backhauls.yard.tolist(),
                backhauls.market.tolist(),
                backhauls.truck.tolist(),
                strict=True,
            )
        ),
    )


def _lane(lanes: Lanes, site: Integers, yard: Integers, truck: Integers) -> Integers:
    """Position of the lanes between places by truck; -1 for none."""
    if not len(lanes):
        return np.full(len(site), NONE)
    yards = 1 + max(int(lanes.yard.max()), int(yard.max(initial=0)))
    trucks = 1 + max(int(lanes.truck.max()), int(truck.max(initial=0)))
    key = (lanes.site * yards + lanes.yard) * trucks + lanes.truck
    order = np.argsort(key)
    wanted = (site * yards + yard) * trucks + truck
    at = order[np.minimum(np.searchsorted(key[order], wanted), len(key) - 1)]
    return np.asarray(np.where(key[at] == wanted, at, NONE), dtype=np.int64)


def lane_name(inst: Instance, lane: int, *, inbound: bool) -> str:
    """Name a lane in the rows of backhauls: source or market, yard and truck."""
    lanes = inst.inbound if inbound else inst.outbound
    codes = inst.supply.codes if inbound else inst.markets.codes
    site, yard = codes[lanes.site[lane]], inst.yards.codes[lanes.yard[lane]]
    return f"{site}.{yard}.{inst.trucks.codes[lanes.truck[lane]]}"
