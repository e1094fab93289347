"""Lines of the table of plans side by side: money, yards, tonnes, people, gains."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts import (
    FARMS,
    SOURCES,
    YEAR,
    exposure_table,
    fairness_table,
)
from logistics.land import homes_near
from logistics.scenario import in_list
from logistics.studies import by_district, equals_base, winners, yard_changes
from maps.report import Cell, Facts, account_name, facts, plain, shorten
from maps.shared import (
    MINUS,
    NET,
    MoneyUnit,
    amount,
    count,
    digits_for,
    names,
    net_text,
    told_apart,
)
from maps.studies.comparison_words import base_remark, remarks, unmet

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome

MOST_MATERIALS = 5
MOST_NAMED = 1
LONGEST = 30
LEAST_T = 0.5
"""Tonnes a year below which a place counts as unchanged."""
NEAR_M = 1000
"""Distance within which a home, school or clinic counts as near a yard."""
EQUAL = "as good as equal"
HOME = {
    "village": ("village", "villages"),
    "dwellings": ("group of dwellings", "groups of dwellings"),
    "school": ("school", "schools"),
    "clinic": ("clinic", "clinics"),
}


@dataclass(frozen=True)
class Line:
    """
    One line of the table: a heading, numbers with what differs, or words.

    Attributes
    ----------
    label
        What it says, with its unit.
    cells
        One a plan, the base first: texts under each other; none for a heading.
    words
        Whether the cells are words, which stand to the left.
    """

    label: Cell
    cells: Sequence[Sequence[Cell]] = ()
    words: bool = False


@dataclass(frozen=True, eq=False)
class PlanColumn:
    """One plan of the sheet: the base (no outcome) or a change, planned afresh."""

    title: str
    story: str
    known: Facts
    outcome: Outcome | None = None

    @property
    def result(self) -> Result:
        """The plan."""
        return self.known.result


def columns(base: Result, outcomes: Sequence[Outcome]) -> list[PlanColumn]:
    """Give the base and every change its column."""
    titles = told_apart({o.change.code: o.change.title for o in outcomes})
    return [
        PlanColumn("Base: no change", "", facts(base)),
        *(
            PlanColumn(
                plain(titles[o.change.code]),
                plain(o.change.story),
                facts(o.replan),
                o,
            )
            for o in outcomes
        ),
    ]


def signed(value: float, digits: int = 0) -> str:
    """
    Write a difference with its sign; nothing where it is none.

    >>> signed(1700.6), signed(-3, 1), signed(0.2)
    ('+1,701', '−3.0', '')
    """
    text = amount(value, digits)
    if not text.strip("0.,"):
        return ""
    return text if text.startswith(MINUS) else f"+{text}"


def number_line(label: Cell, values: Sequence[float], digits: int = 0) -> Line:
    """Write a number of every plan, and what it differs from the base's."""
    shown = [round(value, digits) for value in values]
    return Line(
        label,
        [
            [amount(value, digits), *([said] if place and said else [])]
            for place, value in enumerate(shown)
            for said in [signed(value - shown[0], digits)]
        ],
    )


def table(plans: Sequence[PlanColumn]) -> list[Line]:
    """Make the lines of the table below the maps; the base is the first plan."""
    return [
        *_money(plans),
        *_yards(plans),
        *_tonnes(plans),
        *_people(plans),
        *_places(plans),
    ]


