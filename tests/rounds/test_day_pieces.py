"""A day in pieces: what the timetable has, in order, without a gap."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.rounds.day_pieces import (
    BREAK,
    EMPTY,
    HANDLING,
    LOADED,
    WAITING,
    pieces,
)
from logistics.rounds.leg_times import breaks_on

MOST, REST = 4.0, 0.5


def day(*legs, start=6.0):
    """Build calls from legs: loading before, driving, waiting, handling, tonnes."""
    rows, now, driven = [], start, 0.0
    for n, (before, drive, wait, after, tonnes) in enumerate(legs, start=1):
        count, driven = breaks_on(drive, driven, MOST)
        leaves = now + before
        arrives = leaves + drive + count * REST
        ends = arrives + wait + after
        rows.append(
            {
                "trip": 1, "call": n, "begins_h": now, "leaves_h": leaves,
                "arrives_h": arrives, "starts_h": arrives + wait, "ends_h": ends,
                "drive_h": drive, "break_h": count * REST, "load_t": tonnes,
            }
        )  # fmt: skip
        now = ends
    return pd.DataFrame(rows)


def test_a_day_by_hand():
    """Load compost, bring it, wait at the mill and load there, come home."""
    table = day((0.5, 1, 0, 0.25, 2.0), (0, 0.5, 1, 0.5, 0), (0, 1, 0, 0.25, 3.0))
    found = [(p.kind, p.starts_h, p.ends_h, p.call) for p in pieces(table, MOST)]
    assert found == [
        (HANDLING, 6.0, 6.5, 0), (LOADED, 6.5, 7.5, 1), (HANDLING, 7.5, 7.75, 1),
        (EMPTY, 7.75, 8.25, 2), (WAITING, 8.25, 9.25, 2), (HANDLING, 9.25, 9.75, 2),
        (LOADED, 9.75, 10.75, 3), (HANDLING, 10.75, 11.0, 3),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (3.0, 1.0, [3.0, 1.0]),
        (3.0, 1.5, [3.0, -REST, 1.5]),  # before the leg that would go over
        (0.0, 9.0, [4.0, -REST, 4.0, -REST, 1.0]),  # within a leg
        (1.0, 5.0, [1.0, -REST, 4.0, -REST, 1.0]),  # both
    ],
)
def test_breaks_stand_where_they_are_due(first, second, expected):
    found = pieces(day((0, first, 0, 0, 0), (0, second, 0, 0, 0)), MOST)
    signed = [(-1 if p.kind == BREAK else 1) * (p.ends_h - p.starts_h) for p in found]
    assert signed == pytest.approx(expected)


HOURS = st.one_of(st.just(0.0), st.floats(0.01, 3.0))
DRIVING = st.one_of(st.just(0.0), st.floats(0.01, 11.0))
LEG = st.tuples(HOURS, DRIVING, HOURS, HOURS, st.sampled_from([0.0, 2.0]))


@given(st.lists(LEG, min_size=1, max_size=8))
def test_pieces_add_up_to_the_time_out(legs):
    """Law: no gap, no overlap; each kind as long as the timetable has it."""
    table = day(*legs)
    found = pieces(table, MOST)
    edges = [6.0, *(p.ends_h for p in found)]
    assert [p.starts_h for p in found] == pytest.approx(edges[:-1])
    assert edges[-1] == pytest.approx(table["ends_h"].iloc[-1])

    def hours(*kinds):
        return sum(p.ends_h - p.starts_h for p in found if p.kind in kinds)

    loaded = table["load_t"] > 0
    assert hours(LOADED) == pytest.approx(table["drive_h"][loaded].sum(), abs=1e-6)
    assert hours(EMPTY) == pytest.approx(table["drive_h"][~loaded].sum(), abs=1e-6)
    assert hours(BREAK) == pytest.approx(table["break_h"].sum(), abs=1e-6)
    driven = 0.0
    for piece in found:
        driven = 0.0 if piece.kind == BREAK else driven
        if piece.kind in (LOADED, EMPTY):
            driven += piece.ends_h - piece.starts_h
        assert driven <= MOST + 1e-6
