"""The colour difference and the simulated eyes that tests of maps look through."""

import numpy as np
import pytest

from tests.support.colour_vision import (
    DEUTERANOPIA,
    EYES,
    PROTANOPIA,
    apart,
    ciede2000,
    lab,
    least_apart,
)

# Sharma, Wu and Dalal 2005, table 1 (from memory): pairs 1, 7, 11, 17 to 20, 34.
PAIRS = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("one", "other", "printed"), PAIRS)
def test_colour_difference_is_the_printed_one(one, other, printed):
    """Either way round, to the last printed digit."""
    assert ciede2000(one, other) == pytest.approx(printed, abs=5e-5)
    assert ciede2000(other, one) == pytest.approx(printed, abs=5e-5)


def test_greys_stay_greys_to_every_eye():
    """White, black and grey look the same; matrices keep them (rows add up to 1)."""
    for eyes, matrix in EYES.items():
        assert matrix.sum(axis=1) == pytest.approx(1, abs=1e-5)
        for grey in ("#ffffff", "#808080", "#000000"):
            assert lab(grey, eyes) == pytest.approx(lab(grey), abs=0.01)


def test_red_and_green_meet_without_their_cones():
    """Seeing twice changes little: what is left is a plane of colours."""
    for matrix in (PROTANOPIA, DEUTERANOPIA):
        assert abs(np.linalg.det(matrix)) < 0.1
    red, green = "#c04000", "#708000"
    assert apart(red, green) > 40
    assert apart(red, green, "deuteranopia") < 20
    assert least_apart([red, green, "#0000ff"], "deuteranopia")[1:] == (red, green)