def _money(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """Net cost, whether it is as good as equal, and its accounts."""
    base = plans[0].result
    unit = max((plan.known.unit for plan in plans), key=lambda one: one.factor)
    yield Line(f"Money [{unit.name} a year]")
    costs = [plan.known.net for plan in plans]
    net = number_line(NET, [cost / unit.factor for cost in costs], unit.digits)
    equal = [
        [EQUAL] if plan.outcome and equals_base(base, plan.result) else []
        for plan in plans
    ]
    cells = [
        [net_text(cost, unit), *cell[1:], *same]
        for cost, cell, same in zip(costs, net.cells, equal, strict=True)
    ]
    yield Line(net.label, cells)
    by_account = [p.known.lines.groupby("account", sort=False)["amount"].sum()
                  for p in plans]  # fmt: skip
    sums = pd.DataFrame(dict(enumerate(by_account))).fillna(0.0)
    order = list(dict.fromkeys(code for one in by_account for code in one.index))
    for code in order:
        values = (sums.loc[code] / unit.factor).tolist()
        yield number_line(account_name(str(code)), values, unit.digits)
    yield Line("Regret of the base's yards", [_regret(p, unit) for p in plans])
    gaps = [[amount(p.result.plan.gap * 100, 2)] for p in plans]
    yield Line("Proven gap [%]", gaps)


def _regret(plan: PlanColumn, unit: MoneyUnit) -> list[Cell]:
    """Say what it costs to have built the base's yards."""
    if plan.outcome is None:
        return ["–"]
    if plan.outcome.operate is None:
        return ["cannot stay"]
    return [unit.text(plan.outcome.regret)]


def _yards(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """Yards in use, and which are opened, closed and resized."""
    yield Line("Yards")
    yield number_line("In use", [len(p.result.plan.yards) for p in plans])
    base = plans[0].result
    changes = [yard_changes(base.plan, p.result.plan) for p in plans]
    for place, label in enumerate(("Opened", "Closed", "Other size")):
        if any(one[place] for one in changes):
            cells = [
                [in_list(_short(_names(base, p, "yard"), c) for c in one[place])]
                for p, one in zip(plans, changes, strict=True)
            ]
            yield Line(label, cells, words=True)


def _tonnes(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """Feedstock collected, by material, and compost."""
    yield Line("Tonnes a year")
    digits = plans[0].known.digits
    yield number_line("Collected", [p.known.collected for p in plans], digits)
    shares = [_percent(p.known.collected, p.known.arises) for p in plans]
    yield number_line("Share of the supply [%]", shares, 1)
    every = [p.known.year["collected"] for p in plans]
    frame = pd.DataFrame(dict(enumerate(every))).fillna(0.0)
    order = frame.max(axis=1).sort_values(ascending=False, kind="stable").index
    for code in order[:MOST_MATERIALS]:
        found = (p.known.material_name.get(str(code), "") for p in plans)
        label = shorten(plain(next(filter(None, found))), LONGEST)
        yield number_line(label, frame.loc[code].tolist(), digits)
    if len(order) > MOST_MATERIALS:
        rest = frame.loc[order[MOST_MATERIALS:]].sum()
        label = f"{len(order) - MOST_MATERIALS} more feedstocks"
        yield number_line(label, rest.tolist(), digits)
    yield number_line("Compost made", [p.known.made for p in plans], digits)
    yield number_line("Demand not met", [p.known.unmet for p in plans], digits)


def _percent(part: float, whole: float) -> float:
    return part / whole * 100 if whole else float("nan")


def _people(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """How many bring, how many take compost, and who is near a yard."""
    yield Line("People")
    served = [p.result.plan.hauls["source"].nunique() for p in plans]
    yield number_line("Sources collected from", served)
    taking = [p.result.plan.deliveries["market"].nunique() for p in plans]
    yield number_line("Markets supplied", taking)
    near = [
        homes_near(p.result.scenario, list(p.result.plan.yards["yard"]), NEAR_M)
        for p in plans
    ]
    if any(near):
        cells = [
            [in_list(count(n, *HOME[k]) for k, n in one.items() if n) or "none"]
            for one in near
        ]
        yield Line("Within 1 km of a yard", cells, words=True)
    yield from _exposed(plans)


def _exposed(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """People near yards, and how far the worst tenth of farms and sources is."""
    tables = [exposure_table(p.result) for p in plans]
    if all(len(table) for table in tables):
        metres = plans[0].result.scenario.settings.people.far_m
        label = f"People within {metres:,.0f} m of a yard"
        yield number_line(label, _values(tables, "period", YEAR, "far"))
        weighted = _values(tables, "period", YEAR, "weighted")
        yield number_line("The same, weighted by distance", weighted)
    even = [fairness_table(p.result) for p in plans]
    for who, label in ((FARMS, "farms"), (SOURCES, "sources")):
        worst = _values(even, "who", who, "worst")
        if len(worst) == len(plans) and np.isfinite(worst).all():
            yield number_line(f"Worst tenth of {label} [km]", worst, 1)
            index = _values(even, "who", who, "gini")
            yield number_line(f"Gini index of the distances of {label}", index, 2)


def _values(
    tables: Sequence[pd.DataFrame], key: str, row: str, column: str
) -> list[float]:
    """Value of one row of every table that has it."""
    return [
        float(value)
        for table in tables
        for value in table.loc[table[key] == row, column].tolist()
    ]


def _places(plans: Sequence[PlanColumn]) -> Iterator[Line]:
    """Who gains, who loses, and what every plan breaks."""
    base = plans[0].result
    yield Line("Who gains, who loses [t a year against the base]")
    for label, sign in (("Gain", 1), ("Lose", -1)):
        cells = [list(_gainers(base, p, sign)) if p.outcome else ["–"] for p in plans]
        yield Line(label, [c or ["nobody"] for c in cells], words=True)
    yield Line("Problems", [_broken(base, p) for p in plans], words=True)


def _gainers(base: Result, plan: PlanColumn, sign: int) -> Iterator[str]:
    """Districts, sources and markets that gain (or lose), the most first."""
    if plan.outcome is None:
        return
    districts = by_district(base, plan.outcome).set_index("district")
    sources = winners(base, plan.outcome).set_index("source")["difference"]
    sent = {
        place: one.plan.deliveries.groupby("market")["tonnes"].sum()
        for place, one in enumerate((base, plan.result))
    }
    markets = pd.DataFrame(sent).fillna(0.0)
    collected = districts["collected_after"] - districts["collected_before"]
    compost = districts["compost_after"] - districts["compost_before"]
    areas = _names(base, plan, "district")
    groups: tuple[tuple[str, pd.Series, Mapping[str, str]], ...] = (
        ("Districts, feedstock", collected[collected.index != ""], areas),
        ("Districts, compost", compost[compost.index != ""], areas),
        ("Sources", sources, _names(base, plan, "source")),
        ("Markets", markets[1] - markets[0], _names(base, plan, "market")),
    )
    for head, change, label in groups:
        moved = change[change * sign > LEAST_T].sort_values(
            ascending=sign < 0, kind="stable"
        )
        if moved.empty:
            continue
        digits = digits_for(float(moved.abs().sum()))
        said = [
            f"{_short(label, str(code))} {signed(value, digits)}"
            for code, value in moved.head(MOST_NAMED).items()
        ]
        rest = len(moved) - MOST_NAMED
        more = f" and {rest} more" if rest > 0 else ""
        yield f"{head}: {'; '.join(said)}{more}"


def _broken(base: Result, plan: PlanColumn) -> list[Cell]:
    """Say which demands a plan leaves unmet, and why the base's yards cannot stay."""
    if plan.outcome is None:
        said = [base_remark(base)]
    else:
        said = [unmet("All planned afresh, the plan", plan.result)]
        said.append(remarks(base, plan.outcome)["operate"])
    return [plain(text) for text in filter(None, said)] or ["none"]


def _names(base: Result, plan: PlanColumn, kind: str) -> dict[str, str]:
    """Names of places by code, also of those that a change adds."""
    return {**names(plan.result, kind), **names(base, kind)}


def _short(label: Mapping[str, str], code: str) -> str:
    return shorten(plain(label.get(code, code)), LONGEST)
