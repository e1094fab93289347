"""
Plans that break one check of the audit by a given share of its row, for every check.

Rows start from `fitted_plan`, where every limit is met to the last tonne; what each
changes, and by how much, is reckoned there too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
from support.fitted_plan import (
    FISH,
    HUSK,
    MUST,
    OPEN,
    STRAW,
    Drawn,
    T,
    before,
    district,
    plan_of,
)

from logistics.model.problem.contents import SUBSTANCES
from logistics.model.problem.instance import (
    Instance,
    MostShare,
    OtherSites,
    ServedWhole,
)
from logistics.model.problem.own_hours import FULL
from logistics.model.problem.plan import Plan

D = Drawn()
INST, PLAN = district(D), plan_of(D)
Case = tuple[Instance, Plan]
Row = tuple[str, Callable[[float], Case]]
ROWS: list[Row] = []
"""Name of a check, and a plan that breaks it by a share of its row."""
WHOLE = ("yards forced open", "yards forced shut", "most yards", "other sites")
"""Checks that count yards: good for a share within the tolerance, else 1 too many."""
TOLERANCE = 1e-5


def row(name: str) -> Callable[[Callable[[float], Case]], Callable[[float], Case]]:
    """Add a row for a check."""

    def add(function: Callable[[float], Case]) -> Callable[[float], Case]:
        ROWS.append((name, function))
        return function

    return add


def rule(part: str, name: str, at: object, value: object) -> Instance:
    """The district with one number changed; `at` None for the whole of it."""
    record = getattr(INST, part)
    if at is None:
        return replace(INST, **{part: replace(record, **{name: value})})
    array = getattr(record, name).copy()
    array[at] = value
    return replace(INST, **{part: replace(record, **{name: array})})


def put(table: str, change: Callable[[pd.DataFrame], pd.Series], by: float) -> Plan:
    """The plan with `by` added in the first row that `change` marks."""
    frame = getattr(PLAN, table).copy()
    first = frame.index[change(frame)][0]
    column = frame.columns[-1]
    frame[column] = frame[column].astype(float)
    frame.loc[first, column] += by
    return replace(PLAN, **{table: frame})


def more(table: str, *values: object) -> Plan:
    """The plan with one row more, which `values` begin; 0 in what follows."""
    frame = getattr(PLAN, table)
    rest = [0.0] * (len(frame.columns) - len(values))
    extra = pd.DataFrame([[*values, *rest]], columns=frame.columns)
    both = pd.concat([frame, extra], ignore_index=True)
    return replace(PLAN, **{table: both})


def scaled(table: str, factor: float, **where: str) -> Plan:
    """The plan with some rows' amounts scaled."""
    frame = getattr(PLAN, table).copy()
    some = np.all([frame[k] == v for k, v in where.items()], axis=0)
    frame.loc[some, frame.columns[-1]] *= factor
    return replace(PLAN, **{table: frame})


# nothing is negative: entries where the plan has nothing
NEGATIVE = {
    "inbound": lambda x: more("hauls", "s0", "y2", "own", "p1", -x),
    "outbound": lambda x: more("deliveries", "n0", "y2", "own", "p1", -x),
    "left": lambda x: more("uncollected", "s1", "p2", -x),
    "held": lambda x: more("held", "s1", "p2", -x),
    "stock": lambda x: more("stock", "y2", "husk", "p1", -x),
    "charge": lambda x: more("charges", "y2", "husk", "p1", -x),
    "water": lambda x: more("water", "y2", "p1", -x),
    "compost": lambda x: more("compost", "y2", "p3", 0.0, -x),
    "leftover": lambda x: more("compost", "y2", "p3", 0.0, 0.0, -x),
    "hired": lambda x: put(
        "hired", lambda f: f["truck"] == "own", -D.hired[0, 0, 0] - x
    ),
    "bases": lambda x: more("bases", "own", "y2", -x),
}  # fmt: skip
for _name, _plan in NEGATIVE.items():
    ROWS.append((f"{_name} not negative", lambda x, plan=_plan: (INST, plan(x))))


