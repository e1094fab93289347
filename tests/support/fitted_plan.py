"""
A plan drawn at random, and the tightest district in which it is allowed.

All that the district limits is added up here one entry at a time, from the words of
`Instance` and `Plan`, so that it shares nothing with the audit or the programme.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
from support.evenly_charged import occupancy, ripening
from support.small_instances import (
    AVAILABLE,
    DAYS,
    MARGIN,
    farms,
    neighbours,
    phosphate_standard,
    ready_twice,
    small_instance,
)

from logistics.model.problem.contents import SUBSTANCES, Contents
from logistics.model.problem.feed import Margin
from logistics.model.problem.instance import (
    CompostDays,
    Instance,
    LeastLoads,
    LeastShare,
    Mix,
    MostShare,
    OtherSites,
    Policy,
    ServedWhole,
)
from logistics.model.problem.own_hours import FULL
from logistics.model.problem.parts import Backhauls, Lanes
from logistics.model.problem.plan import Plan

T = range(3)
OPEN = {0: 0, 1: 3}
"""Option of each yard that is built: y0 small, y1 large; y2 is not built."""
HUSK, FISH, STRAW = range(3)
MUST = 1
"""Source of which nothing may be left."""
OWN = (2, 1)
"""Own trucks of each type."""
BASES = {(0, 0): 1.0, (0, 1): 1.0, (1, 0): 1.0}
"""Own trucks of each type at each yard."""


def before(t: int) -> int:
    """The period before; the year is a circle."""
    return (t - 1) % 3


def frame(cells: dict, columns: list[str], codes: list, value: str = "tonnes"):
    """A table of what is not nothing."""
    rows = [
        (*(c[k] for c, k in zip(codes, key, strict=True)), x)
        for key, x in cells.items()
        if x != 0
    ]
    return pd.DataFrame(rows, columns=[*columns, value])


class Drawn:
    """
    What is drawn, and what follows from it; each a dict from positions to amounts.

    Keys: inbound (s, j, v, t); outbound (n, j, v, t); left, held (s, t);
    stock, charge (j, m, t); water, compost, leftover, made (j, t); hired (v, t);
    pairs (source, yard, market, truck, t).
    """

    def __init__(self, seed: int = 3) -> None:
        rng = np.random.default_rng(seed)
        inst = small_instance(5)
        feed = replace(inst.feed, store_periods=np.array([[3] * 3, [0] * 3, [2, 1, 1]]))
        self.inst = inst = replace(
            inst,
            feed=feed,
            occupancy=occupancy(DAYS, 150),
            pad_days=occupancy(DAYS, 150),
            ripening=ripening(DAYS, 86),
        )
        self.of = inst.supply.feedstock.tolist()
        lanes_in, lanes_out = _lanes(inst.inbound), _lanes(inst.outbound)
        least = {HUSK: 60.0, FISH: 20.0, STRAW: 30.0}
        self.inbound = {
            (s, j, v, t): float(rng.uniform(0.5, 1) * least[self.of[s]])
            for s, j, v, t in lanes_in
            if j in OPEN and (rng.random() < 0.7 or self.of[s] != FISH)
        }
        self.left = {
            (s, t): float(rng.uniform(1, 20)) if s != MUST else 0.0
            for s, t in product(range(5), T)
        }
        self.held = {(s, t): float(rng.uniform(5, 40)) for s in (0, 4) for t in T}
        self.arrived: dict = defaultdict(float)
        for (s, j, _, t), x in self.inbound.items():
            self.arrived[j, self.of[s], t] += x
        self.stock = {
            (j, m, t): float(rng.uniform(0.3, 0.9)) * self.arrived[j, m, t]
            for j, m, t in product(OPEN, (HUSK, STRAW), T)
        }
        self.charge = {
            (j, m, t): feed.keep[m, t] * self.stock.get((j, m, before(t)), 0.0)
            + self.arrived[j, m, t] - self.stock.get((j, m, t), 0.0)
            for j, m, t in product(OPEN, range(3), T)
        }  # fmt: skip
        self.water = {(j, t): float(rng.uniform(20, 60)) for j, t in product(OPEN, T)}
        self.made: dict = defaultdict(float)
        for (j, m, t), x in self.charge.items():
            for u in T:
                self.made[j, u] += x * feed.product_per_t[m] * inst.ripening[t, u]
        self.compost = {k: float(rng.uniform(2, 9)) for k in product(OPEN, T)}
        self.outbound = {}
        self.leftover = {}
        for j, t in product(OPEN, T):
            rest = self.made[j, t] + self.compost[j, before(t)] - self.compost[j, t]
            ways = [k for k in lanes_out if (k[1], k[3]) == (j, t)]
            shares = rng.dirichlet(np.ones(len(ways) + 1))
            self.outbound |= dict(zip(ways, rest * shares[1:], strict=True))
            self.leftover[j, t] = rest * shares[0]
        self.pairs = self._pairs(rng)
        self.saved = {
            key: rng.uniform(0.1, 2.0, 4) for key in self.pairs
        }  # of a trip: money, h, kg, km
        self.one = {
            (v, t): 0.5 * min(self.hours(v, t, j) for (u, j) in BASES if u == v)
            for v, t in product(range(2), T)
        }
        self.hired = {
            (v, j, t): self.hours(v, t, j)
            - FULL * BASES.get((v, j), 0) * self.one[v, t]
            for v, j, t in product(range(2), OPEN, T)
        }

    def _pairs(self, rng: np.random.Generator) -> dict:
        """Paired trips: all of the lane with fewer trips, shared by two pairs each."""
        found: dict = {}
        for v, t in product(range(2), T):
            sources = [k for k in self.inbound if k[1:] == (0, v, t)][:2]
            markets = [k for k in self.outbound if k[1:] == (0, v, t)][:2]
            for a, b in product(sources, markets):
                most = min(self.trips(a, inwards=True), self.trips(b, inwards=False))
                found[a[0], 0, b[0], v, t] = most * float(rng.uniform(0.2, 0.4))
        return found

    def trips(self, key: tuple, *, inwards: bool) -> float:
        """Trips of a flow."""
        lanes = self.inst.inbound if inwards else self.inst.outbound
        flow = self.inbound if inwards else self.outbound
        return flow[key] / lane_value(lanes, "load_t", key)

    def hours(self, v: int, t: int, *yard: int) -> float:
        """Hours of a truck type in a period, less what pairing saves. [h]"""
        total = 0.0
        for lanes, flow in self.flows():
            for key, x in flow.items():
                if key[2:] == (v, t) and key[1] in (yard or OPEN):
                    total += x * lane_value(lanes, "hours", key)
        return total - sum(
            x * self.saved[k][1]
            for k, x in self.pairs.items()
            if k[3:] == (v, t) and k[1] in (yard or OPEN)
        )

    def hire(self, v: int, t: int) -> float:
        """Hours hired of a type over all yards. [h]"""
        return sum(self.hired[v, j, t] for j in OPEN)

    def flows(self) -> list[tuple[Lanes, dict]]:
        """Inbound and outbound lanes with what is driven on them."""
        return [(self.inst.inbound, self.inbound), (self.inst.outbound, self.outbound)]

    def money(self) -> float:
        """Net cost of the year, line by line. [money]"""
        inst, s = self.inst, self.inst.supply
        lines = [float(inst.options.annual[o]) for o in OPEN.values()]
        lines.append(inst.trucks.fixed_annual)
        for lanes, flow in self.flows():
            lines += [x * lane_value(lanes, "money", k) for k, x in flow.items()]
        lines += [x * s.money_per_t[k[0]] for k, x in self.inbound.items()]
        lines += [x * s.left_money_per_t[k[0]] for k, x in self.left.items()]
        price = inst.markets.price_per_t
        lines += [-x * price[k[0]] for k, x in self.outbound.items()]
        lines += [x * inst.yards.water_per_t[j] for (j, _), x in self.drawn().items()]
        handling = inst.options.handling_per_t
        lines += [x * handling[OPEN[j]] for (j, _, _), x in self.charge.items()]
        lines += [x * inst.leftover_per_t for x in self.leftover.values()]
        lines += [x * inst.trucks.hire_per_hour[v] for (v, *_), x in self.hired.items()]
        lines += [-x * self.saved[k][0] for k, x in self.pairs.items()]
        return float(sum(lines))

    def co2e(self) -> float:
        """Emissions of the year. [kg]"""
        inst = self.inst
        lines = [x * inst.charge_co2e[m] for (_, m, _), x in self.charge.items()]
        lines += [x * inst.leftover_co2e for x in self.leftover.values()]
        lines += [x * inst.supply.left_co2e_per_t[s] for (s, _), x in self.left.items()]
        for lanes, flow in self.flows():
            lines += [x * lane_value(lanes, "co2e", k) for k, x in flow.items()]
        lines += [-x * self.saved[k][2] for k, x in self.pairs.items()]
        return float(sum(lines))

    def husk_share(self) -> float:
        """Most that husk is of what a yard takes in in a period. [t/t]"""
        taken = [[self.arrived[j, m, t] for m in range(3)] for j, t in product(OPEN, T)]
        return max(each[HUSK] / sum(each) for each in taken)

    def drawn(self) -> dict:
        """Water of building and turning. [t]"""
        found = dict(self.water)
        for (j, _, t), x in self.charge.items():
            found[j, t] += x * self.inst.turning_water
        return found

    def supply(self, s: int, t: int) -> float:
        """What must have arisen for what became of it. [t]"""
        keep = self.inst.feed.keep[self.of[s], t]
        out = sum(x for k, x in self.inbound.items() if (k[0], k[3]) == (s, t))
        out += self.left[s, t] + self.held.get((s, t), 0.0)
        return out - keep * self.held.get((s, before(t)), 0.0)

    def mix(self, j: int, t: int) -> dict[str, float]:
        """Ratios of a mix, as `Mix` words them."""
        feed, water = self.inst.feed, self.water[j, t]
        w = {m: self.charge[j, m, t] for m in range(3)}
        dry = {m: x * (1 - feed.moisture[m]) for m, x in w.items()}
        loose = {m: x / feed.loose_t_m3[m] for m, x in w.items()}
        total = sum(w.values()) + water
        left = sum(x * (1 - feed.dry_matter_loss[m]) for m, x in dry.items())
        nitrogen = sum(x * feed.nitrogen[m] for m, x in dry.items())
        wet = sum(x * feed.moisture[m] for m, x in w.items())
        off = sum(x * MARGIN[0][m] for m, x in w.items())
        usable = sum(x * feed.carbon[m] * AVAILABLE[m] for m, x in dry.items())
        line = 0.45 - 0.0225 * (usable / nitrogen - 20)
        lost = max(0.0, line)
        return {
            "cn_low": min(c / n for c, n in self.at_their_ends(w)),
            "cn_high": max(c / n for c, n in self.at_their_ends(w)),
            "moisture_low": (wet - off + water) / total,
            "moisture_high": (wet + off + water) / total,
            "density": total / sum(loose.values()),
            "structure": (loose[HUSK] + loose[STRAW]) / sum(loose.values()),
            "salt": sum(x * feed.salt[m] for m, x in w.items()) / total,
            "n": nitrogen * (1 - lost) / left,
            "n_line": nitrogen * (1 - line) / left,
            "n_most": nitrogen / left,
            "p2o5": sum(x * feed.p2o5[m] for m, x in dry.items()) / left,
            "k2o": sum(x * feed.k2o[m] for m, x in dry.items()) / left,
            "total_t": total,
            "volume_m3": sum(loose.values()),
            "left_t": left,
        }

    def at_their_ends(self, w: dict[int, float]) -> list[tuple[float, float]]:
        """Carbon and nitrogen with every value at one end of its range. [t]"""
        feed, found = self.inst.feed, []
        ends = [list(product((-1, 1), repeat=3)) for _ in w]
        for corner in product(*ends):
            carbon = nitrogen = 0.0
            for (m, x), (wet, rich, grain) in zip(w.items(), corner, strict=True):
                dry = x * (1 - feed.moisture[m] - wet * MARGIN[0][m])
                carbon += dry * (feed.carbon[m] + rich * MARGIN[1][m])
                nitrogen += dry * (feed.nitrogen[m] + grain * MARGIN[2][m])
            found.append((carbon, nitrogen))
        return found

    def ratios(self, name: str) -> list[float]:
        """One ratio of all mixes."""
        return [self.mix(j, t)[name] for j, t in product(OPEN, T)]

    def on_pad(self, j: int) -> float:
        """Most that lies on a pad at any moment. [m3]"""
        share, volume = self.inst.occupancy, self.inst.feed.pad_m3_per_t
        return max(
            sum(
                x * volume[m] * share[t, k]
                for (y, m, t), x in self.charge.items()
                if y == j
            )
            for k in range(share.shape[1])
        )

    def in_store(self, j: int) -> float:
        """Most in store at any period's end. [m3]"""
        loose = self.inst.feed.loose_t_m3
        return max(
            sum(x / loose[m] for (y, m, u), x in self.stock.items() if (y, u) == (j, t))
            for t in T
        )

    def in_compost_store(self, j: int) -> float:
        """Most compost in store at any period's end. [m3]"""
        return max(self.compost[j, t] for t in T) / self.inst.product_t_m3

    def uncollected(self, s: int) -> float:
        return sum(x for (i, _), x in self.left.items() if i == s)

    def sold(self, n: int, t: int | None = None) -> float:
        """What a market takes in a period or the year. [t]"""
        return sum(
            x for k, x in self.outbound.items() if k[0] == n and t in (None, k[3])
        )

    def kept(self, key: str, m: int) -> float:
        """What composting leaves of a substance in a tonne of feedstock. [t/t]"""
        feed = self.inst.feed
        if key == "salt":
            return float(feed.salt[m])
        share = {"n": feed.nitrogen, "p2o5": feed.p2o5, "k2o": feed.k2o}[key][m]
        if key == "n":
            share = 0.1 * share + 0.0225 * feed.carbon[m] * AVAILABLE[m]
        return float((1 - feed.moisture[m]) * share)

    def contents(self, key: str) -> dict[tuple[int, int], float]:
        """
        What a tonne of compost in store holds, by yard and period. [t/t]

        In a year like all the years before: the stores start with none of it in them
        and run for 60 years.
        """
        found = {}
        for j in OPEN:
            inside = dict.fromkeys(T, 0.0)
            for (y, m, t), x in self.charge.items():
                for u in T:
                    if y == j:
                        share = self.inst.ripening[t, u]
                        inside[u] += x * self.kept(key, m) * share
            content = 0.0
            for _, t in product(range(60), T):
                stays = self.compost[j, before(t)]
                grains = content * stays + inside[t]
                found[j, t] = content = grains / (stays + self.made[j, t])
        return found

    def dressing(self, key: str, n: int) -> float:
        """What a market gets of a substance in the year. [t]"""
        content = self.contents(key)
        return sum(
            x * content[j, t] for (m, j, _, t), x in self.outbound.items() if m == n
        )

    def sent(self, j: int, t: int) -> float:
        """Compost that leaves a yard in a period. [t]"""
        there = self.compost[j, before(t)] + self.made[j, t]
        return there - self.compost[j, t]

    def ripe(self, j: int, t: int, part: float) -> float:
        """Compost there is once a part of the period's has become ready. [t]"""
        return self.compost[j, before(t)] + part * self.made[j, t]

    def sent_by(self, t: int, part: float) -> float:
        """Largest share sent by then for which no yard sends what is not ripe."""
        return min(self.ripe(j, t, part) / self.sent(j, t) for j in OPEN)

    def covers(self, j: int, t: int) -> tuple[float, float]:
        """Cover in store when a period begins, fish that comes in it. [m3], [t]"""
        feed = self.inst.feed
        there = sum(
            feed.keep[m, t] * self.stock[j, m, before(t)] / feed.loose_t_m3[m]
            for m in (HUSK, STRAW)
        )
        return there, self.arrived[j, FISH, t]

    def cover(self, t: int) -> float:
        """Most cover for each tonne of fish that both yards have. [m3/t]"""
        pairs = [self.covers(j, t) for j in OPEN]
        return min(there / fish for there, fish in pairs if fish)

    def collected(self, *sources: int) -> float:
        """What leaves sources in the year. [t]"""
        return sum(x for k, x in self.inbound.items() if k[0] in sources)


