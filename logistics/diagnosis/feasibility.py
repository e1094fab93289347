"""Whether anything can be composted at all, and the rule that stands in the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from logistics.model import Instance, window_ends
from logistics.scenario import Problem, in_list

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

RICHER = "Add feedstock richer in it"

WORDS = {
    "cn_high": ("C:N", "mix.cn_high", 1, "Add feedstock richer in nitrogen"),
    "cn_low": ("C:N", "mix.cn_low", 1, "Add feedstock richer in carbon"),
    "moist_high": ("moisture", "mix.moisture_high_pct", 100, "Add drier feedstock"),
    "moist_low": ("moisture", "mix.moisture_low_pct", 100, "Add wetter feedstock"),
    "density": ("density", "mix.density_high_kg_m3", 1000, "Add bulky feedstock"),
    "structure": (
        "share of structure feedstock",
        "mix.structure_low_pct",
        100,
        "Add coarse feedstock",
    ),
    "salt": ("salt", "mix.salt_high_pct", 100, "Add feedstock with less salt"),
    "product_n": ("nitrogen of the compost", "mix.product_n_low_pct", 100, RICHER),
    "product_p2o5": ("P2O5 of the compost", "mix.product_p2o5_low_pct", 100, RICHER),
    "product_k2o": ("K2O of the compost", "mix.product_k2o_low_pct", 100, RICHER),
}
"""Of each rule: what it limits, its setting, the setting's scale, a remedy."""


MOST_WATER = 10.0
"""Water that may be added to a mix, far above any use. [t/t]"""


@dataclass(frozen=True, eq=False)
class Rule:
    """
    A ratio over a mix, sign * (part - limit * whole) <= 0, water last, shape (m+1,).

    `sign` is 1 where the ratio may not be above its limit, -1 where not below it.
    """

    code: str
    part: Floats
    whole: Floats
    limit: float
    sign: int

    @property
    def row(self) -> Floats:
        """Coefficients of the row that must not be positive."""
        return np.asarray(self.sign * (self.part - self.limit * self.whole))


def rules(inst: Instance) -> list[Rule]:
    """Return all rules of a mix that are switched on."""
    feed, mix = inst.feed, inst.mix

    def wide(values: Floats, water: float = 0.0) -> Floats:
        return np.append(np.asarray(values, dtype=float), water)

    found = []
    ends = {end.name: end for end in window_ends(feed, mix)}
    for name in ("cn_low", "cn_high", "moist_low", "moist_high"):
        if name in ends:
            end = ends[name]
            ratio = wide(end.part, end.water), wide(end.whole, end.water)
            found += [Rule(name, *ratio, end.limit, end.sign)]
    mass = wide(np.ones(len(feed.codes)), 1.0)
    volume = wide(1 / feed.loose_t_m3)
    if mix.density_t_m3 is not None:
        found += [Rule("density", mass, volume, mix.density_t_m3, 1)]
    if mix.structure is not None:
        coarse = wide(feed.structure / feed.loose_t_m3)
        found += [Rule("structure", coarse, volume, mix.structure, -1)]
    if mix.salt is not None:
        found += [Rule("salt", wide(feed.salt), mass, mix.salt, 1)]
    compost = wide(feed.dry * (1 - feed.dry_matter_loss))
    floors = zip(("n", "p2o5", "k2o"), mix.product, strict=True)
    for key, floor in floors:
        if floor is not None:
            has = wide(feed.kept[key])
            found += [Rule(f"product_{key}", has, compost, floor, -1)]
    if mix.product[0] is not None:
        has = wide(feed.nitrogen_kept[1])
        found += [Rule("product_n", has, compost, mix.product[0], -1)]
    return found


def at_hand(inst: Instance) -> Flags:
    """
    Mark what a yard can have to mix, shape (j, m, t).

    Generous: what keeps may have waited its time at the source and again in store.
    """
    shape = (len(inst.yards.codes), len(inst.feed.codes), len(inst.periods))
    found = np.zeros(shape, dtype=bool)
    lanes, supply = inst.inbound, inst.supply
    arises = supply.tonnes > 0
    fresh = inst.feed.store_periods
    held = _waited(arises, fresh[supply.feedstock]) & (supply.hold_t > 0)[:, None]
    offered = (arises | held)[lanes.site] & lanes.usable
    np.logical_or.at(found, (lanes.yard, supply.feedstock[lanes.site]), offered)
    return found | _waited(found, fresh)


def _waited(came: Flags, fresh: NDArray[np.int64]) -> Flags:
    """Mark the periods in which something may be used that came before, (..., t)."""
    found = np.zeros_like(came)
    for back in range(came.shape[-1]):
        still = np.roll(came, back, axis=-1) & (back < fresh)
        found |= np.roll(still, 1, axis=-1)
    return found


def can_mix(inst: Instance, feeds: Flags, *, water: bool) -> bool:
    """Whether some mix of these feedstocks keeps all rules."""
    if not feeds.any() or (not water and inst.turning_water > 0):
        return False
    total = np.append(np.ones(len(feeds)), 0.0)
    return _best(rules(inst), total, total, feeds, water=water) is not None


