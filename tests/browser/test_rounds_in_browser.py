"""The map of rounds and the yard sheets in a real browser, also with nasty names."""

from dataclasses import replace
from itertools import pairwise

import pypdfium2
import pytest
from accessibility import faults
from support.chromium import SIZES, WIDE

from logistics.results.pipeline import run
from logistics.rounds.driving import drive
from logistics.rounds.tables import calls, tours
from logistics.scenario.edits import with_settings
from logistics.scenario.scenario import read_scenario
from logistics.scenario.starter import new_scenario
from maps.field.day_map import write_rounds_map
from maps.field.driver_sheets import run_sheets
from maps.field.yard_sheets import sheets

READY = "window.loamhaul && window.loamhaul.ready > 0"
PERIOD = "m04"


@pytest.fixture(scope="module")
def driven(tmp_path_factory):
    """A small district, its plan and a month's rounds; short days ask for trucks."""
    folder = tmp_path_factory.mktemp("district") / "starter"
    new_scenario(folder, "csv")
    scenario = read_scenario(folder)
    result = run(with_settings(scenario, {"work.hours_per_day": 4}))
    return result, drive(result, PERIOD, workers=1)


@pytest.fixture(scope="module")
def files(driven, renamed_as, tmp_path_factory):
    """Map and sheet, and the same of a district whose names are attacks."""
    result, rounds = driven
    folder, found = tmp_path_factory.mktemp("rounds"), {}
    nasty = replace(result, scenario=renamed_as(result.scenario))
    for prefix, one in (("", result), ("nasty_", nasty)):
        found[f"{prefix}map"] = folder / f"{prefix}rounds_map.html"
        write_rounds_map(one, rounds, found[f"{prefix}map"])
        ((_, page),) = sheets(one, PERIOD, rounds).items()
        found[f"{prefix}sheet"] = folder / f"{prefix}sheet.html"
        found[f"{prefix}sheet"].write_text(page, encoding="utf-8")
        found[f"{prefix}run"] = folder / f"{prefix}run.html"
        found[f"{prefix}run"].write_text(run_sheets(one, rounds)[1], encoding="utf-8")
    return found


def opened(show, file, *size):
    window = show(file, *size)
    window.page.wait_for_function(READY, timeout=20_000)
    return window


@pytest.mark.parametrize("size", [WIDE, SIZES[1]], ids=str)
@pytest.mark.parametrize("name", ["map", "nasty_map"])
def test_map_is_offline_quiet_and_accessible(show, files, name, size):
    window = opened(show, files[name], *size)
    page = window.page
    assert faults(page) == []
    page.click("#after")
    page.click("#trucks button")
    assert page.locator("#stops").is_visible()
    assert faults(page) == []
    assert page.evaluate("document.scrollingElement.scrollWidth") <= size[0]
    assert window.asked == [window.address]
    assert window.complaints == []


def test_every_day_has_the_trucks_and_calls_of_its_tours(show, files, driven):
    page = opened(show, files["map"]).page
    done, table = tours(driven[1]), calls(driven[1])
    for day, count in list(done.groupby("day").size().items())[:6]:
        page.evaluate("(day) => loamhaul.setDay(day)", str(day))
        assert page.locator("#trucks button").count() == count
        said = page.locator("#hint").inner_text()
        assert said.startswith(f"Day {day}: {count} truck")
        for n, (_, tour) in enumerate(
            table[table["day"] == day].groupby("truck", sort=False)
        ):
            if n == 0:
                page.click("#trucks button >> nth=0")
                assert page.locator("#stops tbody tr").count() == len(tour)


def test_lines_follow_the_day_and_the_truck_chosen(show, files):
    page = opened(show, files["map"]).page
    ways = "[...document.querySelectorAll('.leaflet-routes-pane path')].map((p) => "
    ways += "p.getAttribute('d') + p.getAttribute('stroke')).join('|')"
    first = page.evaluate(ways)
    assert first.count("#") >= 2
    days = page.locator("#day option").all_inner_texts()
    seen = set()
    for day in days:
        page.select_option("#day", day)
        seen.add(page.evaluate(ways))
    assert len(seen) > 1  # some days are alike here
    page.select_option("#day", days[0])
    assert page.evaluate(ways) == first
    colours = "new Set([...document.querySelectorAll('.pill')].map((p) => "
    colours += "p.style.background)).size"
    everyone = page.evaluate(colours)
    page.click("#trucks button")
    assert page.evaluate(colours) == 1
    assert everyone == page.locator("#trucks button").count()


