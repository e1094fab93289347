"""Tornado and histogram: lengths are true, names are safe, edges are handled."""

import re

import pytest

from maps.studies.stress_charts import Mark, Swing, histogram, tornado


def bars(drawing):
    """Left edge, width and fill of every bar."""
    found = re.findall(
        r'<rect x="([\d.-]+)" y="[\d.-]+" width="([\d.-]+)"[^>]*fill="([^"]+)" stroke',
        str(drawing),
    )
    return [(float(x), float(w), fill) for x, w, fill in found]


def test_bars_are_as_long_as_what_they_stand_for():
    drawing = tornado("t", "T", "d", [Swing("a", -10, 30), Swing("b", 5, 20)], "t")
    low, high, small, large = bars(drawing)
    middle = low[0] + low[1]
    assert high[0] == pytest.approx(middle, abs=0.2)
    assert high[1] == pytest.approx(3 * low[1], rel=0.01)
    assert large[1] == pytest.approx(2 * low[1], rel=0.01)
    assert small[1] == pytest.approx(low[1] / 2, rel=0.02)
    assert low[2] != high[2]
    assert large[2] == high[2]


@pytest.mark.parametrize("ends", [(0, 0), (5, 5), (-3, -1), (1e-7, 2e-7), (-1e9, 1e9)])
def test_any_ends_can_be_drawn(ends):
    for x, width, _ in bars(tornado("t", "T", "d", [Swing("a", *ends)], "t")):
        assert 0 <= x <= 640
        assert 0 <= width <= 640


def test_a_histogram_counts_every_case_once():
    values = [1, 1.2, 2.7, 3, 9.9, 10]
    drawing = histogram("h", "H", "d", values, [Mark("mean", 4)], "t")
    heights = [float(h) for h in re.findall(r'height="([\d.]+)" fill="#', str(drawing))]
    one = min(heights)
    assert sum(round(h / one) for h in heights) == len(values)


@pytest.mark.parametrize("values", [[5], [5, 5], [0, 0], [-3, 1e6], [1e-9, 2e-9]])
def test_any_cases_can_be_counted(values):
    drawing = str(histogram("h", "H", "d", values, [Mark("base", values[0])], "t"))
    assert "nan" not in drawing
    assert drawing.count("<rect") >= 1


def test_names_cannot_break_the_page():
    name = '<script>"&\u202e' + "x" * 80
    drawing = str(tornado("t", name, name, [Swing(name, 0, 1, "<b>", "<i>")], name))
    drawing += str(histogram("h", name, name, [1, 2], [Mark(name, 1)], name))
    assert "<script" not in drawing
    assert "<b>" not in drawing