def _best(
    kept: list[Rule], part: Floats, whole: Floats, feeds: Flags, *, water: bool
) -> float | None:
    """Least part over whole under the rules kept; None if there is no such mix."""
    wet = np.append(np.full(len(feeds), -MOST_WATER), 1.0)  # water alone is no mix
    rows = np.array([wet, *(rule.row for rule in kept)])
    high = [(0, None if use else 0) for use in [*feeds.tolist(), water]]
    answer = linprog(
        part,
        A_ub=rows,
        b_ub=np.full(len(rows), 1e-9),
        A_eq=whole[None, :],
        b_eq=[1.0],
        bounds=high,
    )
    return None if answer.status != 0 or answer.fun is None else float(answer.fun)


def yards_without_mix(inst: Instance) -> list[int]:
    """Return the yards that may stand and can make no mix in any period."""
    hand, known = at_hand(inst), dict[tuple[object, ...], bool]()
    found = []
    for j in sorted(set(inst.options.yard.tolist())):
        for t in range(len(inst.periods)):
            water = bool(inst.yards.water_t[j, t] > 0)
            key = (*np.flatnonzero(hand[j, :, t]).tolist(), water)
            if key not in known:
                known[key] = can_mix(inst, hand[j, :, t], water=water)
            if known[key]:
                break
        else:
            found.append(j)
    return found


def _why(scenario: Scenario, inst: Instance, yards: list[int]) -> tuple[str, str]:
    """Say what keeps these yards from any mix, and the remedy."""
    feeds = at_hand(inst)[yards].any(axis=(0, 2))
    water = bool((inst.yards.water_t[yards] > 0).any())
    if not feeds.any():
        why = "no truck can bring any feedstock in time"
        how = "Check roads, keep_hours, travel.lane_limit_km and carries of the trucks"
        return why, how
    among = _names(scenario, inst, feeds)
    if not water and can_mix(inst, feeds, water=True):
        return f"{among} cannot be mixed without water", "Give water_m3_per_day"
    exact = replace(inst, mix=replace(inst.mix, margin=None))
    if inst.mix.margin is not None and can_mix(exact, feeds, water=water):
        why = (
            f"no mix of {among} keeps C:N and moisture with every value anywhere in "
            "its range (mix.margin_pct)"
        )
        how = (
            "Lower mix.margin_pct, or moisture_range_pct, carbon_range_pct and "
            "nitrogen_range_pct of what a laboratory measures often, or widen mix"
        )
        return why, how
    every = rules(inst)
    for rule in every:
        kept = [other for other in every if other is not rule]
        if breach := _breach(rule, kept, feeds, water=water):
            return (
                f"in every mix of {among} that keeps the other limits, {breach[0]}",
                breach[1],
            )
    alone = [_breach(r, [], feeds, water=water) for r in every]
    found = [breach for breach in alone if breach]
    if found:
        why = "; ".join(why for why, _ in found)
        return f"in every mix of {among}, {why}", "; ".join(how for _, how in found)
    why = f"no mix of {among} from what reaches a yard at one time keeps all limits"
    how = "Add feedstock, let more of it wait (keep_hours, can_hold_t), or widen mix"
    return why, how


def _breach(
    rule: Rule, kept: list[Rule], feeds: Flags, *, water: bool
) -> tuple[str, str] | None:
    """Say how far mixes under the rules kept stay from a rule; None if they meet it."""
    least = _best(kept, rule.sign * rule.part, rule.whole, feeds, water=water)
    if least is None or least <= rule.sign * rule.limit * (1 + rule.sign * 1e-6):
        return None
    what, setting, scale, remedy = WORDS[rule.code]
    reach, limit = rule.sign * least * scale, rule.limit * scale
    bound, beyond = ("at least", "above") if rule.sign > 0 else ("at most", "below")
    why = f"{what} is {bound} {reach:.4g}, {beyond} {setting} = {limit:.4g}"
    return why, f"{remedy}, or change {setting}"


def _names(scenario: Scenario, inst: Instance, feeds: Flags) -> str:
    """Name the materials of these feedstocks."""
    table = scenario.materials
    label = dict(zip(table["material"], table["name"], strict=True))
    codes = [inst.feed.materials[m] for m in np.flatnonzero(feeds)]
    return in_list(dict.fromkeys(str(label.get(code) or code) for code in codes))


def idle_yards(scenario: Scenario, inst: Instance) -> list[Problem]:
    """Warn of candidates that can make no mix of what reaches them."""
    codes = scenario.yards["yard"].tolist()
    found = []
    for j in yards_without_mix(inst):
        why, remedy = _why(scenario, inst, [j])
        code = inst.yards.codes[j]
        why = f"cannot compost anything: {why}"
        row = codes.index(code) + 2
        found.append(Problem("yards.csv", row, "yard", code, why, remedy))
    return found


def nothing_possible(scenario: Scenario, inst: Instance) -> list[str]:
    """
    Say why no yard can compost anything, with the remedy; empty where one can.

    Returns
    -------
    list of str
        Sentences.
    """
    yards = sorted(set(inst.options.yard.tolist()))
    if not yards:
        return [
            "No yard may be built: each is closed, refused by the land screening, or "
            "too small for every size. Check decision, area_m2 and siting.screen."
        ]
    if len(yards_without_mix(inst)) < len(yards):
        return []
    why, remedy = _why(scenario, inst, yards)
    return [f"No yard can compost anything: {why}. {remedy}."]
