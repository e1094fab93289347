"""
The rest of a driven month planned anew from stock at hand.

Days that have been driven stay as they are. What is still to be hauled (`at_hand`) is
put on the remaining days as the month's plan was, and their rounds are searched afresh.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from time import perf_counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds.anew import SECONDS, Anew, numbered, split
from logistics.rounds.at_hand import KEY, AtHand, Key, account, reckoned
from logistics.rounds.at_hand import last_counts as counts_of
from logistics.rounds.days import Day
from logistics.rounds.driving import Driven, searched
from logistics.rounds.left_over import COLUMNS, left_over
from logistics.rounds.lending import lend
from logistics.rounds.matter import matter_faults
from logistics.rounds.period_check import period_faults
from logistics.rounds.placing import place_left
from logistics.rounds.records import RoundsSolution, SearchLimits
from logistics.rounds.trouble import Trouble
from logistics.rounds.visit_list import planned_flows, visits_of
from logistics.rounds.visit_records import NOISE_T, Flow, Visit
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result

SMALL = "less than 5 kg in the rest of the month"
STORES = ["yard", "material", "counted_t", "reckoned_t", "lacks_t"]


@dataclass(frozen=True, eq=False)
class RestOfMonth:
    """
    The rest of a month planned anew from stock at hand.

    Attributes
    ----------
    anew
        The rounds before and after.
    account
        Every tonne of the month's plan, see `at_hand.account`.
    stores
        yard, material, counted_t, reckoned_t, lacks_t (that no source has to spare)
        [t]: stores that were counted.
    """

    anew: Anew
    account: pd.DataFrame
    stores: pd.DataFrame


def plan_rest(
    result: Result,
    driven: Driven,
    at_hand: AtHand,
    *,
    seconds: float = SECONDS,
    workers: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> RestOfMonth:
    """
    Plan the rest of a driven month anew from what is at hand.

    Parameters
    ----------
    result, driven
        The plan, and the rounds of one of its periods.
    at_hand
        From which day, what was hauled before, and what was counted.
    seconds
        For all searches. [s]
    workers, progress
        As of `drive`.

    Raises
    ------
    ValueError
        If the month has no such day.
    """
    started = perf_counter()
    period, first = driven.period, at_hand.first
    working = rows_by(result.scenario.periods, "period")[period]["working_days"]
    last = max(1, round(float(working)))
    if not 1 <= first <= last:
        message = f"day {first} is not one of the working days 1 to {last}"
        raise ValueError(message)
    trouble = Trouble(first, last)
    table = account(result, period, at_hand)
    flows, small = rest_flows(planned_flows(result, period), table, last, first)
    earlier, _, _ = split(driven, trouble)
    due = next_due(flows, driven, first, last)
    made = visits_of(result, period, flows, last - first + 1, due)
    planned: list[Visit] = []
    before = numbered(earlier[0], planned)
    going = [_later(visit, first - 1, len(planned)) for visit in made]
    planned += going
    steps = result.scenario.settings.rounds.iterations
    effort = SearchLimits(steps, seconds, 1)
    now = searched(result, period, going, effort, workers=workers, progress=progress)
    now = place_left(result, period, *now)
    now = lend(result, period, *now)
    days, answers = [*before, *now[0]], [*earlier[1], *now[1]]
    left = left_over(result, period, *now)
    faults = period_faults(result, period, planned, days, answers)
    sums = _hauls(zip(*now, strict=True)), _left(left[left["day"] > 0], small)
    faults += matter_faults(table, *sums)
    rows = pd.DataFrame(small, columns=COLUMNS)
    parts = [one for one in (left, rows) if len(one)]
    after = replace(
        driven,
        days=tuple(days),
        answers=tuple(answers),
        left=pd.concat(parts, ignore_index=True) if parts else rows,
        faults=tuple(faults),
        timed_out=any(answer.timed_out for answer in now[1]),
        seconds=perf_counter() - started,
    )
    short = float((table["not_there_t"] + table["spoilt_t"]).sum())
    anew = Anew(driven, after, trouble, (), short, after.seconds)
    return RestOfMonth(anew, table, _stores(result, period, table, at_hand))


def rest_flows(
    flows: Iterable[Flow], table: pd.DataFrame, days: int, first: int
) -> tuple[list[Flow], list[tuple[object, ...]]]:
    """
    Give every flow its share of what is still to be hauled.

    Returns
    -------
    list of Flow, list
        Flows of the remaining days; rows of `left_over` for what is too small to drive.
    """
    keys = zip(*(table[column] for column in KEY), strict=True)
    rest = dict(zip(keys, table["rest_t"], strict=True))
    known = list(flows)
    plan: dict[Key, float] = defaultdict(float)
    for flow in known:
        plan[_key(flow)] += flow.tonnes
    ahead = days - first + 1
    found: list[Flow] = []
    small: list[tuple[object, ...]] = []
    for flow in known:
        tonnes = rest[_key(flow)] * flow.tonnes / plan[_key(flow)]
        if tonnes <= NOISE_T:
            what = (flow.kind, flow.place, flow.material, tonnes)
            small += [(flow.yard, 0, *what, SMALL)] if tonnes > 0 else []
            continue
        share = ahead / days
        made = max(tonnes, flow.made_t * share)
        every = min(flow.every, ahead)
        found.append(replace(flow, tonnes=tonnes, made_t=made, every=every))
    return found, small


def next_due(
    flows: Iterable[Flow], driven: Driven, first: int, last: int
) -> dict[str, int]:
    """Day, counted from `first`, on which each source that spoils is due again."""
    called: dict[str, int] = {}
    for day, answer in zip(driven.days, driven.answers, strict=True):
        gone = set(answer.left)
        for n, visit in enumerate(day.visits):
            if visit.spoils and n not in gone and day.day < first:
                called[visit.place] = max(called.get(visit.place, 0), day.day)
    return {
        flow.place: min(
            max(1, called[flow.place] + flow.every - first + 1), last - first + 1
        )
        for flow in flows
        if flow.spoils and flow.place in called
    }


def _later(visit: Visit, days: int, before: int) -> Visit:
    """Move a visit, and the days on which it may be driven, and number it on."""
    return replace(
        visit,
        day=visit.day + days,
        first_day=visit.days.start + days,
        last_day=visit.days.stop - 1 + days,
        number=visit.number + before,
    )


def _key(one: Flow | Visit) -> Key:
    return one.kind, one.place, one.material, one.yard


def _hauls(found: Iterable[tuple[Day, RoundsSolution]]) -> Mapping[Key, float]:
    """Sum what rounds haul. [t]"""
    sums: dict[Key, float] = defaultdict(float)
    for day, answer in found:
        for tour in answer.tours:
            for stop in tour.stops:
                sums[_key(day.visits[stop])] += day.visits[stop].tonnes
    return sums


def _left(left: pd.DataFrame, small: list[tuple[object, ...]]) -> Mapping[Key, float]:
    """Sum what is not driven. [t]"""
    sums: dict[Key, float] = defaultdict(float)
    for table in (left, pd.DataFrame(small, columns=COLUMNS)):
        for row in records(table):
            key = (row["kind"], row["place"], row["material"], row["yard"])
            sums[key] += row["tonnes"]
    return sums


def _stores(
    result: Result, period: str, table: pd.DataFrame, at_hand: AtHand
) -> pd.DataFrame:
    """List the stores of feedstock that were counted, beside what was reckoned with."""
    stored = set(zip(table["yard"], table["material"], table["kind"], strict=True))
    more = table.groupby(["yard", "material"])["more_t"].sum().to_dict()
    rows = []
    for (yard, material), count in sorted(counts_of(at_hand).items()):
        if (yard, material, "in") in stored:
            wanted = reckoned(result, period, yard, count, at_hand)
            lacks = max(0.0, wanted - count.tonnes - more[yard, material])
            rows.append((yard, material, count.tonnes, wanted, lacks))
    return pd.DataFrame(rows, columns=STORES)
