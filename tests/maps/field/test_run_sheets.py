"""Run sheets: dates, telephones, lines to fill in, a sketch, and fitting cautions."""

import re
from dataclasses import replace
from types import SimpleNamespace
from xml.etree import ElementTree

import pandas as pd
import pytest

from logistics.results.pipeline import run
from logistics.rounds import period_day
from logistics.rounds.driving import drive
from logistics.rounds.tables import calls, tours
from logistics.scenario import ScenarioError, dates_of, read_scenario
from logistics.scenario.starter import new_scenario
from maps.field.call_rows import phone
from maps.field.dates import GUESSED
from maps.field.day_line import TOP
from maps.field.day_map import rounds_data
from maps.field.driven_tables import clock
from maps.field.driver_sheets import cautions, run_sheets
from maps.field.route_sketch import sketch
from maps.field.yard_sheets import sheets

CALENDAR = """
first_day = 2027-01-01
rest_days = ["Friday", "sat"]
holidays = [2027-01-04, "2027-01-05"]
"""


def district(folder, lines=""):
    """A starter district with more lines on working time in its settings."""
    new_scenario(folder, "csv")
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("[work]\n", f"[work]\n{lines}\n")
    path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def driven(tmp_path_factory):
    result = run(read_scenario(district(tmp_path_factory.mktemp("d") / "s")))
    return result, drive(result, "m01", workers=1, iterations=10)


@pytest.fixture(scope="module")
def busy(tmp_path_factory):
    """Working days so short that more than one truck is out on some of them."""
    folder = district(tmp_path_factory.mktemp("b") / "s", "hours_per_day = 4")
    result = run(read_scenario(folder))
    done = drive(result, "m04", workers=1, iterations=10)
    assert tours(done).groupby("day").size().max() > 1
    return result, done


@pytest.fixture(scope="module")
def calendar(tmp_path_factory):
    """The settings of a district with a calendar; planning is not needed for it."""
    return read_scenario(district(tmp_path_factory.mktemp("c") / "s", CALENDAR))


def dated(result, calendar):
    """The same plan with dates."""
    return replace(
        result, scenario=replace(result.scenario, settings=calendar.settings)
    )


def test_the_calendar_counts_working_days(calendar):
    """January 2027: 31 days, five Fridays, five Saturdays, two holidays."""
    dates = dates_of(calendar.settings, calendar.periods, "m01")
    assert [d.day for d in dates][:4] == [3, 6, 7, 10]
    assert len(dates) == 31 - 5 - 5 - 2
    assert calendar.periods["working_days"].iloc[0] == len(dates)
    for code in calendar.periods["period"]:
        some = dates_of(calendar.settings, calendar.periods, code)
        assert {d.weekday() for d in some} <= {0, 1, 2, 3, 6}
        assert len({d.month for d in some}) == 1
        assert [period_day(calendar, code, n) for n in (1, len(some))] == [
            some[0].day, some[-1].day
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('first_day = "1 May"', "is not a date"),
        ('first_day = "2027-01-01 2027-02-01"', "is more than one date"),
        ("first_day = 2028-01-01", "begins a year of 366 days, but the periods have"),
        ('first_day = 2027-01-01\nrest_days = "domingo"', "is not a day of the week"),
        (
            'first_day = 2027-01-01\nrest_days = "mon tue wed thu fri sat sun"',
            "has no working day left after rest days and holidays",
        ),
    ],
)  # fmt: skip
def test_a_calendar_that_cannot_be_is_a_fault(tmp_path, lines, words):
    with pytest.raises(ScenarioError) as told:
        read_scenario(district(tmp_path / "s", lines))
    assert words in str(told.value)


def test_no_rest_days_at_all(tmp_path):
    lines = 'first_day = 2027-01-01\nrest_days = "none"'
    scenario = read_scenario(district(tmp_path / "s", lines))
    assert list(scenario.periods["working_days"]) == list(scenario.periods["days"])


@pytest.mark.slow
def test_sheets_have_date_and_weekday_where_they_are_known(driven, calendar):
    result, done = driven
    page = run_sheets(dated(result, calendar), done)[1]
    assert "Sunday 3 January 2027 (working day 1 of January)" in page
    assert "<span>Date</span>" not in page
    page = run_sheets(result, done)[1]
    assert "Run sheet, January, working day 1" in page
    assert "<span>Date</span>" in page


