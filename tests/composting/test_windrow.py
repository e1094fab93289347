"""Room on a pad."""

from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.composting.windrow import (
    pad_m3,
    section_area,
    windrow_m3_per_m2,
)

length = st.floats(0.5, 10)


def windrow(section="parabola", base_m=3.0, height_m=1.5, aisle_m=3.0, reserve=0.75):
    return SimpleNamespace(
        section=section,
        base_m=base_m,
        height_m=height_m,
        aisle_m=aisle_m,
        reserve=reserve,
    )


@given(length, length)
def test_sections_fill_their_box_in_order(base, height):
    """A triangle is leaner than a parabola, and that leaner than half an ellipse."""
    areas = [section_area(s, base, height) for s in ("triangle", "parabola")]
    areas.append(section_area("semicircle", base, height))
    assert areas == sorted(areas)
    assert areas[-1] < base * height


def test_semicircle_is_half_a_circle():
    assert section_area("semicircle", 2.0, 1.0) == pytest.approx(3.14159265 / 2)


def test_default_windrow_gives_half_a_cubic_metre_a_square_metre():
    assert windrow_m3_per_m2(windrow()) == 0.5
    assert pad_m3(1750, windrow()) == pytest.approx(500)


def test_wider_aisles_leave_less_room():
    assert pad_m3(1000, windrow(aisle_m=5)) < pad_m3(1000, windrow())


def test_room_on_a_pad_by_hand():
    """320 m of windrow of 3 m2, 7 m a row, and 75 % more for receiving and curing."""
    assert pad_m3(320 * 7 * 1.75, windrow(aisle_m=4.0)) == pytest.approx(320 * 3)