@pytest.mark.parametrize(
    "name",
    [
        "sheet",
        "run",
        pytest.param("nasty_sheet", marks=pytest.mark.thorough),
        pytest.param("nasty_run", marks=pytest.mark.thorough),
    ],
)
def test_sheet_is_offline_and_accessible(show, files, name):
    for size in SIZES:
        window = show(files[name], *size)
        assert faults(window.page) == []
        assert window.page.evaluate("document.scrollingElement.scrollWidth") <= size[0]
        assert window.asked == [window.address]
        assert window.complaints == []


def test_a_truck_gets_a_page(show, files, driven):
    """The plan of the day, then as many pages as trucks are out, on A4."""
    result, rounds = driven
    out = tours(rounds).groupby("day").size()
    assert out.max() > 1  # of a single truck there is no plan of the day
    busy = files["run"].with_name("busy.html")
    busy.write_text(run_sheets(result, rounds)[int(out.idxmax())], encoding="utf-8")
    printed = show(busy).page.pdf(prefer_css_page_size=True)
    document = pypdfium2.PdfDocument(printed)
    assert len(document) == 1 + out.max()
    words = [page.get_textpage().get_text_range() for page in document]
    assert [text.startswith("Day plan") for text in words] == [
        number == 0 for number in range(len(words))
    ]
    assert document[0].get_size() == pytest.approx((595.3, 841.9), abs=1)


def test_every_truck_has_a_letter_and_a_pattern_on_the_map(show, files):
    """Neighbours in the list differ in letter and in pattern, not in colour alone."""
    page = opened(show, files["map"]).page
    count = page.locator("#trucks button").count()
    letters = page.locator("#trucks .letter").all_inner_texts()
    assert letters == [chr(65 + n) for n in range(count)]
    sheets_there = show(files["run"]).page.locator(".top .letter").all_inner_texts()
    assert letters == sheets_there
    drawn = page.locator(".leaflet-calls-pane .letter").all_inner_texts()
    assert sorted(drawn) == letters
    dashes = page.evaluate(
        "[...document.querySelectorAll('#trucks line')].map((l) => "
        "l.getAttribute('stroke-dasharray') || '')"
    )
    assert len(dashes) == count
    assert all(a != b for a, b in pairwise(dashes))


@pytest.mark.thorough
def test_a_yard_gets_three_pages(show, brackwater_planned, tmp_path):
    """In the demo, and A4: the month with most windrows to turn, all yards."""
    for code, text in sheets(brackwater_planned, PERIOD).items():
        file = tmp_path / f"{code}.html"
        file.write_text(text, encoding="utf-8")
        printed = show(file).page.pdf(prefer_css_page_size=True)
        document = pypdfium2.PdfDocument(printed)
        assert len(document) == 3, code
        assert document[0].get_size() == pytest.approx((595.3, 841.9), abs=1)


@pytest.mark.thorough
def test_the_longest_sheets_stay_on_a_page(show, brackwater_planned, tmp_path):
    """In the demo: the days of the trucks with most calls, and the fullest day."""
    rounds = drive(brackwater_planned, PERIOD, workers=1, iterations=5)
    table = tours(rounds)
    longest = table.sort_values(["calls", "trips"])["day"].tail(6)
    fullest = table["day"].value_counts().index[0]
    pages = run_sheets(brackwater_planned, rounds)
    for day in {*longest, fullest}:
        file = tmp_path / f"{day}.html"
        file.write_text(pages[day], encoding="utf-8")
        printed = pypdfium2.PdfDocument(show(file).page.pdf(prefer_css_page_size=True))
        first = [page.get_textpage().get_text_range()[:9] for page in printed]
        sheets_there = [words for words in first if words == "Run sheet"]
        assert len(sheets_there) == (table["day"] == day).sum()
        assert len(first) - len(sheets_there) <= 2
        assert first[-len(sheets_there) :] == sheets_there