def test_the_yard_sheet_says_when_dates_are_guesses(driven, calendar):
    result, done = driven
    assert all(GUESSED in page for page in sheets(result, "m01", done).values())
    for page in sheets(dated(result, calendar), "m01", done).values():
        assert GUESSED not in page
        assert "Sun 3 Jan" in page
        assert "Wed 6 Jan" in page


def main_part(text):
    """The one main part of a page."""
    assert text.count("<main") == text.count("<h1") == 1
    assert '<meta name="viewport" content="width=device-width, ' in text
    return ElementTree.fromstring(re.search(r"<main>.*</main>", text, re.S)[0])


def truck_parts(page):
    """Run sheets of a page, behind the plan of the day."""
    return [part for part in page.findall("section") if part.get("id")]


@pytest.mark.slow
def test_a_sheet_has_one_main_part_a_viewport_and_lines_to_fill_in(driven):
    result, done = driven
    table = calls(done)
    for day, text in run_sheets(result, done).items():
        page = main_part(text)
        trucks = table[table["day"] == day]["truck"].nunique()
        assert len(truck_parts(page)) == trucks
        assert len(page.findall(".//figure[@class='sketch']/svg")) == trucks
        spans = [span.text for span in page.iter("span")]
        for word in ("Plate", "Driver", "Odometer out", "Signed"):
            assert spans.count(word) == trucks


def test_numbers_of_the_sketch_are_those_of_the_stops(driven):
    """Every call at a place has its number in the drawing and in the table."""
    result, done = driven
    table = calls(done)
    page = main_part(run_sheets(result, done)[1])
    groups = [t for _, t in table[table["day"] == 1].groupby("truck", sort=False)]
    for part, tour in zip(truck_parts(page), groups, strict=True):
        wanted = set(tour[tour["kind"].isin(["in", "out"])]["call"])
        drawing = part.find(".//figure[@class='sketch']")
        words = [text.text for text in drawing.iter("text")]
        drawn = {
            int(n) for text in words if "km" not in text
            for n in re.findall(r"[0-9]+", text)
        }  # fmt: skip
        assert drawn <= wanted
        assert drawn == wanted or any("…" in text for text in words)
        cells = [c.text for c in part.iter("td") if c.get("class") == "number"]
        assert wanted <= {int(text) for text in cells if text}


@pytest.mark.slow
def test_lines_are_as_long_as_the_truck_is_out(busy):
    """On every sheet and on the plan of the day, to the minute; every call is there."""
    result, done = busy
    table = tours(done)
    for day, text in run_sheets(result, done).items():
        page, rows = main_part(text), table[table["day"] == day]
        lines = [svg for svg in page.iter("svg") if svg.get("class") == "dayline"]
        plan = page.findall("section[@class='plan']")
        assert len(plan) == (len(rows) > 1)
        assert len(lines) == len(rows) * (1 + len(plan))
        for svg, row in zip(lines, [*rows.itertuples()] * 2, strict=False):
            paths = " ".join(path.get("d") for path in svg.iter("path"))
            minutes = sum(map(int, re.findall(r"h([0-9]+)", paths)))
            assert minutes == round(row.ends_h * 60) - round(row.starts_h * 60)
            said = svg.get("aria-label")
            assert f"{clock(row.starts_h)} to {clock(row.ends_h)}: " in said
        for part in truck_parts(page):
            cells = [c.text for c in part.iter("td") if c.get("class") == "number"]
            line = part.find(".//svg[@class='dayline']")
            texts = [t for t in line.iter("text") if t.get("font-size") == "11"]
            below = [t.text for t in texts if float(t.get("y")) > TOP]
            assert below == [text for text in cells if text]


