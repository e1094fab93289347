"""The desk and its workers killed at any moment: nothing that was kept is lost."""

import http.client
import json
import os
import random
import signal
import threading
import time
from contextlib import suppress

import pytest
from support.desk import make_scenario
from support.running_desk import RunningDesk

from logistics.scenario.scenario import read_scenario
from maps.desk.book import OUTPUTS, plans
from maps.desk.events import read_events

KILLS, SEED, LEAST = 30, 30, 3
TABLES = "/s/small/api/district/tables/sources"
GONE = (OSError, http.client.HTTPException, AssertionError)
"""What asking a desk that was killed meanwhile raises."""


class Clerk(threading.Thread):
    """Types names, saves, orders a plan; until the desk is gone. Notes what is kept."""

    def __init__(self, desk, typed: int, chance: random.Random):
        super().__init__(daemon=True)
        self.desk, self.chance = desk, chance
        self.sent = self.kept = typed
        self.orders = chance.random() < 0.5

    def run(self) -> None:
        with suppress(*GONE):
            while True:
                self.type()
                if self.chance.random() < 0.3:
                    self.desk.post("/s/small/api/district/save", data={})
                if self.orders and self.chance.random() < 0.3:
                    self.orders = False
                    self.desk.post("/s/small/plan/start", {"haulage": "estimate"})

    def type(self) -> None:
        """Write a number into the name of the first source."""
        table = json.loads(self.desk.get(TABLES))
        at = [column["name"] for column in table["columns"]].index("name")
        self.sent += 1
        edit = {"set": [0, at, [[f"n{self.sent}"]]]}
        batch = {"version": table["version"], "name": f"{self.sent}", "edits": [edit]}
        self.desk.post(f"{TABLES}/edits", data=batch)
        self.kept = self.sent


def workers(scenario) -> list[int]:
    """Processes that make plans of the book, as they told themselves."""
    found = []
    for entry in plans(scenario):
        if entry.state == "running":
            events, _ = read_events(entry.folder)
            found += [e["pid"] for e in events if "pid" in e]
    return found


def finished(scenario) -> dict[str, bytes]:
    """Summaries of the plans that are done."""
    return {
        entry.code: (entry.folder / OUTPUTS / "summary.json").read_bytes()
        for entry in plans(scenario)
        if entry.state == "done"
    }


def name_of_the_first_source(desk) -> str:
    table = json.loads(desk.get(TABLES))
    at = [column["name"] for column in table["columns"]].index("name")
    return table["cells"][0][at]


@pytest.mark.thorough
def test_thirty_kills_lose_no_edit_and_no_plan(tmp_path):
    scenario, chance = make_scenario(tmp_path), random.Random(SEED)
    typed, done, port = 0, {}, 8_765
    killed = {"desk": 0, "worker": 0}
    for _ in range(KILLS):
        desk = RunningDesk(tmp_path, port)
        clerk = Clerk(desk, typed, chance)
        clerk.start()
        time.sleep(chance.uniform(0.1, 3.0))
        victims = workers(scenario)
        if victims and (killed["worker"] < LEAST or chance.random() < 0.5):
            with suppress(ProcessLookupError):
                os.kill(victims[0], signal.SIGKILL)
            killed["worker"] += 1
            time.sleep(chance.uniform(0.0, 0.5))
        else:
            killed["desk"] += 1
        desk.end(signal.SIGKILL)
        clerk.join(20)
        assert not clerk.is_alive()

        read_scenario(scenario)  # no file of the tables is half-written
        known = finished(scenario)
        assert {code: known.get(code) for code in done} == done
        assert all(json.loads(summary) for summary in known.values())
        done = known
        again = RunningDesk(tmp_path, port)
        name = name_of_the_first_source(again)
        again.end(signal.SIGKILL)
        if clerk.sent:
            assert name in {f"n{clerk.kept}", f"n{clerk.sent}"}
            typed = int(name[1:])
    assert min(killed.values()) >= LEAST, killed
    assert typed >= KILLS

    desk = RunningDesk(tmp_path, port)
    try:
        desk.post("/s/small/plan/start", {"haulage": "estimate"})
        end = time.monotonic() + 240
        while time.monotonic() < end:
            states = {entry.state for entry in plans(scenario)}
            if not states & {"waiting", "starting", "running"}:
                break
            time.sleep(0.5)
        assert states <= {"done", "failed", "interrupted"}
        assert plans(scenario)[0].state == "done"
    finally:
        desk.end()