for _sign in (1, -1):

    @row("mass at sources")
    def _(x: float, sign: int = _sign) -> Case:
        here = lambda f: (f["source"] == "s2") & (f["period"] == "p2")  # noqa: E731
        return INST, put("uncollected", here, sign * x * D.supply(2, 1))

    @row("mass in yards")
    def _(x: float, sign: int = _sign) -> Case:
        here = lambda f: (f["yard"] == "y1") & (f["feedstock"] == "fish")  # noqa: E731
        return INST, put("charges", here, sign * x * D.arrived[1, FISH, 0])

    @row("mass of compost")
    def _(x: float, sign: int = _sign) -> Case:
        here = lambda f: (f["yard"] == "y1") & (f["period"] == "p3")  # noqa: E731
        return INST, put("compost", here, sign * x * D.made[1, 2])

    @row("compost as made")
    def _(x: float, sign: int = _sign) -> Case:
        table = PLAN.compost.copy()
        table.loc[1, "made_t"] += sign * x * D.made[0, 1]
        return INST, replace(PLAN, compost=table)

    for _goal in ("cost", "co2e", "uncollected"):

        @row("goal as counted")
        def _(x: float, sign: int = _sign, goal: str = _goal) -> Case:
            left = sum(D.left.values())
            value = {"cost": D.money(), "co2e": D.co2e(), "uncollected": left}[goal]
            sales = sum(D.sold(n) * INST.markets.price_per_t[n] for n in range(2))
            moved = INST.supply.tonnes.sum() + sales
            # said - value = sign * x * (moved + said), for a goal above 0
            said = (value + sign * x * moved) / (1 - sign * x)
            return replace(INST, goal=goal), replace(PLAN, objective=said)


@row("room at sources")
def _(x: float) -> Case:
    return rule("supply", "hold_t", 4, INST.supply.hold_t[4] / (1 + x)), PLAN


@row("held no longer than it keeps")
def _(x: float) -> Case:
    """Straw keeps one period, and in the first what the last one brought too."""
    fresh = {0: [0, 2], 1: [1], 2: [2]}
    table = PLAN.held.copy()
    for t in T:
        came = sum(D.supply(4, r) for r in fresh[t])
        here = (table["source"] == "s4") & (table["period"] == f"p{t + 1}")
        table.loc[here, "tonnes"] = came / (1 - x)
    return INST, replace(PLAN, held=table)


@row("held no longer than it keeps")
def _(x: float) -> Case:
    """Fish keeps not at all."""
    return INST, more("held", "s2", "p1", x)


@row("stock no older than it keeps")
def _(x: float) -> Case:
    fresh = {0: [0, 2], 1: [1], 2: [2]}
    table = PLAN.stock.copy()
    for j, t in ((j, t) for j in OPEN for t in T):
        came = sum(D.arrived[j, STRAW, r] for r in fresh[t])
        here = (table["feedstock"] == "straw") & (table["period"] == f"p{t + 1}")
        table.loc[here & (table["yard"] == f"y{j}"), "tonnes"] = came / (1 - x)
    return INST, replace(PLAN, stock=table)


@row("lost in store at most what is used")
def _(x: float) -> Case:
    keep = INST.feed.keep[STRAW]
    lost = sum((1 - keep[t]) * D.stock[0, STRAW, before(t)] for t in T)
    used = sum(D.charge[0, STRAW, t] for t in T)
    return INST, scaled("charges", lost / (1 + x) / used, yard="y0", feedstock="straw")


@row("lost at sources at most what is taken")
def _(x: float) -> Case:
    keep = INST.feed.keep[STRAW]
    lost = sum((1 - keep[t]) * D.held[4, before(t)] for t in T)
    return INST, scaled("hauls", lost / (1 + x) / D.collected(4), source="s4")


@row("cover for what spoils")
def _(x: float) -> Case:
    cover = INST.cover.copy()
    cover[FISH] /= 1 - x
    return replace(INST, cover=cover), PLAN


def room(name: str, used: Callable[[int], float]) -> Callable[[float], Case]:
    """Less room than is used, in both yards."""

    def less(x: float) -> Case:
        values = getattr(INST.options, name).copy()
        for j, o in OPEN.items():
            values[o] = used(j) / (1 + x)
        return rule("options", name, None, values), PLAN

    return less


ROWS += [
    ("pad on every day", room("pad_m3", D.on_pad)),
    ("store", room("store_m3", D.in_store)),
    ("compost store", room("compost_store_m3", D.in_compost_store)),
]