def _lanes(lanes: Lanes) -> list[tuple[int, int, int, int]]:
    """Site, yard, truck and period of all that can be driven to or from open yards."""
    places = zip(lanes.site.tolist(), lanes.yard.tolist(), lanes.truck.tolist(),
                 lanes.usable, strict=True)  # fmt: skip
    return [(s, j, v, t) for s, j, v, may in places for t in T if may[t] and j in OPEN]


def lane_value(lanes: Lanes, name: str, key: tuple) -> float:
    """What a lane says of a period."""
    s, j, v, t = key
    row = (lanes.site == s) & (lanes.yard == j) & (lanes.truck == v)
    return float(getattr(lanes, name)[row][0, t])


def backhauls_of(drawn: Drawn) -> Backhauls:
    """The pairs drawn, offered in their periods; one more that is never offered."""
    keys = sorted({k[:4] for k in drawn.pairs})
    offered = np.array([[(*k, t) in drawn.pairs for t in T] for k in keys])
    none = (np.nan,) * 4
    each = np.array([[drawn.saved.get((*k, t), none) for t in T] for k in keys])
    each = np.nan_to_num(each)
    ends = (np.array(x) for x in zip(*keys, strict=True))
    money, hours, co2e, km = np.moveaxis(each, 2, 0)
    return Backhauls(*ends, money=money, hours=hours, co2e=co2e, km=km, usable=offered)


