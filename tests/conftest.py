"""What all tests share: nothing random without a seed; one plan of the demo."""

import fcntl
import os
import pickle
import sys
from pathlib import Path

import pytest
from hypothesis import settings
from support.places import DEMO, ROOT

from logistics.results.pipeline import Result, run
from logistics.scenario.scenario import read_scenario

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


@pytest.fixture(scope="session")
def brackwater_planned(
    tmp_path_factory: pytest.TempPathFactory, worker_id: str
) -> Result:
    """Brackwater planned as the command does; once, however many processes test."""
    folder = tmp_path_factory.getbasetemp()
    if worker_id != "master":
        folder = folder.parent  # all processes of one run share it
    file = folder / "brackwater.pickle"
    with (folder / "brackwater.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            file.write_bytes(pickle.dumps(run(read_scenario(DEMO))))
    found: Result = pickle.loads(file.read_bytes())
    return found


@pytest.fixture
def summary_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """The summary is the only output: what the other files hold is tried elsewhere."""
    from maps import outputs

    only = {"summary.json": outputs.write_summary}
    monkeypatch.setattr(outputs, "OUTPUTS", only)
