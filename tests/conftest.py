"""What all tests share: nothing random without a seed; one plan of the demo."""

import hashlib
import os
import sys
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

import pytest
from hypothesis import settings
from support.once import once
from support.places import ROOT, SCENARIOS, STRANGERS
from support.small_way import SMALL, small_way

from logistics.results.pipeline import Result, run
from logistics.rounds.driven_year import plan_as_driven
from logistics.scenario.scenario import read_scenario
from logistics.years.way import WayAhead

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

collect_ignore = ["conftest.py", "browser/conftest.py"]
"""Two files of one name cannot both be looked through for examples."""


def keep_bytecode(folder: Path) -> None:
    """
    Keep compiled modules in a folder, also where Python is told to keep none.

    Tests start some dozens of processes: compiling pandas and all else anew in each
    takes 2.5 s of processor time.
    """
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix = str(folder)
        sys.dont_write_bytecode = False


keep_bytecode(ROOT / ".pytest_cache" / "bytecode")


SLOW = (ROOT / "tests" / "browser", ROOT / "maps" / "python")
"""Folders whose tests are all slow: a browser is opened, or demos are planned."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of slow folders and plans, before those marked are left out."""
    for item in items:
        planned = {"brackwater_planned", "highlake_planned"}
        demos = not planned.isdisjoint(getattr(item, "fixturenames", ()))
        if demos or any(folder in item.path.parents for folder in SLOW):
            item.add_marker(pytest.mark.slow)


def planned_as_the_command_does(name: str) -> Result:
    """
    Plan a demo, or take the plan that the same code made of the same tables.

    The plain run and the thorough one that follows share it.
    """
    return _kept(SCENARIOS / name, lambda: plan_as_driven(_planned(SCENARIOS / name)))


@pytest.fixture(scope="session")
def planned_stranger() -> Callable[[str], Result]:
    """Return what plans one of the districts unlike the demos, once for all tests."""
    return lambda name: _kept(STRANGERS / name, lambda: _planned(STRANGERS / name))


def _planned(scenario: Path) -> Result:
    return run(read_scenario(scenario))


def _kept[T](scenario: Path, make: Callable[[], T], *more: Path) -> T:
    """Take the plan that the same code made of the same tables, or make it."""
    digest = hashlib.sha256(version("highspy").encode())
    for folder in (ROOT / "logistics", scenario):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.suffix != ".pyc":
                digest.update(f"{path.relative_to(ROOT)}".encode() + path.read_bytes())
    for path in more:
        digest.update(path.read_bytes())
    kept = f"{scenario.name}-{digest.hexdigest()[:24]}"
    return once(ROOT / ".pytest_cache" / "plans" / kept, make)


@pytest.fixture(scope="session")
def brackwater_planned() -> Result:
    """Brackwater planned as the command does."""
    return planned_as_the_command_does("brackwater")


@pytest.fixture(scope="session")
def highlake_planned() -> Result:
    """Highlake planned as the command does."""
    return planned_as_the_command_does("highlake")


@pytest.fixture(scope="session")
def way_planned() -> WayAhead:
    """Three years of a small district, planned once for all tests."""
    return _kept(SMALL, small_way, ROOT / "tests" / "support" / "small_way.py")


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """Folder that all processes of one run share."""
    folder = tmp_path_factory.getbasetemp()
    return folder if worker_id == "master" else folder.parent


@pytest.fixture
def summary_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """The summary is the only output: what the other files hold is tried elsewhere."""
    from maps import outputs

    only = {"summary.json": outputs.write_summary}
    monkeypatch.setattr(outputs, "OUTPUTS", only)