def just_ripe(d: Drawn) -> CompostDays:
    """All that is ripe has left on the evenings before more is ready, in one yard."""
    days = ready_twice()
    sent = np.ones(len(days.period))
    for t in T:
        here = np.flatnonzero(days.period == t)
        for part, until in ((0.5, 89), (0.0, 39)):
            sent[here[:until]] = d.sent_by(t, part)
    return replace(days, sent=sent)


def district(d: Drawn) -> Instance:
    """The tightest district in which the plan is allowed, every rule switched on."""
    inst = d.inst
    tonnes = np.array([[d.supply(s, t) for t in T] for s in range(5)])
    rooms = {name: np.full(6, 5.0) for name in ("pad", "store", "compost")}
    for j, o in OPEN.items():
        rooms["pad"][o] = d.on_pad(j)
        rooms["store"][o] = d.in_store(j)
        rooms["compost"][o] = d.in_compost_store(j)
    drawn = d.drawn()
    held = [max(d.held.get((s, t), 0.0) for t in T) for s in range(5)]
    owned = [[OWN[v] * d.one[v, t] for t in T] for v in range(2)]
    cover = np.zeros((3, 3))
    cover[FISH] = [d.cover(t) for t in T]
    salt, density = max(d.ratios("salt")), max(d.ratios("density"))
    share = d.collected(2, 3) / tonnes[[2, 3]].sum()
    return replace(
        inst,
        compost_days=just_ripe(d),
        supply=replace(
            inst.supply,
            tonnes=tonnes,
            hold_t=np.array(held),
            must_collect=np.arange(5) == MUST,
        ),
        options=replace(
            inst.options,
            pad_m3=rooms["pad"],
            store_m3=rooms["store"],
            compost_store_m3=rooms["compost"],
        ),
        yards=replace(
            inst.yards,
            decision=("open", "free", "closed"),
            water_t=np.array([[drawn.get((j, t), 5.0) for t in T] for j in range(3)]),
        ),
        markets=replace(
            inst.markets,
            demand=np.array(
                [[d.sold(n, t) + (n == t == 0) for t in T] for n in range(2)]
            ),
        ),
        trucks=replace(
            inst.trucks,
            owned_hours=np.array(owned),
            hire_hours=np.array([[d.hire(v, t) for t in T] for v in range(2)]),
            own=np.array(OWN),
        ),
        mix=Mix(
            cn=(min(d.ratios("cn_low")), max(d.ratios("cn_high"))),
            moisture=(min(d.ratios("moisture_low")), max(d.ratios("moisture_high"))),
            density_t_m3=density,
            structure=min(d.ratios("structure")),
            salt=salt,
            product=tuple(min(d.ratios(c)) for c in ("n", "p2o5", "k2o")),
            margin=Margin(*MARGIN),
        ),
        policy=Policy(
            least_shares=(LeastShare("fish", "fish", (2, 3), share),),
            max_yards=2,
            capital_limit=15000.0 + 60000.0,
            budget_limit=d.money(),
            co2e_limit=d.co2e(),
            most_share=MostShare("husk", (HUSK,), d.husk_share()),
            apart=(OtherSites(frozenset(), 2), OtherSites(frozenset({0}), 1)),
            whole=(
                ServedWhole("source", 0, (0, 1, 2), d.uncollected(0)),
                ServedWhole("market", 0, (0, 1), 1.0),  # a tonne of demand to spare
            ),
            most_exposed=160.0,
            worst_farms_km=6.0,  # (0.04 * 9 + 0.06 * 4) / 0.1
        ),
        neighbours=neighbours(),
        farms=farms(),
        cover=cover,
        contents=contents_of(d),
        standard=phosphate_standard(inst.feed, min(d.ratios("p2o5"))),
        least_loads=LeastLoads(np.zeros(3), 0.0),
        backhauls=backhauls_of(d),
    )