@row("compost ripe before it leaves")
def _(x: float) -> Case:
    days = INST.compost_days
    sent = days.sent.copy()
    sent[np.flatnonzero(days.period == 1)[38]] += x
    return replace(INST, compost_days=replace(days, sent=sent)), PLAN


@row("water")
def _(x: float) -> Case:
    return rule("yards", "water_t", (1, 2), D.drawn()[1, 2] / (1 + x)), PLAN


# a yard that is not built has room for nothing: as much as x, for a row of size 1
@row("pad on every day")
def _(x: float) -> Case:
    most = INST.occupancy[0].max() * INST.feed.pad_m3_per_t[HUSK]
    return INST, more("charges", "y2", "husk", "p1", x / most)


@row("store")
def _(x: float) -> Case:
    return INST, more("stock", "y2", "husk", "p1", x * INST.feed.loose_t_m3[HUSK])


@row("compost store")
def _(x: float) -> Case:
    return INST, more("compost", "y2", "p1", 0.0, x * INST.product_t_m3)


@row("water")
def _(x: float) -> Case:
    return INST, more("water", "y2", "p1", x)


def unusable(side: str) -> tuple[int, int, int, int]:
    """A lane to or from a yard that is built, in a period when it is shut."""
    lanes = getattr(INST, side)
    rows = np.argwhere(~lanes.usable & (lanes.yard < 2)[:, None])
    a, t = rows[0]
    return int(lanes.site[a]), int(lanes.yard[a]), int(lanes.truck[a]), int(t)


@row("lanes in")
def _(x: float) -> Case:
    s, j, v, t = unusable("inbound")
    truck = INST.trucks.codes[v]
    return INST, more("hauls", f"s{s}", f"y{j}", truck, f"p{t + 1}", x)


@row("lanes out")
def _(x: float) -> Case:
    n, j, v, t = unusable("outbound")
    truck = INST.trucks.codes[v]
    return INST, more("deliveries", f"n{n}", f"y{j}", truck, f"p{t + 1}", x)


@row("lanes in")
def _(x: float) -> Case:
    """A lane that the district does not have."""
    lanes = INST.inbound.take(INST.inbound.yard < 2)
    plan = more("hauls", "s0", "y2", "own", "p1", x)
    return replace(INST, inbound=lanes), plan


@row("lanes out")
def _(x: float) -> Case:
    lanes = INST.outbound.take(INST.outbound.yard < 2)
    plan = more("deliveries", "n0", "y2", "own", "p1", x)
    return replace(INST, outbound=lanes), plan


@row("truck hours")
def _(x: float) -> Case:
    """An own truck works a little less at its yard."""
    owned = (D.hours(1, 2, 0) * (1 - x) - D.hired[1, 0, 2]) / FULL
    return rule("trucks", "owned_hours", (1, 2), owned), PLAN


@row("truck hours")
def _(x: float) -> Case:
    """Hire of one yard is no help at another."""
    here, by = {(1, 1, 0): -1, (1, 0, 0): 1}, x * D.hours(1, 0, 1)
    frame = PLAN.hired.copy()
    for (v, j, t), sign in here.items():
        codes = INST.trucks.codes[v], INST.yards.codes[j], INST.periods[t]
        some = (frame[["truck", "yard", "period"]] == list(codes)).all(axis=1)
        frame.loc[some, "hours"] += sign * by
    return INST, replace(PLAN, hired=frame)


@row("truck hours")
def _(x: float) -> Case:
    """Hours pooled over all yards; one type may run for ever, the other may not."""
    owned = INST.trucks.owned_hours.copy()
    owned[0] = np.inf
    owned[1, 0] = D.hours(1, 0) * (1 - x) - D.hire(1, 0)
    trucks = replace(INST.trucks, owned_hours=owned, own=None)
    return replace(INST, trucks=trucks), PLAN


@row("own trucks based")
def _(x: float) -> Case:
    return INST, put("bases", lambda f: f["yard"] == "y1", 2 * x)


@row("own trucks whole")
def _(x: float) -> Case:
    return INST, put("bases", lambda f: f["yard"] == "y1", -x)


@row("own trucks at open yards")
def _(x: float) -> Case:
    return INST, more("bases", "own", "y2", x)


