"""The slider of years in a real browser: one year at a time, by mouse and by keys."""

import pytest
from accessibility import faults

from maps.years.way_facts import way_facts
from maps.years.way_page import way_html

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def way_file(way_planned, tmp_path_factory):
    path = tmp_path_factory.mktemp("way") / "way.html"
    path.write_text(way_html(way_facts(way_planned)), encoding="utf-8")
    return path


def shown(page):
    """The year told beside the slider, and the maps that are seen with their words."""
    maps = page.locator(".map:visible")
    return page.locator("output").inner_text(), maps.all_inner_texts()


def test_the_slider_changes_map_and_figures(show, way_file, way_planned):
    """Each year shows its own map, the yards that work and the tonnes of its plan."""
    window = show(way_file)
    page, slider = window.page, window.page.get_by_label("Year", exact=True)
    slider.focus()
    page.keyboard.press("Home")
    seen = []
    for year, result in zip(way_planned.years, way_planned.results, strict=True):
        page.wait_for_function(
            "year => document.querySelector('output').textContent === year",
            arg=str(year),
        )
        told, maps = shown(page)
        assert told == str(year)
        assert slider.get_attribute("aria-valuetext") == str(year)
        assert len(maps) == 1
        tonnes = result.plan.hauls["tonnes"].sum()
        assert f"{tonnes:,.0f} t collected in the year" in maps[0]
        names = dict(result.scenario.yards[["yard", "name"]].to_numpy())
        works = {names[yard] for yard, _ in result.plan.yard_sizes}
        drawing = page.locator(".map:visible svg").last
        assert all(name in drawing.text_content() for name in works)
        seen.append(drawing.inner_html())
        page.keyboard.press("ArrowRight")
    assert len(set(seen)) == len(seen)
    assert window.complaints == []
    assert all(one.startswith(way_file.as_uri()) for one in window.asked)


def test_the_way_is_open_to_all_on_a_phone(show, way_file):
    window = show(way_file, 360, 740)
    page = window.page
    page.get_by_label("Year", exact=True).press("Home")
    page.wait_for_function(
        "() => document.querySelector('output').textContent === '2027'"
    )
    assert page.evaluate("document.scrollingElement.scrollWidth") <= 360
    assert faults(page) == []
    assert window.complaints == []
