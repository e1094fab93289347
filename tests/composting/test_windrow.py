"""Room on a pad."""

from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.composting.windrow import (
    pad_m3,
    pad_need,
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


@given(st.floats(0.1, 100), st.floats(0.3, 0.7), st.floats(7, 200), st.floats(0.3, 1))
def test_a_pad_built_for_a_charge_has_room_for_it(per_day, density, days, mean):
    """Pad from volume and volume from pad are each other's mirror."""
    need = pad_need(per_day, density, days, mean, windrow())
    assert pad_m3(need.pad_m2, windrow()) == pytest.approx(need.volume_m3)
    assert need.pad_m2 == pytest.approx(1.75 * need.zone_m2)


def test_wider_aisles_leave_less_room():
    assert pad_m3(1000, windrow(aisle_m=5)) < pad_m3(1000, windrow())


def test_need_of_a_pad_by_hand():
    """10 t a day at 0.5 t/m3, 60 days, shrunk to 0.8: 960 m3 in 3 m2 of section."""
    need = pad_need(10, 0.5, 60, 0.8, windrow(aisle_m=4.0))
    assert need.volume_m3 == pytest.approx(960)
    assert need.length_m == pytest.approx(320)
    assert need.zone_m2 == pytest.approx(320 * 7)
    assert need.pad_m2 == pytest.approx(320 * 7 * 1.75)
