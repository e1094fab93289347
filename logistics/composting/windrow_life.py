"""
Windrows through their life: built within a week, turned, shortened, gone to curing.

What the plan takes for granted about the pad is what the yard sheets tell foremen: both
come from the batches below. A batch is what a yard builds within about a week. It
shrinks in even steps of time from its fresh volume to that of its last active day. At
each turning it is set up to full height again, so it becomes shorter and its end of the
row takes the next batch. Turned with a bucket loader, windrows are often joined once
they have shrunk (Rynk, R. (ed.), On-Farm Composting Handbook, NRAES-54, 1992, from
memory); the loader moves all of it anyway, so this is no work of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logistics.scenario import work_days

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
WEEK = 7
"""A batch is built within about so many days, so that it is of one age. [d]"""
LITTLE = 0.001
"""Share of the fullest pad that a moment between two others may lack."""


@dataclass(frozen=True)
class Batch:
    """
    What is built within about a week, and the days of its life.

    Days count since the year began, 1 the first; above a year's length they are the
    next year's.

    Attributes
    ----------
    period, number
        Place of the period it is started in, from 0; number in it, from 1.
    work
        Its working days in the period, from 1.
    built
        The day of each of these; as much is built on one as on another.
    turned, length
        Days on which it is turned, and the share of its fresh length after each.
    leaves, ready
        Day on which it leaves for curing; day from which it is compost.
    share
        Part of the period's charge that is in it.
    """

    period: int
    number: int
    work: tuple[int, ...]
    built: tuple[int, ...]
    turned: tuple[int, ...]
    length: tuple[float, ...]
    leaves: int
    ready: int
    share: float


def batches(scenario: Scenario) -> tuple[Batch, ...]:
    """List the batches of the year, whatever goes into them."""
    return tuple(
        batch
        for place, days in enumerate(scenario.periods["days"].astype(float))
        for batch in batches_of(scenario, place, ceil(days / WEEK))
    )


def batches_of(scenario: Scenario, place: int, count: int) -> list[Batch]:
    """
    Divide the working days of a period into batches.

    Parameters
    ----------
    scenario
        Periods, calendar and settings.
    place
        Place of the period, from 0.
    count
        How many; no more than there are working days.
    """
    period = scenario.periods.iloc[place]
    working = max(1, round(float(period["working_days"])))
    count = min(count, working)
    begin = int(scenario.periods["days"].astype(float).iloc[:place].sum())
    day = work_days(scenario.settings, scenario.periods, str(period["period"]))
    found = []
    for k in range(count):
        work = range(k * working // count + 1, (k + 1) * working // count + 1)
        built = tuple(begin + day[w - 1] for w in work)
        share = len(work) / working
        found.append(_batch(scenario, (place, k + 1), tuple(work), built, share))
    return found


def _batch(
    scenario: Scenario,
    name: tuple[int, int],
    work: tuple[int, ...],
    built: tuple[int, ...],
    share: float,
) -> Batch:
    """Give a batch its days; its age counts from the middle of its building."""
    process, windrow = scenario.settings.process, scenario.settings.windrow
    middle = sum(built) / len(built) - 0.5
    leaves = int(middle + process.active_days) + 1
    turned = turning_days(built[-1], leaves, process.turning_days)
    ages = [(day - 0.5 - middle) / process.active_days for day in turned]
    shrinks = 1 - windrow.end_volume if windrow.shorten == "turning" else 0.0
    length = tuple(1 - shrinks * min(1.0, age) for age in ages)
    ready = leaves + round(process.curing_days)
    return Batch(*name, work, built, turned, length, leaves, ready, share)


def turning_days(closed: int, leaves: int, every_days: float) -> tuple[int, ...]:
    """
    List the days on which a windrow is turned: every so many until it leaves.

    Parameters
    ----------
    closed, leaves
        Last day of building; day on which it leaves for curing. [d]
    every_days
        Days between two turnings; the first is as long after the windrow is closed.
        None falls within half of this before the windrow leaves, which turns it too.

    Examples
    --------
    >>> turning_days(7, 60, 14)
    (21, 35, 49)
    """
    count = int(max(0.0, (leaves - every_days / 2 - closed) / every_days) + 1e-9)
    return tuple(int(closed + n * every_days) for n in range(1, count + 1))


def pad_by_day(scenario: Scenario) -> Floats:
    """
    Share of the charge of period t, at fresh volume, that takes room on day d.

    A day counts as its fullest moment: what is built by its evening, and what is
    turned or leaves on it as if that were done last.

    Returns
    -------
    ndarray
        Shape (t, d). Above 1 where charges of several years lie there. [m3/m3]
    """
    year = year_days(scenario)
    grid = np.zeros((len(scenario.periods), year))
    for batch in batches(scenario):
        first, lying = life(batch)
        days = (first - 1 + np.arange(len(lying))) % year
        np.add.at(grid[batch.period], days, batch.share * lying)
    return grid


def life(batch: Batch) -> tuple[int, Floats]:
    """
    Follow a batch from day to day.

    Returns
    -------
    tuple
        Its first day; and the share of its fresh length that takes room on every day
        from that one to the one on which it leaves.
    """
    first = batch.built[0]
    day = np.arange(first, batch.leaves + 1)
    there = np.searchsorted(batch.built, day, side="right") / len(batch.built)
    steps = np.array([1.0, *batch.length])
    return first, there * steps[np.searchsorted(batch.turned, day, side="left")]


def year_days(scenario: Scenario) -> int:
    """Whole days of the year. [d]"""
    return max(1, round(float(scenario.periods["days"].astype(float).sum())))


def period_of_day(scenario: Scenario) -> Integers:
    """Place of the period that each day of the year falls into, shape (d,)."""
    ends = np.cumsum(scenario.periods["days"].to_numpy(dtype=float))
    day = np.arange(year_days(scenario)) + 0.5
    return np.minimum(np.searchsorted(ends, day), len(ends) - 1)


def pad_moments(grid: Floats, days: ArrayLike, most: int) -> tuple[Floats, Integers]:
    """
    Find few moments of the year that hold the pad on all its days.

    A charge that keeps to the pad at the moments keeps to it on every day: each day
    lies below a mean of the moments before and after it. What it lacks to that, in one
    period or another, both moments bear as well. Moments are added where most lacks.

    Parameters
    ----------
    grid
        See `pad_by_day`, shape (t, d).
    days
        Length of each period, shape (t,). [d]
    most
        Most moments; a few more where a charge would otherwise be missed.

    Returns
    -------
    tuple
        Shares at the moments, shape (t, k); days they fall on, from 0, shape (k,).
    """
    length = np.asarray(days, dtype=float)
    year = grid.shape[1]
    ends = np.ceil(np.cumsum(length) - 1e-9).astype(int) - 1
    chosen = sorted({int(day) for day in np.clip(ends, 0, year - 1)})
    fullest = max(1e-9, float((length @ grid).max()))
    while True:
        lack = _lacking(grid, chosen, length)
        worst = _worst(length @ lack / fullest, chosen)
        if not worst or len(chosen) >= most:
            break
        some = worst[: min(max(1, len(worst) // 2), most - len(chosen))]
        chosen = sorted({*chosen, *some})
    at = np.array(chosen, dtype=np.int64)
    held, after = grid[:, at].copy(), _after(at, year)
    for moment in (after, after - 1):
        np.maximum.at(held.T, moment, (grid[:, at[moment]] + lack).T)
    return held, at


def _worst(lacks: Floats, chosen: list[int]) -> list[int]:
    """Pick the day that lacks most between two moments, if too much; most first."""
    cuts = [day + 1 for day in chosen]
    spans = [span for span in np.split(np.arange(len(lacks)), cuts) if len(span)]
    days = [int(span[np.argmax(lacks[span])]) for span in spans]
    return sorted((d for d in days if lacks[d] > LITTLE), key=lambda d: -lacks[d])


def _lacking(grid: Floats, chosen: list[int], length: Floats) -> Floats:
    """Find what days lack to the best mean of the moments around, shape (t, d)."""
    at, year = np.array(chosen), grid.shape[1]
    after = _after(at, year)
    part = np.linspace(0, 1, 21)[:, None, None]
    mean = part * grid[:, at[after]] + (1 - part) * grid[:, at[after - 1]]
    lack = np.maximum(grid - mean, 0.0)
    best = np.argmin(np.einsum("t,ptd->pd", length, lack), axis=0)
    return np.asarray(lack[best, :, np.arange(year)].T)


def _after(at: Integers, year: int) -> Integers:
    """Place of the moment on or after each day; the year is a circle."""
    return np.asarray(np.searchsorted(at, np.arange(year)) % len(at))