def contents_of(d: Drawn) -> Contents:
    """Limits that the first market's year just keeps, of all that may be limited."""
    inst, keys = d.inst, tuple(SUBSTANCES)
    kept = inst.feed.kept
    return Contents(
        keys=keys,
        limit_t=np.array([[d.dressing(key, 0), np.inf] for key in keys]),
        kept=np.array([kept[key] for key in keys]),
        made=inst.feed.product_per_t,
        held=np.array(
            [
                [[d.contents(key).get((j, t), 1e-3) for t in T] for j in range(3)]
                for key in keys
            ]
        ),
        given=np.ones(len(keys), dtype=bool),
    )


def plan_of(d: Drawn) -> Plan:
    """The plan as tables; every haul in two rows, which add up."""
    inst = d.inst
    s, j, n = inst.supply.codes, inst.yards.codes, inst.markets.codes
    m, v, t = inst.feed.codes, inst.trucks.codes, inst.periods
    hauls = frame(d.inbound, ["source", "yard", "truck", "period"], [s, j, v, t])
    hauls = pd.concat(
        [hauls.assign(tonnes=hauls["tonnes"] * part) for part in (0.3, 0.7)]
    )
    compost = pd.DataFrame(
        [
            (j[y], t[u], d.made[y, u], d.compost[y, u], d.leftover[y, u])
            for y, u in product(OPEN, T)
        ],
        columns=["yard", "period", "made_t", "stock_t", "leftover_t"],
    )
    none = pd.DataFrame()
    return Plan(
        status="optimal",
        objective=d.money(),
        bound=d.money(),
        gap=0.0,
        seconds=0.0,
        yards=pd.DataFrame({"yard": ["y0", "y1"], "size": ["small", "large"]}),
        hauls=hauls.reset_index(drop=True),
        deliveries=frame(
            d.outbound, ["market", "yard", "truck", "period"], [n, j, v, t]
        ),
        uncollected=frame(d.left, ["source", "period"], [s, t]),
        held=frame(d.held, ["source", "period"], [s, t]),
        stock=frame(d.stock, ["yard", "feedstock", "period"], [j, m, t]),
        charges=frame(d.charge, ["yard", "feedstock", "period"], [j, m, t]),
        water=frame(d.water, ["yard", "period"], [j, t]),
        compost=compost,
        hired=frame(d.hired, ["truck", "yard", "period"], [v, j, t], "hours"),
        bases=frame(BASES, ["truck", "yard"], [v, j], "count"),
        shortages=none,
        worth=none,
        paired=frame(
            d.pairs,
            ["source", "yard", "market", "truck", "period"],
            [s, j, n, v, t],
            "trips",
        ),
    )
