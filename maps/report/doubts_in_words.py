"""
What a board should doubt, in plain words: what could overturn a plan, what it assumes.

Sentences are made as in `plan_in_words`.
"""

from __future__ import annotations

import re

import numpy as np
from markupsafe import Markup

from logistics.scenario import records, rows_by
from maps.report.origins import counted, room_left, stated, traced
from maps.report.pieces import Cell, bdi, plain
from maps.report.plan_facts import Facts, money
from maps.report.plan_in_words import sales_of_year
from maps.shared import MINUS, count, names, net_said, surplus, united

FIRST = 3
"""Inputs to find out first."""
ENOUGH = 0.01
"""Change of the net cost, as a share of all costs, from which a number matters. [1]"""
UNIT = re.compile(r"(.*) \[(.*)\]$")
"""Name of a range with its unit."""
MORE = "% more"
"""Unit of a range that is a change."""


def if_compost_sells_for_less(facts: Facts) -> Cell:
    """Say what a tenth off the price of compost does."""
    sales = sales_of_year(facts)
    if sales <= 0:
        return ""
    tenth = traced(facts, "sales_tenth", money(facts, sales / 10))
    return (
        f"If compost sold for a tenth less, the same tonnes would bring in {tenth} "
        "less a year."
    )


def if_the_largest_source_closes(facts: Facts) -> Cell:
    """Name the source on which most depends."""
    lanes = facts.result.lanes
    taken = lanes[lanes["kind"] == "in"].groupby("origin")["tonnes"].sum()
    taken = taken[taken > 0].sort_values(ascending=False, kind="stable")
    if taken.empty:
        return ""
    code = str(taken.index[0])
    name = bdi(names(facts.result, "source")[code])
    tonnes = united(float(taken.iloc[0]), "t", facts.digits)
    return Markup(
        "If {} closed, {} a year would have to come from elsewhere or be done without."
    ).format(name, traced(facts, f"supplier/{code}", tonnes))


def how_near_the_best(facts: Facts) -> Cell:
    """Say how much better another plan could be."""
    plan = facts.result.plan
    if plan.status == "shortage" or not np.isfinite(plan.bound):
        return ""
    return room_left(facts)


def defaults(facts: Facts) -> Cell:
    """Count the defaults."""
    used = len(facts.result.scenario.defaults_used)
    if not used:
        return "Every number was given by the district; none is a default."
    number = traced(facts, "defaults", count(used, "number"))
    verb = "are defaults" if used > 1 else "is a default"
    return f"{number} {verb} from handbooks or judgement, not measured here."


def the_mix(facts: Facts) -> Cell:
    """Say what each heap has to keep to."""
    mix = facts.result.scenario.settings.mix
    if facts.result.mixes.empty:
        return ""
    low, high = (
        stated(facts, f"mix.{end}", value)
        for end, value in (("cn_low", mix.cn_low), ("cn_high", mix.cn_high))
    )
    dry, wet = (
        stated(facts, f"mix.moisture_{end}_pct", value * 100)
        for end, value in (("low", mix.moisture_low), ("high", mix.moisture_high))
    )
    return (
        f"Every heap keeps between {low} and {high} parts of carbon to one of nitrogen "
        f"and between {dry} and {wet} % of water."
    )


def haulage_as_driven(facts: Facts) -> Cell:
    """Say how sure the cost of haulage is."""
    if facts.result.plan.yards.empty:
        return ""
    if "rounds_above_plan" in facts.result.summary:
        return "Haulage is what the trucks' rounds of the whole year would cost."
    return "Haulage is an estimate: its rounds are not driven yet."


def money_in_nine_cases_of_ten(facts: Facts) -> Cell:
    """Say between what the money lies, where that is reckoned."""
    table = rows_by(facts.result.money_range, "figure")
    if "net" not in table:
        return ""
    low, high = (float(table["net"][end]) for end in ("low", "high"))
    said = [facts.unit.text(low), facts.unit.said(high)]
    if surplus(low) or surplus(high):
        said = [net_said(low, facts.unit), net_said(high, facts.unit)]
    least, most = (
        traced(facts, f"net_{end}", text)
        for end, text in zip(("low", "high"), said, strict=True)
    )
    return (
        f"In nine cases of ten the net cost lies between {least} and {most} a year; "
        "that is an estimate with the yards as planned."
    )


def find_out_first(facts: Facts) -> list[Cell]:
    """List the numbers whose range moves the net cost most."""
    ends = facts.result.range_ends
    if ends.empty:
        return []
    change = ends[["net_low", "net_high"]].abs()
    ends = ends.assign(most=change.max(axis=1))[np.isfinite(change).all(axis=1)]
    ends = ends[ends["most"] > ENOUGH * float(facts.costs["amount"].sum())]
    ends = ends.sort_values("most", ascending=False, kind="stable").head(FIRST)
    found: list[Cell] = []
    for at, row in zip(ends.index, records(ends), strict=True):
        named = UNIT.match(plain(row["name"]))
        name, unit = named.groups() if named else (plain(row["name"]), "")
        values, changes = [], []
        for end in ("low", "high"):
            key = f"{end}/{row['range']}/{at}"
            values.append(traced(facts, f"end_value/{key}", _end(row[end], unit)))
            net = float(row[f"net_{end}"])
            text = f"{money(facts, abs(net))} {'more' if net > 0 else 'less'}"
            changes.append(traced(facts, f"end_net/{key}", text))
        found.append(
            Markup(
                "<strong>{}</strong> may be anything from {} to {}: the year then "
                "costs {} or {}."
            ).format(name, *values, *changes)
        )
    return found


def _end(value: float, unit: str) -> str:
    """
    Write one end of a range; what is more than nothing is more.

    >>> _end(-25, "% more"), _end(15, "% more"), _end(6.5, "% of dry mass")
    ('25 % less', '15 % more', '6.5 % of dry mass')
    """
    if unit == MORE:
        return f"{abs(value):g} % {'less' if value < 0 else 'more'}"
    return f"{value:g} {unit}".strip().replace("-", MINUS)


def how_to_find_out(facts: Facts) -> Cell:
    """Introduce the list."""
    items = find_out_first(facts)
    if not items:
        return ""
    what = "these move" if len(items) > 1 else "this moves"
    number = counted("range_ends", f"{len(facts.result.range_ends)} uncertain numbers")
    return (
        f"Of {number}, {what} the cost of this plan most, each taken alone with the "
        "yards as planned; whether the best yards would move with them, a stress test "
        "says. Measure, weigh or ask before money is committed:"
    )
