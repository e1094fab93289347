"""Pages of a real plan, made once, and a browser to open them in."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from support.chromium import Watched, browser
from support.fake_result import HOSTILE
from support.once import once
from support.places import DEMO
from support.running_desk import RunningDesk

from logistics.results.pipeline import Result
from logistics.results.words import explain_worth
from logistics.scenario.scenario import Scenario
from logistics.scenario.schema import columns_of, tables
from maps.geo.web_map import write_map
from maps.report.one_page import write_explain
from maps.report.report import write_report

WRITERS = {
    "map.html": write_map,
    "report.html": write_report,
    "explain.html": write_explain,
}
LONG = "Ñandú-yard " * 28  # 308 characters
NASTY = (
    HOSTILE,
    "</script><script>alert(2)</script>",
    '"><img src="http://192.0.2.1/x.png" onerror="alert(3)">',
    "'); alert(4); ('",
    "\u202eמגרש קומפוסט\u202c ساحة",
    "🐟🌾🐄 {{ 7 * 7 }} ${alert(5)} &lt;b&gt;",
    LONG,
    "x" * 300,
)


def renamed(scenario: Scenario) -> Scenario:
    """Put a nasty text into every text cell and setting."""
    changed = {}
    for name in tables():
        table = scenario.tables[name].copy()
        for place, column in enumerate(columns_of(name)):
            if column.kind == "text" and column.name != "colour":
                texts = [NASTY[(i + place) % len(NASTY)] for i in range(len(table))]
                table[column.name] = pd.Series(texts, index=table.index, dtype="str")
        changed[name] = table
    settings = scenario.settings.model_copy(
        update={"name": NASTY[1], "story": NASTY[2] + LONG, "currency": "<b>$</b>"}
    )
    return replace(scenario, tables=changed, settings=settings)


@pytest.fixture(scope="session")
def planned(brackwater_planned) -> Result:
    return brackwater_planned


@pytest.fixture(scope="session")
def nasty(planned) -> Result:
    """The same plan of a district whose names are attacks."""
    scenario = renamed(planned.scenario)
    worth = explain_worth(planned.plan.worth.drop(columns="words"), scenario)
    return replace(planned, scenario=scenario, plan=replace(planned.plan, worth=worth))


@pytest.fixture(scope="session")
def pages(planned, nasty, shared_folder) -> dict[str, Path]:
    """Path of every page by its name; those of the nasty names begin with nasty_."""
    folder = shared_folder / "pages"

    def written() -> dict[str, Path]:
        found = {}
        for name, write in WRITERS.items():
            for prefix, result in (("", planned), ("nasty_", nasty)):
                found[prefix + name] = folder / f"{prefix}{name}"
                write(result, folder / f"{prefix}{name}")
        return found

    return once(folder / "paths", written)


@pytest.fixture(scope="session")
def demo() -> Path:
    """Folder of the scenario."""
    return DEMO


@pytest.fixture(scope="session")
def renamed_as():
    """Return the function that puts nasty texts into a scenario."""
    return renamed


@pytest.fixture(scope="session")
def writers():
    """Return the functions that write the pages."""
    return WRITERS


@pytest.fixture(scope="module")
def chromium():
    """Close the browser with the module: its event loop would disturb others."""
    with browser() as started:
        yield started


@pytest.fixture
def show(chromium):
    """Open a file in a window of a width and height [px]."""
    opened = []

    def open_file(file: Path, width: int = 1280, height: int = 800) -> Watched:
        opened.append(Watched(chromium, file, width, height))
        return opened[-1]

    yield open_file
    for window in opened:
        window.context.close()


@pytest.fixture
def run():
    """Start desks, and end them with the test."""
    started = []

    def one(folder, port: int = 8_765) -> RunningDesk:
        started.append(RunningDesk(folder, port))
        return started[-1]

    yield one
    for running in started:
        running.end()


@pytest.fixture
def opened(chromium):
    """Open the desk in a window; at the end nothing was asked of anybody else."""
    windows = []

    def one(running: RunningDesk, width: int = 1366, height: int = 768) -> Watched:
        window = Watched(chromium, running.address, width, height)
        window.port = running.port
        windows.append(window)
        return window

    yield one
    for window in windows:
        ours = (f"http://127.0.0.1:{window.port}/", "data:", "blob:")
        assert [url for url in window.asked if not url.startswith(ours)] == []
        window.context.close()
