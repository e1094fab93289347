"""The line of a truck's day: to the minute, every call on it, labels kept apart."""

import re
from xml.etree import ElementTree

import pandas as pd
import pytest

from maps.field.day_line import LEAST_PX, day_line, legend, span_of

PATH = re.compile(r"M(\d+) [\d.]+h(\d+)")


def tour(calls, start=6.0, stay=0.2, drive=0.3):
    """Calls one after the other, two a trip, out empty and back loaded."""
    rows, now = [], start
    for n in range(calls):
        arrives = now + drive
        rows.append(
            {
                "trip": 1 + n // 2, "call": n + 1, "begins_h": now, "leaves_h": now,
                "arrives_h": arrives, "starts_h": arrives, "ends_h": arrives + stay,
                "drive_h": drive, "break_h": 0.0, "load_t": float(n % 2),
            }
        )  # fmt: skip
        now = arrives + stay
    return pd.DataFrame(rows)


def drawn(table, who="Truck A"):
    return ElementTree.fromstring(day_line(who, table, 4.0, span_of(table)))


def runs(svg):
    """Kind -> its stretches in minutes from the first hour."""
    return {
        path.get("class"): [(int(x), int(w)) for x, w in PATH.findall(path.get("d"))]
        for path in svg.iter("path")
    }


def test_the_line_is_in_the_minutes_of_the_table():
    """Begins at 6:10 on a line from 6: 18 min empty, 12 there, 18 loaded, 12 there."""
    svg = drawn(tour(2, start=6 + 1 / 6))
    assert runs(svg) == {
        "empty": [(10, 18)], "handling": [(28, 12), (58, 12)], "loaded": [(40, 18)],
    }  # fmt: skip
    assert svg.find("svg").get("viewBox").split()[2] == "120"


@pytest.mark.parametrize(("calls", "stay"), [(1, 0.2), (9, 0.0), (40, 0.02), (120, 0)])
def test_every_call_is_on_it_and_no_number_over_another(calls, stay):
    table = tour(calls, stay=stay, drive=0.11)
    svg = drawn(table)
    texts = [t for t in svg.iter("text") if t.get("font-size") == "11"]
    below = [t for t in texts if float(t.get("y")) > 15]
    assert [int(t.text) for t in below] == list(table["call"])
    boxes = [
        (float(t.get("y")), float(t.get("x")[:-1]) / 100 * LEAST_PX, 3.3 * len(t.text))
        for t in below
    ]
    for n, (y, x, half) in enumerate(boxes):
        for other, at, wide in boxes[:n]:
            assert y != other or abs(x - at) >= half + wide
    assert max(y for y, _, _ in boxes) < float(svg.get("height")) - 12


def test_a_day_that_takes_no_time_is_drawn_too():
    """A source at the yard, and no minutes for loading."""
    svg = drawn(tour(2, stay=0.0, drive=0.0))
    assert svg.get("aria-label") == "Truck A, 06:00 to 06:00: no time; 2 calls"
    assert runs(svg) == {}


def test_a_night_and_long_days_keep_their_hours_apart():
    hours = [t.text for t in drawn(tour(4, start=23.2)).iter("text")
             if t.get("font-size") == "10"]  # fmt: skip
    assert hours == ["23", "24", "25", "26"]
    many = [t.text for t in drawn(tour(40)).iter("text") if t.get("font-size") == "10"]
    assert len(many) * 17 <= LEAST_PX + 17
    assert many[0] == "06"


def test_the_text_read_aloud_has_sums_and_stays_text():
    svg = drawn(tour(2), '<b onclick="x">')
    assert svg.get("aria-label") == (
        '<b onclick="x">, 06:00 to 07:00: driving loaded 0:18 h, driving empty 0:18 h, '
        "loading or unloading 0:24 h; 2 calls"
    )
    assert svg.get("role") == "img"


def test_the_legend_names_what_is_drawn():
    assert "waiting" not in legend(["driving empty", "break"])
    assert legend().count("<path") == 5
