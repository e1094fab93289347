"""The plan book: nothing lost, nothing overwritten, and who is next."""

import json
import subprocess
import sys
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.desk import finish, make_scenario

from logistics.scenario import read_scenario
from maps.desk import line as line_module
from maps.desk.book import (
    LONGEST_LABEL,
    STARTING,
    claim,
    delete,
    digest_of,
    is_older,
    label,
    last_done,
    make_again,
    order_plan,
    plan_of,
    plans,
    state_of,
    yards_of,
)
from maps.desk.events import EVENTS, TAIL, last_events, last_of, read_events, tell
from maps.desk.line import PlanLine, in_line
from maps.desk.shelf import NameFault, NotThere, Shelf
from maps.disk import hold, is_held, write_whole


@pytest.fixture
def scenario(tmp_path):
    return make_scenario(tmp_path)


def test_a_plan_keeps_the_inputs_it_was_ordered_with(scenario):
    before = digest_of(scenario)
    entry = order_plan(scenario, {"solve.seconds": 60.0})
    assert entry.state == "waiting"
    sources = scenario / "sources.csv"
    sources.write_text(sources.read_text().replace("7500", "7600"))
    assert digest_of(entry.folder / "inputs") == entry.order["digest"] == before
    assert digest_of(scenario) != before


def test_plans_ordered_in_one_second_stand_beside_each_other(scenario):
    made = [order_plan(scenario, {}) for _ in range(4)]
    assert len({entry.code for entry in made}) == 4
    assert [e.code for e in plans(scenario)] == [e.code for e in reversed(made)]


def test_other_commands_pass_the_plan_book_over(scenario):
    """Tables in plans/ are no tables of the scenario."""
    order_plan(scenario, {})
    assert len(read_scenario(scenario).sources) == 4


def test_a_plan_is_older_once_its_data_says_something_else(scenario):
    finish(order_plan(scenario, {}), fingerprint="aaaa")
    [entry] = plans(scenario)
    assert not is_older(entry, entry.order["digest"], None)
    assert not is_older(entry, "written anew", "aaaa")
    assert is_older(entry, "written anew", "bbbb")
    assert is_older(entry, "written anew", None)


def test_a_plan_is_named_starred_and_deleted(scenario):
    entry = order_plan(scenario, {})
    label(entry, name="  Mill \n closed " + "x" * 200)
    label(plan_of(scenario, entry.code), star=True)
    seen = plan_of(scenario, entry.code)
    assert seen.star
    assert seen.name.startswith("Mill closed x")
    assert len(seen.name) == LONGEST_LABEL
    delete(seen)
    assert plans(scenario) == []
    with pytest.raises(NotThere):
        plan_of(scenario, entry.code)


def test_a_plan_that_is_being_made_is_not_deleted(scenario):
    entry = order_plan(scenario, {})
    claim(entry)
    with pytest.raises(NameFault, match="being made"):
        delete(plan_of(scenario, entry.code))
    assert len(plans(scenario)) == 1


@pytest.mark.parametrize("code", ["..", "../..", ".new-x", "a/b", "", "con"])
def test_a_code_that_is_no_folder_of_the_book_is_not_there(scenario, code):
    order_plan(scenario, {})
    with pytest.raises(NotThere):
        plan_of(scenario, code)


def test_a_plan_is_taken_in_hand_once(scenario):
    entry = order_plan(scenario, {})
    assert [claim(entry), claim(entry)] == [True, False]


@given(
    claimed=st.none() | st.floats(0, 100),
    alive=st.booleans(),
    how=st.sampled_from([None, "done", "failed"]),
    now=st.floats(100, 300),
)
def test_a_plan_has_one_state(claimed, alive, how, now):
    end = {"how": how} if how else {}
    state = state_of(claimed=claimed, alive=alive, end=end, now=now)
    if how:
        assert state == how
    elif claimed is None:
        assert state == "waiting"
    elif alive:
        assert state == "running"
    else:
        fresh = now - claimed < STARTING
        assert state == ("starting" if fresh else "interrupted")