@row("hire")
def _(x: float) -> Case:
    hire = np.where(np.arange(3) == 1, D.hire(0, 1) * (1 - x), np.inf)
    return rule("trucks", "hire_hours", 0, hire), PLAN


@row("demand")
def _(x: float) -> Case:
    return rule("markets", "demand", (1, 2), D.sold(1, 2) / (1 + x)), PLAN


def as_made(number: int, key: str) -> None:
    """Allow the first market a little less of a substance than it gets."""

    def too_much(x: float) -> Case:
        return rule(
            "contents", "limit_t", (number, 0), D.dressing(key, 0) / (1 + x)
        ), PLAN

    name = {"n": "nitrogen", "p2o5": "phosphate", "k2o": "potash"}.get(key, key)
    row(f"nutrients as made: {name}")(too_much)


for number, key in enumerate(SUBSTANCES):
    as_made(number, key)


@row("nutrients as made: nitrogen")
def _(x: float) -> Case:
    """A plan that is told to be poorer than its mixes make it."""
    kept = INST.feed.nitrogen_kept * (1 + x)
    return rule("feed", "nitrogen_kept", None, kept), PLAN


@row("paired trips not negative")
def _(x: float) -> Case:
    trips = float(PLAN.paired["trips"].iloc[0])
    return INST, put("paired", lambda f: f.index == 0, -trips - x)


def paired(site: str, *, inwards: bool) -> Callable[[float], Case]:
    """Pair more trips than a lane has, of a lane that two pairs share."""

    def too_many(x: float) -> Case:
        keys = [(k[0] if inwards else k[2], k[1], *k[3:]) for k in D.pairs]
        key = next(k for k in keys if keys.count(k) == 2)
        most = D.trips(key, inwards=inwards)
        now = sum(n for k, n in zip(keys, D.pairs.values(), strict=True) if k == key)
        place, j, v, t = key
        where = {
            site: f"{site[0].replace('m', 'n')}{place}", "yard": f"y{j}",
            "truck": INST.trucks.codes[v], "period": f"p{t + 1}",
        }  # fmt: skip
        return INST, scaled("paired", most * (1 + x) / now, **where)

    return too_many


ROWS += [
    ("paired trips within trips in", paired("source", inwards=True)),
    ("paired trips within trips out", paired("market", inwards=False)),
]


@row("paired trips within trips in")
def _(x: float) -> Case:
    """Nothing is driven on the lane of a pair."""
    first = PLAN.paired.iloc[0]
    keys = ["source", "yard", "truck", "period"]
    idle = (PLAN.hauls[keys] == first[keys]).all(axis=1)
    return INST, replace(
        PLAN, hauls=PLAN.hauls[~idle], paired=PLAN.paired.iloc[[0]].assign(trips=x)
    )


@row("paired trips within trips out")
def _(x: float) -> Case:
    first = PLAN.paired.iloc[0]
    keys = ["market", "yard", "truck", "period"]
    idle = (PLAN.deliveries[keys] == first[keys]).all(axis=1)
    return INST, replace(
        PLAN,
        deliveries=PLAN.deliveries[~idle],
        paired=PLAN.paired.iloc[[0]].assign(trips=x),
    )


@row("goal as counted")
def _(x: float) -> Case:
    """A profit of 5000, said to be more."""
    sales = sum(D.sold(n) * INST.markets.price_per_t[n] for n in range(2))
    moved = INST.supply.tonnes.sum() + sales + 5000.0
    trucks = replace(
        INST.trucks, fixed_annual=INST.trucks.fixed_annual - D.money() - 5000.0
    )
    said = -5000.0 - x * moved / (1 - x)
    return replace(INST, trucks=trucks), replace(PLAN, objective=said)


@row("must collect")
def _(x: float) -> Case:
    return INST, more("uncollected", f"s{MUST}", "p1", x)


@row("yards forced open")
def _(x: float) -> Case:
    last = "free" if x <= TOLERANCE else "open"
    return rule("yards", "decision", None, ("open", "free", last)), PLAN


@row("yards forced shut")
def _(x: float) -> Case:
    second = "free" if x <= TOLERANCE else "closed"
    return rule("yards", "decision", None, ("open", second, "closed")), PLAN


@row("most yards")
def _(x: float) -> Case:
    return rule("policy", "max_yards", None, 2 if x <= TOLERANCE else 1), PLAN


