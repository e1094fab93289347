"""Charts, labels and rounding: what is drawn and written is what the numbers say."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.fake_result import HOSTILE
from support.pages import luminance

from maps.report.axes import every, steps
from maps.report.charts import INK, PAPER, SMALL, SOFT, TEXTURES, Series, bars, key
from maps.report.map_labels import Sheet, label
from maps.report.pieces import bdi, listed, plain, shorten
from maps.report.sections.months import ACCOUNT_COLOURS
from maps.shared.figures import amount, apportion, count, digits_for, spread
from maps.shared.material_looks import COMPOST_COLOUR, FEEDSTOCK_COLOURS

SVG = "{http://www.w3.org/2000/svg}"
MONTHS = ["January", "February", "March"]
HUSK = Series("Husk", [10.0, 20.0, 0.0], "#B5690B", 0)
FISH = Series("Fish", [5.0, 10.0, 30.0], "#2B63C6", 1)


def tree(markup):
    """Parse a drawing; it must be well formed."""
    return ET.fromstring(f'<r xmlns="http://www.w3.org/2000/svg">{markup}</r>')


def boxes(markup):
    """Bars of a drawing: fill, x, y, height."""
    root = tree(markup)
    inside = {id(r) for p in root.iter(f"{SVG}pattern") for r in p.iter(f"{SVG}rect")}
    return [
        (r.get("fill"), *(float(r.get(k)) for k in ("x", "y", "height")))
        for r in root.iter(f"{SVG}rect")
        if id(r) not in inside
    ]


def test_bars_are_as_high_as_their_values():
    found = boxes(bars("a", "T", "D", MONTHS, [HUSK, FISH], "t"))
    assert len(found) == 5, "a bar of nothing is not drawn"
    heights = [height for *_, height in found]
    scale = heights[0] / 10
    assert heights == pytest.approx([scale * v for v in (10, 5, 20, 10, 30)], abs=0.2)


def test_bars_are_stacked_without_gap():
    (_, x, y, _), (_, x2, y2, h2), *_ = boxes(
        bars("a", "T", "D", MONTHS, [HUSK, FISH], "t")
    )
    assert x == x2
    assert y2 + h2 == pytest.approx(y, abs=0.11)


def test_chart_has_title_and_description():
    root = tree(bars("a", "Tonnes", "Most in March.", MONTHS, [HUSK], "t"))
    svg = root[0]
    assert svg.get("role") == "img"
    names = [svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")]
    assert svg.get("aria-labelledby").split() == [n.get("id") for n in names]
    assert [n.text for n in names] == ["Tonnes", "Most in March."]


def test_series_differ_without_colour():
    """Every series but the first has a pattern of its own; what is missing is open."""
    series = [Series(str(k), [1.0] * 3, "#B5690B", k) for k in range(len(TEXTURES))]
    missing = Series("left", [1.0] * 3, PAPER, -1)
    root = tree(bars("a", "T", "D", MONTHS, [*series, missing], "t"))
    looks = {ET.tostring(p)[60:] for p in root.iter(f"{SVG}pattern")}
    assert len(looks) == len(TEXTURES)
    fills = {fill for fill, *_ in boxes(bars("a", "T", "D", MONTHS, series, "t"))}
    assert len(fills) == len(TEXTURES)


def test_lines_pass_through_their_values():
    line = Series("Ready", [0.0, 15.0, 30.0], INK)
    root = tree(bars("a", "T", "D", MONTHS, [FISH], "t", lines=[line]))
    spots = [float(c.get("cy")) for c in root.iter(f"{SVG}circle")]
    bottom = max(y + h for _, _, y, h in boxes(bars("a", "T", "D", MONTHS, [FISH], "")))
    top = next(
        y for fill, _, y, h in boxes(bars("a", "T", "D", MONTHS, [FISH], ""))[2:]
    )
    assert spots == pytest.approx([bottom, (bottom + top) / 2, top], abs=0.2)


def test_hostile_names_stay_text():
    long = HOSTILE * 8
    harmless = tree(bars("a", "T", "D", MONTHS, [HUSK], "t") + key("a", [HUSK]))
    names = [f"{long}{k}" for k in range(3)]
    hostile = tree(
        bars("a", long, long, names, [Series(long, HUSK.values, INK)], "<t>")
        + key("a", [Series(long, HUSK.values, INK)])
    )
    assert [e.tag for e in hostile.iter()] == [e.tag for e in harmless.iter()]
    assert next(hostile.iter(f"{SVG}title")).text == long


def test_nothing_to_draw_is_drawn_as_nothing():
    empty = Series("Husk", [0.0] * 3, "#B5690B")
    assert boxes(bars("a", "T", "D", MONTHS, [empty], "t")) == []
    assert "nan" not in bars("a", "T", "D", MONTHS, [empty], "t")
    assert "nan" not in bars("a", "T", "D", [], [], "t")


def test_weeks_leave_room_between_their_names():
    weeks = [f"Week {k}" for k in range(1, 53)]
    drawn = bars("a", "T", "D", weeks, [Series("x", [1.0] * 52, INK)], "t", frame=SMALL)
    foot = str(SMALL.height - 6)
    shown = [t for t in tree(drawn).iter(f"{SVG}text") if t.get("y") == foot]
    places = [float(t.get("x")) for t in shown]
    assert {t.text for t in shown} < {str(k) for k in range(1, 53)}
    assert 3 < len(places) < 20
    assert min(np.diff(places)) > 2 * 0.6 * SMALL.type_size


@pytest.mark.parametrize("top", [1234567.0, 88.0, 0.4, 3.0])
def test_scale_is_not_cut_off(top):
    drawn = bars("a", "T", "D", MONTHS, [Series("x", [top, 0, 0], INK)], "t")
    for text in tree(drawn).iter(f"{SVG}text"):
        if text.get("text-anchor") == "end":
            assert float(text.get("x")) - len(text.text) * 0.6 * 12 >= 0


@given(st.floats(1e-6, 1e12))
def test_axis_reaches_the_top_in_even_steps(top):
    ticks = steps(top)
    assert ticks[0] == 0
    assert ticks[-1] >= top * (1 - 1e-9)
    assert ticks[-1] <= top * 2.01
    assert len(ticks) <= 8
    assert np.diff(ticks) == pytest.approx(ticks[1])


def test_periods_are_named_in_full_where_there_is_room():
    long = [f"période {k}" for k in range(1, 13)]
    wide = bars("a", "t", "d", long[:3], [Series("x", [1.0] * 3, INK)], "t")
    assert ">période 3<" in wide
    close = bars("a", "t", "d", long, [Series("x", [1.0] * 12, INK)], "t")
    assert ">12<" in close
    assert "…" not in close
    assert every(["Jan"] * 12, 48, 12) == 1


@pytest.mark.parametrize("colour", [*FEEDSTOCK_COLOURS, COMPOST_COLOUR, SOFT, INK])
def test_graphics_stand_out_from_the_paper(colour):
    """WCAG 2.2, success criterion 1.4.11: graphics need a contrast of 3."""
    assert (luminance(PAPER) + 0.05) / (luminance(colour) + 0.05) >= 3


def test_pale_accounts_have_an_edge_that_stands_out():
    pale = [c for c in ACCOUNT_COLOURS if luminance(PAPER) / luminance(c) < 3]
    for colour in pale:
        drawn = bars("a", "T", "D", MONTHS, [Series("x", [1, 1, 1], colour)], "t")
        assert f'stroke="{INK}"' in drawn


numbers = st.lists(st.floats(-1e6, 1e6) | st.just(0.0), min_size=1, max_size=30)


@given(numbers, st.integers(0, 2))
def test_parts_add_up_to_the_rounded_total(values, digits):
    shown = apportion(values, digits)
    assert shown.sum() == pytest.approx(
        round(sum(values), digits), abs=1.01 / 10**digits
    )
    whole = np.round(shown * 10**digits)
    assert whole.sum() == round(sum(v * 10**digits for v in values) + 1e-9)
    assert np.abs(shown - values).max() <= 1 / 10**digits + 1e-6


@given(st.lists(st.floats(0, 1e5) | st.just(0.0), min_size=1, max_size=20))
def test_nothing_stays_nothing(values):
    shown = apportion(values)
    assert all(s == 0 for v, s in zip(values, shown, strict=True) if v == 0)


@given(
    st.lists(
        st.lists(st.floats(0, 1e5) | st.just(0.0), min_size=4, max_size=4),
        min_size=1,
        max_size=12,
    )
)
def test_columns_add_up_and_rows_stay_near(cells):
    table = pd.DataFrame(cells, columns=list("abcd"))
    shown = spread(table)
    for name in table:
        assert shown[name].sum() == round(table[name].sum() + 1e-9)
    assert (shown - table).abs().to_numpy().max() <= 1 + 1e-6
    assert (shown.sum(axis=1) - table.sum(axis=1)).abs().max() <= 2


def test_given_totals_are_kept():
    table = pd.DataFrame({"a": [0.4, 0.4, 0.4], "b": [1.0, 0.0, 2.5]})
    shown = spread(table, 0, pd.Series({"a": 2.0, "b": 4.0}))
    assert shown["a"].tolist() == [1, 1, 0]
    assert shown["b"].tolist() == [1, 0, 3]


def test_numbers_are_written_for_people():
    assert amount(1234567.891, 2) == "1,234,567.89"
    assert amount(np.float32(2)) == amount(np.int64(2)) == "2"
    assert amount(-0.004, 2) == "0.00"
    assert amount(None) == amount(float("inf")) == "–"
    assert count(1, "yard is", "yards are") == "1 yard is"
    assert [digits_for(x) for x in (1e6, 200, 199, 20, 19)] == [0, 0, 1, 1, 2]


def test_names_are_made_safe():
    assert plain("a\u202eb\x07c") == "abc"
    assert len(shorten("x" * 300)) == 60
    assert bdi("<i>") == "<bdi>&lt;i&gt;</bdi>"
    assert listed([bdi("a"), "<b>"]) == "<bdi>a</bdi> and &lt;b&gt;"
    assert listed([]) == ""


def overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_labels_of_a_crowded_map_do_not_cover_each_other():
    """Twenty yards in a row: every one has its label, none on another."""
    here = Sheet(0, 0, 1, 1, 640, 430)
    spots = [(60 + 110 * (k % 5), 60 + 80 * (k // 5)) for k in range(20)]
    signs = [(x - 8, y - 8, x + 8, y + 8) for x, y in spots]
    here.taken += signs
    drawn = [
        "".join(label(here, spot, 8, ["Yard name", "1,234 t"], 13, "yard"))
        for spot in spots
    ]
    assert all("Yard name" in text for text in drawn)
    placed = here.taken[len(signs) :]
    for k, box in enumerate(placed):
        assert not any(overlap(box, other) for other in placed[k + 1 :])
        assert not any(overlap(box, sign) for sign in signs)


def test_village_without_room_goes_without_a_name():
    here = Sheet(0, 0, 1, 1, 200, 100, taken=[(0, 0, 200, 100)])
    assert list(label(here, (100, 50), 3, ["Skerry"], 11, "village")) == []
    yard = "".join(label(here, (100, 50), 3, ["Skerry"], 11, "yard"))
    assert re.search(">Skerry<", yard)
