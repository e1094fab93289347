"""How long it may still take: right where steps are alike, never above limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.model import Progress
from maps.commands import progress_line
from maps.commands.progress_line import ProgressLine
from maps.shared.time_left import TimeLeft, left_words


class Clock:
    """A clock that is set by hand. [s]"""

    now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


def test_before_anything_is_known_there_is_only_the_limit(clock):
    left = TimeLeft(3, limit=120, gap=0.01, clock=clock)
    clock.now = 20
    assert left.left() == (None, 340)
    assert left.words() == "at most 6 minutes left"
    assert TimeLeft(3, clock=clock).words() == ""


def test_equal_steps_take_as_long_as_those_before(clock):
    left = TimeLeft(4, limit=120, clock=clock)
    clock.now = 30
    left.next()
    clock.now = 40
    assert left.left() == (20 + 2 * 30, 110 + 2 * 120)
    assert left.words() == "about 2 minutes left; at most 6"


def test_a_gap_that_halves_every_ten_seconds_is_drawn_on(clock):
    """From 8 % to 4, 2 and 1 %: ten seconds each."""
    left = TimeLeft(1, limit=300, gap=0.01, clock=clock)
    left.see(0.08)
    clock.now = 10
    left.see(0.04)
    likely, most = left.left()
    assert likely == pytest.approx(20)
    assert most == 290
    clock.now = 30
    left.see(0.01)
    assert left.left() == (0, 270)


def test_a_gap_that_stands_still_promises_nothing(clock):
    left = TimeLeft(1, limit=300, gap=0.01, clock=clock)
    for now in (0, 10, 20):
        clock.now = now
        left.see(0.05)
    assert left.left() == (None, 280)


def test_the_pace_slows_while_nothing_is_seen(clock):
    """Silence is counted in: the time left grows with it."""
    left = TimeLeft(1, limit=1000, gap=0.01, clock=clock)
    left.see(0.08)
    clock.now = 10
    left.see(0.04)
    soon = left.left()[0]
    clock.now = 30
    assert left.left()[0] > soon


def test_runs_beside_each_other_are_counted(clock):
    left = TimeLeft(10, clock=clock)
    clock.now = 20
    left.count(4)
    assert left.left()[0] == pytest.approx(6 * 5)
    left.count(10)
    assert left.left()[0] == 0


@given(
    st.one_of(st.none(), st.floats(0, 1e6)),
    st.one_of(st.none(), st.floats(0, 1e6)),
)
def test_never_more_than_the_limit_is_said(likely, most):
    words = left_words(likely, most)
    assert words == "" if likely is None and most is None else "left" in words
    if likely is not None and most is not None and likely > most:
        assert words == left_words(most, most)


def test_without_a_terminal_short_runs_say_nothing_and_long_ones_now_and_then(
    capsys, monkeypatch
):
    now = [0.0]
    monkeypatch.setattr(progress_line, "perf_counter", lambda: now[0])
    left = TimeLeft(2, limit=300, gap=0.01, clock=lambda: now[0])
    line = ProgressLine("reading", left, "Ctrl-C keeps the best plan")
    for second in (1, 30, 59):
        now[0] = second
        line.of("Base", Progress("proof", second, 1000.0, 900.0))
    assert capsys.readouterr().err == ""
    now[0] = 61
    line.of("The ferry stops", Progress("proof", 2, 1000.0, 950.0))
    said = capsys.readouterr().err
    assert said == (
        "2 of 2 · The ferry stops · proof · 2 s · best 1,000 · proven gap 5.00 % · "
        "about 2 minutes left; at most 5 · Ctrl-C keeps the best plan\n"
    )
    now[0] = 100
    line.of("The ferry stops", Progress("proof", 41, 1000.0, 960.0))
    assert capsys.readouterr().err == ""