@pytest.mark.slow
def test_letters_are_those_of_the_map(busy):
    """The map, the plan of the day and the sheets call the same truck the same."""
    result, done = busy
    table = calls(done)
    pages = run_sheets(result, done)
    for day, tours_there in rounds_data(result, done)["days"].items():
        page = main_part(pages[int(day)])
        on_map = [
            (tour["letter"], tour["name"], tour["leaves"]) for tour in tours_there
        ]
        assert len(on_map) == table[table["day"] == int(day)]["truck"].nunique()
        sheets_there = [
            (
                part.find(".//b[@class='letter']").text,
                part.find(".//strong").text,
                part.findall(".//strong")[1].text,
            )
            for part in truck_parts(page)
        ]
        assert sheets_there == on_map
        plan = [b.text for b in page.findall(".//li//b[@class='letter']")]
        assert plan in ([], [letter for letter, *_ in on_map])
        links = {a.get("href") for a in page.findall(".//li//a")}
        assert links <= {f"#{part.get('id')}" for part in truck_parts(page)}


@pytest.mark.slow
def test_names_in_lines_and_day_plan_stay_text(busy):
    """A page whose yards and trucks are named like attacks is the same page."""
    result, done = busy
    attack = """'"><script>alert(1)</script><svg onload=x>&amp;"""
    tables = {
        key: table.assign(name=attack) if key in ("yards", "trucks") else table
        for key, table in result.scenario.tables.items()
    }
    nasty = replace(result, scenario=replace(result.scenario, tables=tables))
    day = tours(done).groupby("day").size().idxmax()
    page, plain = (main_part(run_sheets(one, done)[day]) for one in (nasty, result))
    shapes = [[(e.tag, set(e.attrib)) for e in p.iter()] for p in (page, plain)]
    assert shapes[0] == shapes[1]
    lines = [svg for svg in page.iter("svg") if svg.get("class") == "dayline"]
    assert len(lines) == 2 * len(truck_parts(page)) > 2
    assert all(attack in line.get("aria-label") for line in lines)


def test_the_sketch_keeps_north_up_and_shape():
    """Two stops, one twice as far north as the other is east, drawn to scale."""
    tour = pd.DataFrame({"call": [1, 2], "kind": ["in", "yard"], "load_t": [0, 1.0]})
    tour = tour.assign(trip=1)
    drawn = str(sketch(tour, [[(10, 0), (10, 0.2)], [(10, 0.2), (10.1, 0)]]))
    (first, last) = re.findall(r'points="([^"]+)"', drawn)
    a, b = (tuple(map(float, p.split(","))) for p in first.split())
    c = tuple(map(float, last.split()[-1].split(",")))
    assert b[1] < a[1] == c[1]
    assert c[0] - a[0] == pytest.approx((a[1] - b[1]) / 2, rel=0.01)
    assert drawn.count("stroke-dasharray") == 1


@pytest.mark.slow
def test_telephones_are_on_the_sheet_and_can_be_dialled(driven):
    result, done = driven
    scenario = result.scenario
    table = calls(done)
    place = str(table[(table["day"] == 1) & (table["kind"] == "in")]["place"].iloc[0])
    sources = scenario.sources.assign(phone="")
    sources.loc[sources["source"] == place, "phone"] = "+99 1 <b>23"
    trucks = scenario.trucks.assign(phone="ask at the gate")
    tables = {**scenario.tables, "sources": sources, "trucks": trucks}
    page = run_sheets(replace(result, scenario=replace(scenario, tables=tables)), done)
    assert '<a href="tel:+99123">+99 1 &lt;b&gt;23</a>' in page[1]
    assert "ask at the gate" in page[1]
    assert str(phone("12")) == "12"
    assert "tel:" not in run_sheets(result, done)[1]


def test_a_truck_is_warned_of_what_it_carries():
    """Husk alone: not a word on fish, gloves or washing out."""
    materials = pd.DataFrame(
        {
            "material": ["husk", "fish"], "name": ["Husk", "Fish waste"],
            "keep_hours": [float("nan"), 12.0],
        }
    )  # fmt: skip
    limits = SimpleNamespace(unbroken_h=4, driving_day_h=9, driving_week_h=48)
    scenario = SimpleNamespace(
        settings=SimpleNamespace(rounds=limits), materials=materials,
        tables={"materials": materials},
    )  # fmt: skip
    result = SimpleNamespace(scenario=scenario)
    tour = pd.DataFrame({"material": ["husk", ""], "kind": ["in", "yard"]})
    words = " ".join(cautions(result, tour)).casefold()
    assert not any(word in words for word in ("fish", "gloves", "wash"))
    wet = " ".join(cautions(result, tour.assign(material=["fish", ""])))
    assert wet.count("Fish waste: use a closed, leak-proof body") == 1
