"""
What of a month is still to be hauled, from what was hauled and what was counted.

A count at a source says what lies there, one at a yard what is in store: feedstock that
keeps, or compost. What spoils and was not fetched in time is gone, unless somebody
counted it. Every tonne of the plan ends in one column; `matter` sums them anew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds.visit_list import planned_flows
from logistics.rounds.visit_records import Flow
from logistics.rounds.windrow_calendar import period_day
from logistics.rounds.yard_month import balance
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result

KEY = ["kind", "place", "material", "yard"]
GIVEN = ["plan_t", "over_t", "more_t"]
SPENT = ["hauled_t", "rest_t", "elsewhere_t", "spoilt_t", "not_there_t", "not_needed_t"]
TINY = 1e-9
Key = tuple[str, str, str, str]
Sums = dict[Key, float]


@dataclass(frozen=True)
class Hauled:
    """
    What was fetched or brought on a day.

    Attributes
    ----------
    day
        Working day of the period.
    kind, place, material, yard
        As of a `Visit`.
    tonnes
        Weighed or judged. [t]
    """

    day: int
    kind: str
    place: str
    material: str
    yard: str
    tonnes: float


@dataclass(frozen=True)
class Counted:
    """
    What lay at a place on the morning of a day.

    Attributes
    ----------
    day
        Working day of the period.
    place
        Code of a source or yard.
    material
        Feedstock, or compost.
    tonnes
        Weighed or judged. [t]
    """

    day: int
    place: str
    material: str
    tonnes: float


@dataclass(frozen=True)
class AtHand:
    """
    What is known of a month on the morning of a day.

    Attributes
    ----------
    first
        The day: what is to be hauled from it on is planned anew.
    hauled, counted
        What the log says of the days before, and counts up to that morning.
    fetch_all
        Whether to fetch what was counted at a source beyond what is left of the plan.
    """

    first: int
    hauled: tuple[Hauled, ...] = ()
    counted: tuple[Counted, ...] = ()
    fetch_all: bool = False


def account(result: Result, period: str, at_hand: AtHand) -> pd.DataFrame:
    """
    Account for every tonne of a month's plan on the morning of a day.

    Returns
    -------
    DataFrame
        kind, place, material, yard; plan_t, over_t (hauled beyond the plan of this
        yard), more_t (to be fetched beyond the plan); hauled_t, rest_t (still to be
        hauled), elsewhere_t (another yard got it), spoilt_t (not fetched in time),
        not_there_t (counted: the source or store has less), not_needed_t (counted: the
        yard has more in store than the plan reckons with). [t] The first three sum to
        the same as the rest.
    """
    flows = planned_flows(result, period)
    plan, hauled = _planned(flows), _hauled(at_hand)
    keys = sorted({*plan, *hauled})
    rows = {key: dict.fromkeys([*GIVEN, *SPENT], 0.0) for key in keys}
    for key, row in rows.items():
        row["plan_t"], row["hauled_t"] = plan.get(key, 0.0), hauled.get(key, 0.0)
        row["over_t"] = max(0.0, row["hauled_t"] - row["plan_t"])
        row["rest_t"] = max(0.0, row["plan_t"] - row["hauled_t"])
    for group in _groups(keys, 3).values():
        over = sum(rows[key]["over_t"] for key in group)
        _take(rows, group, over, "elsewhere_t")
    _without_spoilt(result, period, rows, flows, at_hand)
    _as_counted(result, period, rows, at_hand)
    table = pd.DataFrame([(*key, *row.values()) for key, row in rows.items()])
    table.columns = pd.Index([*KEY, *GIVEN, *SPENT])
    return table


def _planned(flows: Iterable[Flow]) -> Sums:
    """Sum the flows of a plan, whatever their trucks. [t]"""
    plan: Sums = defaultdict(float)
    for flow in flows:
        plan[flow.kind, flow.place, flow.material, flow.yard] += flow.tonnes
    return plan


def _hauled(at_hand: AtHand) -> Sums:
    """Sum what was hauled before the day. [t]"""
    found: Sums = defaultdict(float)
    for one in at_hand.hauled:
        if one.day < at_hand.first:
            found[one.kind, one.place, one.material, one.yard] += one.tonnes
    return found


def _groups(keys: Iterable[Key], parts: int) -> dict[tuple[str, ...], list[Key]]:
    """Group rows by the first parts of their key."""
    found: dict[tuple[str, ...], list[Key]] = defaultdict(list)
    for key in keys:
        found[key[:parts]].append(key)
    return found


def _take(
    rows: Mapping[Key, dict[str, float]],
    group: Sequence[Key],
    tonnes: float,
    why: str,
) -> float:
    """Take tonnes out of what rows have still to haul, each its share; say how many."""
    whole = sum(rows[key]["rest_t"] for key in group)
    gone = min(whole, max(0.0, tonnes))
    for key in group:
        share = gone * rows[key]["rest_t"] / whole if whole > TINY else 0.0
        rows[key]["rest_t"] -= share
        rows[key][why] += share
    return gone


def last_counts(at_hand: AtHand) -> dict[tuple[str, str], Counted]:
    """Return the last count of every place and material up to the day."""
    counts = sorted(at_hand.counted, key=lambda c: c.day)
    return {(c.place, c.material): c for c in counts if c.day <= at_hand.first}


def share_from(result: Result, period: str, day: int) -> float:
    """Share of a period that is still to come on the morning of a working day."""
    days = float(rows_by(result.scenario.periods, "period")[period]["days"])
    return (days - period_day(result.scenario, period, day) + 1) / days


def _without_spoilt(
    result: Result,
    period: str,
    rows: Mapping[Key, dict[str, float]],
    flows: Sequence[Flow],
    at_hand: AtHand,
) -> None:
    """Give up what spoils and was due on days gone, where nobody counted it."""
    working = rows_by(result.scenario.periods, "period")[period]["working_days"]
    days = max(1, round(float(working)))
    counts = last_counts(at_hand)
    fresh = {flow.place: flow for flow in flows if flow.spoils}
    for (kind, place, material), group in _groups(rows, 3).items():
        flow = fresh.get(place)
        if kind != "in" or flow is None or (place, material) in counts:
            continue
        ahead = days - at_hand.first + 1
        share = min(1.0, (ahead + flow.every - 1) / days)
        still = sum(rows[key]["rest_t"] for key in group)
        _take(rows, group, still - flow.made_t * share, "spoilt_t")


def _as_counted(
    result: Result,
    period: str,
    rows: Mapping[Key, dict[str, float]],
    at_hand: AtHand,
) -> None:
    """Correct what is to be hauled by what was counted, sources first, then yards."""
    counts = last_counts(at_hand)
    spare: dict[str, float] = {}
    for (kind, place, material), group in _groups(rows, 3).items():
        if kind != "in":
            continue
        still = sum(rows[key]["rest_t"] for key in group)
        month = _made(result, period, place)
        planned = sum(rows[key]["plan_t"] for key in group)
        spare[place] = max(0.0, month - planned)
        count = counts.get((place, material))
        if count is None:
            continue
        there = _lies(result, period, count, at_hand, month, "in")
        _take(rows, group, still - there, "not_there_t")
        spare[place] = max(0.0, there - still)
        if at_hand.fetch_all:
            _add(rows, {key: rows[key]["plan_t"] for key in group}, spare.pop(place))
    for (yard, material), count in sorted(counts.items()):
        inward = [k for k in rows if (k[0], k[2], k[3]) == ("in", material, yard)]
        out = [k for k in rows if (k[0], k[2], k[3]) == ("out", material, yard)]
        if out:
            made = _ripened(result, period, yard)
            there = _lies(result, period, count, at_hand, made, "out")
            _take(rows, out, sum(rows[k]["rest_t"] for k in out) - there, "not_there_t")
        elif inward:
            more = count.tonnes - reckoned(result, period, yard, count, at_hand)
            _take(rows, inward, more, "not_needed_t")
            _fetch(rows, inward, -more, spare)


def _lies(
    result: Result,
    period: str,
    count: Counted,
    at_hand: AtHand,
    made: float,
    kind: str,
) -> float:
    """Reckon what can still be hauled from where it was counted. [t]"""
    at = "place" if kind == "in" else "yard"
    gone = sum(
        one.tonnes
        for one in at_hand.hauled
        if count.day <= one.day < at_hand.first
        and (one.kind, one.material) == (kind, count.material)
        and getattr(one, at) == count.place
    )
    later = made * share_from(result, period, count.day)
    return max(0.0, count.tonnes - gone + later)


def reckoned(
    result: Result, period: str, yard: str, count: Counted, at_hand: AtHand
) -> float:
    """Reckon what the plan has in store when it was counted, as was hauled. [t]"""
    table = balance(result, yard, period)
    here = table[table["feedstock"].str.split("__").str[0] == count.material]
    came = sum(
        one.tonnes
        for one in at_hand.hauled
        if one.day < count.day
        and (one.kind, one.yard, one.material) == ("in", yard, count.material)
    )
    gone = 1 - share_from(result, period, count.day)
    used = float((here["charge_t"] + here["lost_t"]).sum())
    return max(0.0, float(here["start_t"].sum()) + came - used * gone)


def _fetch(
    rows: Mapping[Key, dict[str, float]],
    inward: Sequence[Key],
    tonnes: float,
    spare: dict[str, float],
) -> None:
    """Fetch more for a yard that lacks it, from sources that have more than planned."""
    has = {key: spare.get(key[1], 0.0) for key in inward}
    given = min(max(0.0, tonnes), sum(has.values()))
    whole = sum(has.values())
    for key, most in has.items():
        share = given * most / whole if whole > TINY else 0.0
        spare[key[1]] = most - share
        rows[key]["more_t"] += share
        rows[key]["rest_t"] += share


def _add(
    rows: Mapping[Key, dict[str, float]], shares: Mapping[Key, float], tonnes: float
) -> None:
    """Add tonnes to what rows have still to haul, by their shares."""
    whole = sum(shares.values())
    for key, share in shares.items():
        if whole > TINY:
            rows[key]["more_t"] += tonnes * share / whole
            rows[key]["rest_t"] += tonnes * share / whole


def _made(result: Result, period: str, source: str) -> float:
    """Look up what a source makes in a period; none if the log alone names it. [t]"""
    supply = result.instance.supply
    if source not in supply.codes:
        return 0.0
    t = list(result.scenario.periods["period"]).index(period)
    return float(supply.tonnes[supply.codes.index(source), t])


def _ripened(result: Result, period: str, yard: str) -> float:
    """Look up the compost that a yard makes in a period. [t]"""
    made = result.plan.compost
    here = made[(made["yard"] == yard) & (made["period"] == period)]
    return float(here["made_t"].sum())