@row("other sites")
def _(x: float) -> Case:
    other = OtherSites(frozenset(), 2 if x <= TOLERANCE else 3)
    return rule("policy", "apart", None, (other,)), PLAN


@row("source served whole")
def _(x: float) -> Case:
    asked = INST.supply.tonnes[0].sum()
    whole = ServedWhole("source", 0, (0, 1, 2), D.uncollected(0) - x * asked)
    return rule("policy", "whole", None, (whole,)), PLAN


@row("market served whole")
def _(x: float) -> Case:
    """All but one tonne of what is asked in two periods is delivered."""
    asked = INST.markets.demand[0, :2].sum()
    whole = ServedWhole("market", 0, (0, 1), 1.0 - x * asked)
    return rule("policy", "whole", None, (whole,)), PLAN


@row("least share fish")
def _(x: float) -> Case:
    least = INST.policy.least_shares[0]
    less = replace(least, share=least.share / (1 - x))
    return rule("policy", "least_shares", None, (less,)), PLAN


@row("capital")
def _(x: float) -> Case:
    return rule("policy", "capital_limit", None, 75000.0 / (1 + x)), PLAN


@row("budget")
def _(x: float) -> Case:
    return rule("policy", "budget_limit", None, D.money() / (1 + x)), PLAN


@row("budget")
def _(x: float) -> Case:
    """A profit that must be made, which is missed."""
    grant = D.money() + 5000.0  # 5000 of profit
    inst = rule("policy", "budget_limit", None, -5000.0 / (1 - x))
    fixed = INST.trucks.fixed_annual - grant
    return replace(inst, trucks=replace(INST.trucks, fixed_annual=fixed)), PLAN


@row("emissions limit")
def _(x: float) -> Case:
    return rule("policy", "co2e_limit", None, D.co2e() / (1 + x)), PLAN


@row("emissions limit")
def _(x: float) -> Case:
    charged = sum(D.charge.values())
    kept = (D.co2e() + 5000.0) / charged  # what composting must keep out, a tonne
    inst = rule("policy", "co2e_limit", None, -5000.0 / (1 - x))
    return replace(inst, charge_co2e=INST.charge_co2e - kept), PLAN


@row("people near yards")
def _(x: float) -> Case:
    """The 100 heads near both yards count once: 160 heads, not 260."""
    return rule("policy", "most_exposed", None, 160.0 / (1 + x)), PLAN


@row("worst tenth of farms")
def _(x: float) -> Case:
    return rule("policy", "worst_farms_km", None, 6.0 / (1 + x)), PLAN


@row("most share husk")
def _(x: float) -> Case:
    most = MostShare("husk", (HUSK,), D.husk_share() / (1 + x))
    return rule("policy", "most_share", None, most), PLAN


def mixed(x: float, name: str, at: int | None, value: float) -> Case:
    """A limit of the mix set to a value."""
    now = getattr(INST.mix, name)
    if at is not None:
        value = tuple(value if n == at else v for n, v in enumerate(now))
    return rule("mix", name, None, value), PLAN


R = D.ratios
LIMITS: dict[str, tuple[str, int | None, Callable[[float], float]]] = {
    "C:N not above": ("cn", 1, lambda x: max(R("cn_high")) * (1 - x)),
    "C:N not below": ("cn", 0, lambda x: min(R("cn_low")) * (1 + x)),
    "moisture not above": ("moisture", 1, lambda x: max(R("moisture_high")) - x),
    "moisture not below": ("moisture", 0, lambda x: min(R("moisture_low")) + x),
    "density": ("density_t_m3", None, lambda x: max(R("density")) * (1 - x)),
    "structure": ("structure", None, lambda x: min(R("structure")) + x),
    "salt": ("salt", None, lambda x: max(R("salt")) - x),
    "nitrogen of compost": ("product", 0, lambda x: min(R("n")) + x),
    "phosphate of compost": ("product", 1, lambda x: min(R("p2o5")) + x),
    "potash of compost": ("product", 2, lambda x: min(R("k2o")) + x),
}
for _check, (_field, _at, _value) in LIMITS.items():
    ROWS.append(
        (
            _check,
            lambda x, n=_field, at=_at, value=_value: mixed(x, n, at, value(x)),
        )
    )