def test_a_plan_whose_worker_was_killed_can_be_made_again(scenario, monkeypatch):
    entry = order_plan(scenario, {})
    claim(entry)
    with hold(entry.folder / "worker.lock"):
        assert plan_of(scenario, entry.code).state == "running"
    monkeypatch.setattr("maps.desk.book.STARTING", 0.0)
    killed = plan_of(scenario, entry.code)
    assert killed.state == "interrupted"
    make_again(killed)
    assert plan_of(scenario, entry.code).state == "waiting"


def test_a_lock_goes_with_the_program_that_holds_it(tmp_path):
    path = tmp_path / "lock"
    code = "import sys,time; from maps.disk import hold; from pathlib import Path;"
    code += "k=hold(Path(sys.argv[1])); print('held', flush=True); time.sleep(60)"
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE
    ) as other:
        assert other.stdout.readline().strip() == b"held"
        assert is_held(path)
        assert hold(path) is None
        other.kill()
    assert not is_held(path)


def test_events_are_read_on_from_where_they_were_left(tmp_path):
    tell(tmp_path, "start")
    events, place = read_events(tmp_path)
    assert [e["kind"] for e in events] == ["start"]
    with (tmp_path / EVENTS).open("ab") as handle:
        handle.write(b'{"kind": "en')  # a worker killed in the midst of a line
    assert read_events(tmp_path, place) == ([], place)
    with (tmp_path / EVENTS).open("ab") as handle:
        handle.write(b'd"}\n[1]\n\xff\n{"kind": 3}\n' + b"[" * 5_000 + b"\n")
    events, _ = read_events(tmp_path, place)
    assert events == [{"kind": "end"}]


def test_the_last_word_is_found_at_the_end_of_a_long_file(tmp_path):
    for _ in range(TAIL // 50):
        tell(tmp_path, "progress", gap=0.1)
    tell(tmp_path, "end", how="done")
    assert last_of(last_events(tmp_path), "end")["how"] == "done"
    assert last_of(last_events(tmp_path), "start") == {}


def test_a_write_that_fails_leaves_the_old_file_whole(tmp_path, monkeypatch):
    target = tmp_path / "a.json"
    write_whole(target, b"old")

    def fail(_):
        raise OSError

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError):  # noqa: PT011
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_yards_of_the_last_finished_plan(scenario):
    assert yards_of(last_done(plans(scenario))) == {}
    finish(order_plan(scenario, {}))
    order_plan(scenario, {})
    assert yards_of(last_done(plans(scenario))) == {"reef": "small", "mole": "large"}


WORKER = """
import sys, time
from pathlib import Path
from maps.disk import hold
from maps.desk.events import tell
name = sys.stdin.readline().rstrip("\\n")
if not name:
    sys.exit()
folder = Path(name)
with hold(folder / "worker.lock"):
    tell(folder, "start")
    time.sleep(0.3)
    if not (folder / "die").exists():
        tell(folder, "end", how="done")
"""


def test_plans_are_made_one_after_the_other_in_their_order(tmp_path, monkeypatch):
    def started():
        return subprocess.Popen(
            [sys.executable, "-c", WORKER], stdin=subprocess.PIPE, text=True
        )

    monkeypatch.setattr(line_module, "started", started)
    monkeypatch.setattr("maps.desk.book.STARTING", 1.5)
    one, other = (make_scenario(tmp_path, name) for name in ("one", "other"))
    shelf = Shelf(tmp_path)
    first, second, third = (order_plan(s, {}) for s in (one, other, one))
    (second.folder / "die").touch()
    assert [e.code for _, e in in_line(shelf)] == [
        e.code for e in (first, second, third)
    ]
    line = PlanLine(shelf)
    line.start()
    end = time.monotonic() + 20
    while in_line(shelf) and time.monotonic() < end:
        assert sum(e.state == "running" for _, e in in_line(shelf)) <= 1
        time.sleep(0.02)
    line.close()
    states = [
        plan_of(e.folder.parents[1], e.code).state for e in (first, second, third)
    ]
    assert states == ["done", "interrupted", "done"]
    begun = [
        json.loads((e.folder / EVENTS).read_text().splitlines()[0])["at"]
        for e in (first, second, third)
    ]
    assert begun == sorted(begun)
