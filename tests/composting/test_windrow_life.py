"""Windrows from day to day: batches by hand, the pad on every day, few moments."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.places import SMALL

from logistics.composting.windrow_life import (
    batches,
    batches_of,
    life,
    pad_by_day,
    pad_moments,
    turning_days,
)
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting

MONTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
YEAR = read_scenario(SMALL)
GRID = pad_by_day(YEAR)


def with_settings(**changes):
    settings = YEAR.settings
    for name, value in changes.items():
        settings = change_setting(settings, name.replace("__", "."), value)
    return replace(YEAR, settings=settings)


def test_a_batch_by_hand():
    """
    Seven days built, 56 active: its middle is at 3.5 days, so it leaves on day 60.

    Turned 14, 28 and 42 days after it is closed, when 17, 31 and 45 days old; half its
    volume goes in 56 days.
    """
    periods = YEAR.periods.iloc[:1].assign(days=28.0, working_days=28.0)
    scenario = replace(YEAR, tables={**YEAR.tables, "periods": periods})
    first = batches_of(scenario, 0, 4)[0]
    assert first.built == (1, 2, 3, 4, 5, 6, 7)
    assert first.turned == (21, 35, 49)
    assert first.length == pytest.approx([1 - 0.5 * age / 56 for age in (17, 31, 45)])
    assert (first.leaves, first.ready, first.share) == (60, 90, 0.25)
    begins, lying = life(first)
    assert begins == 1
    assert lying[:7] == pytest.approx(np.arange(1, 8) / 7)
    assert lying[20] == 1  # on the day it is turned it still lies there in full
    assert lying[21] == pytest.approx(first.length[0])
    assert len(lying) == 60  # it takes room on the day it leaves too


def test_batches_take_all_working_days_once():
    for place, work in enumerate(YEAR.periods["working_days"]):
        some = [batch for batch in batches(YEAR) if batch.period == place]
        assert [day for batch in some for day in batch.work] == [
            *range(1, round(work) + 1)
        ]
        assert sum(batch.share for batch in some) == pytest.approx(1)
        for one, other in pairwise(some):
            assert one.built[-1] < other.built[0]


def test_turned_every_so_many_days_but_not_just_before_it_leaves():
    assert turning_days(7, 60, 14) == (21, 35, 49)
    assert turning_days(7, 57, 14) == (21, 35, 49)
    assert turning_days(7, 55, 14) == (21, 35)
    assert turning_days(7, 12, 14) == ()


def test_without_shortening_fresh_lengths_stay():
    """The room is that of the fresh volume then: one unit a day for some 57 days."""
    fresh = pad_by_day(with_settings(windrow__shorten="never"))
    short = pad_by_day(YEAR)
    assert (short <= fresh + 1e-12).all()
    days = YEAR.periods["days"].to_numpy(dtype=float)
    active = YEAR.settings.process.active_days
    assert (days @ fresh).mean() == pytest.approx(active + 1, rel=0.02)
    none_lost = pad_by_day(with_settings(windrow__end_volume_pct=100))
    np.testing.assert_allclose(none_lost, fresh)


def test_a_day_counts_as_its_fullest_moment():
    """Put together by hand from the batches: nothing is missed over the year's end."""
    grid = pad_by_day(YEAR)
    again = np.zeros_like(grid)
    for batch in batches(YEAR):
        steps = (1.0, *batch.length)
        for day in range(batch.built[0], batch.leaves + 1):
            there = sum(built <= day for built in batch.built) / len(batch.built)
            turned = sum(each < day for each in batch.turned)
            place = (day - 1) % grid.shape[1]
            again[batch.period, place] += batch.share * there * steps[turned]
    np.testing.assert_allclose(grid, again, atol=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize("most", [12, 36, 96])
@given(charge=st.lists(st.floats(0, 9), min_size=12, max_size=12))
def test_what_keeps_to_the_moments_keeps_to_the_pad_on_every_day(most, charge):
    held, _ = pad_moments(GRID, MONTHS, most)
    assert held.shape[1] <= most
    fullest = (np.array(charge) @ GRID).max()
    assert (np.array(charge) @ held).max() >= fullest * (1 - 1e-12)


def test_more_moments_waste_less_of_the_pad():
    """Steady charging: within 1 % of the fullest day with eight moments a month."""
    fullest = (MONTHS @ GRID).max()
    wasted = [
        (MONTHS @ pad_moments(GRID, MONTHS, most)[0]).max() / fullest
        for most in (12, 36, 96)
    ]
    assert wasted[2] < 1.015
    assert wasted[2] < wasted[0] < 1.25


def test_moments_are_those_of_their_days():
    held, at = pad_moments(GRID, MONTHS, 96)
    assert (held >= GRID[:, at] - 1e-12).all()
    assert (np.diff(at) > 0).all()
