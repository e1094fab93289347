"""Trucks on the map of the day are told apart by letter, pattern and colour."""

import json
import re
from itertools import combinations

import pytest
from support import colour_vision

from maps.shared import STATIC

SCRIPT = (STATIC / "rounds.js").read_text(encoding="utf-8")
MOST = 12
APART = 15
"""CIEDE2000 between two trucks with lines of one pattern."""


def listed(name):
    """A list that the script begins with."""
    return json.loads(re.search(rf"const {name} = (\[.*?\]);\n", SCRIPT)[1])


COLOURS, PATTERNS = listed("COLOURS"), listed("PATTERNS")


def test_there_are_looks_for_twelve_trucks():
    assert len(set(COLOURS)) == MOST
    assert len({tuple(p) for p in PATTERNS}) == len(PATTERNS)


@pytest.mark.parametrize("eyes", colour_vision.EYES)
def test_no_two_of_twelve_trucks_look_alike(eyes):
    """By another pattern, or by a colour far enough off for these eyes."""
    for a, b in combinations(range(MOST), 2):
        if a % len(PATTERNS) == b % len(PATTERNS):
            assert colour_vision.apart(COLOURS[a], COLOURS[b], eyes) >= APART, (a, b)


def test_trucks_next_to_each_other_never_share_a_pattern():
    """Neighbours in the list are the trucks of one yard."""
    for a in range(MOST - 1):
        assert PATTERNS[a % len(PATTERNS)] != PATTERNS[(a + 1) % len(PATTERNS)]


def test_white_letters_can_be_read_on_every_colour():
    """Contrast of 4.5 to 1 at least (WCAG 2.2, 1.4.3)."""
    for colour in COLOURS:
        light = float(colour_vision.XYZ[1] @ colour_vision.linear(colour))
        assert 1.05 / (light + 0.05) >= 4.5
