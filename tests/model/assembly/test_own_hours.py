"""What is hired beside own trucks on busy days: by hand, and as a law."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.model.problem.own_hours import (
    FREE,
    FULL,
    PART,
    STEP,
    hired_beside,
    steps,
)
from logistics.model.problem.parts import Trucks


def trucks(hire: float) -> Trucks:
    """Two own trucks of one type that work 100 h each."""
    return Trucks(
        codes=("light",),
        owned_hours=np.array([[200.0]]),
        hire_hours=np.array([[hire]]),
        hire_per_hour=np.array([5.0]),
        fixed_annual=0.0,
        own=np.array([2]),
    )


def hired(driven: float, hire: float = np.inf) -> float:
    own = np.full((1, 1, 1), 200.0)
    return float(hired_beside(np.full((1, 1, 1), driven), own, trucks(hire)).item())


@pytest.mark.parametrize(
    ("driven", "rent"),
    [
        (0.0, 0.0),
        (FREE * 200, 0.0),
        (FREE * 200 + 10, PART * 10),
        ((FREE + STEP) * 200, PART * STEP * 200),
        ((FREE + STEP) * 200 + 10, PART * STEP * 200 + 10),
        (1000.0, 1000 - FULL * 200),
    ],
)
def test_two_steps_by_hand(driven, rent):
    assert hired(driven) == pytest.approx(rent, abs=1e-9)


@pytest.mark.parametrize(("hire", "ample"), [(1.001, True), (0.999, False)])
def test_without_much_hire_loads_wait_for_another_day(hire, ample):
    limit = hire * PART * STEP * 200
    free, step = steps(trucks(limit))
    assert free.item() == pytest.approx(100 * (FREE if ample else FULL))
    assert step.item() == pytest.approx(100 * STEP if ample else 0.0)
    assert (hired(0.85 * 200, limit) > 0) == ample


@given(a=st.floats(0, 1000), b=st.floats(0, 1000), share=st.floats(0, 1))
def test_it_bends_upwards_and_never_passes_what_is_driven(a, b, share):
    middle = share * a + (1 - share) * b
    assert hired(middle) <= share * hired(a) + (1 - share) * hired(b) + 1e-9
    assert 0 <= hired(a) <= a
