"""The worker: the plan that the command makes, told step by step, and stopped."""

import json
import signal
import time

import pytest
from support.desk import make_scenario

from logistics.model import Basis, WarmStart
from maps.desk.book import ask, order_plan, plan_of
from maps.desk.events import last_of, read_events
from maps.desk.warmth import WARM, read_warm, write_warm
from maps.desk.worker import stopping, warm_start, words_of, work


@pytest.fixture
def scenario(tmp_path):
    return make_scenario(tmp_path)


@pytest.fixture
def briefly(monkeypatch, summary_only):
    """Without ranges and outputs, which are tried elsewhere."""
    monkeypatch.setattr("logistics.studies.with_ranges", lambda result, _: result)


@pytest.mark.slow
def test_a_plan_is_made_and_told(scenario, briefly):
    asked = {"estimate": True, "solve.seconds": 20.0}
    entry = order_plan(scenario, asked | {"start": {"shoal": "small", "gone": "x"}})
    work(entry.folder)
    made = plan_of(scenario, entry.code)
    assert made.state == "done"
    assert made.summary["yards"] == {"shoal": "small"}
    assert made.summary["audit_passed"] is True
    events, _ = read_events(entry.folder)
    kinds = [event["kind"] for event in events]
    assert kinds[0] == "start"
    assert kinds[-1] == "end"
    order = [
        kinds.index(k) for k in ("start", "first", "goal", "progress", "best", "end")
    ]
    assert order == sorted(order)
    first, best = last_of(events, "first"), last_of(events, "best")
    assert first["cost"] == pytest.approx(best["cost"])  # the old yards are the best
    assert last_of(events, "goal")["unit"] == "coin/yr"
    for part in ("first", "best"):
        assert "<html" in (entry.folder / part / "map.html").read_text()[:200]
    assert read_warm(entry.folder / WARM).basis.columns
    work(entry.folder)  # again by mistake: nothing is made anew but told
    assert plan_of(scenario, entry.code).state == "done"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("order", "page"),
    [
        ({"study": "why", "site": "source:herd", "period": "m02"}, "why.html"),
        pytest.param(
            {"study": "why", "site": "yard:reef"},
            "why.html",
            marks=pytest.mark.thorough,
        ),
        ({"study": "alternatives", "within": 5.0}, "alternatives.html"),
    ],
)
def test_a_study_about_the_plan_itself_is_made(scenario, order, page):
    """The worker makes what the command would, and tells its steps."""
    entry = order_plan(scenario, order, "studies")
    work(entry.folder)
    made = plan_of(scenario, entry.code, "studies")
    assert made.state == "done", made.end
    assert "<html" in (entry.folder / "outputs" / page).read_text()[:200]
    steps = [e for e in read_events(entry.folder)[0] if e["kind"] == "step"]
    assert steps
    assert all(one["done"] <= one["whole"] for one in steps)


def test_a_study_of_a_place_that_is_gone_says_so(scenario):
    entry = order_plan(scenario, {"study": "why", "site": "yard:gone"}, "studies")
    work(entry.folder)
    made = plan_of(scenario, entry.code, "studies")
    assert made.state == "failed"
    assert made.end["why"] == "This place is no longer in the tables."


def test_faults_are_told_in_the_words_of_the_check(scenario, briefly):
    sources = scenario / "sources.csv"
    sources.write_text(sources.read_text().replace("1200", "12 t"))
    entry = order_plan(scenario, {})
    work(entry.folder)
    failed = plan_of(scenario, entry.code)
    assert failed.state == "failed"
    [line] = failed.end["lines"]
    assert line.startswith("sources.csv, row 4, column 'amount': '12 t' has a unit")


def test_a_bug_of_ours_is_kept_and_said_to_be_one(scenario, briefly, monkeypatch):
    def broken(*_, **__):
        message = "lost"
        raise KeyError(message)

    monkeypatch.setattr("maps.desk.worker.planned", broken)
    entry = order_plan(scenario, {})
    work(entry.folder)
    failed = plan_of(scenario, entry.code)
    assert failed.state == "failed"
    assert "bug in Loamhaul" in failed.end["why"]
    assert "KeyError: 'lost'" in (entry.folder / "worker.log").read_text()


def test_a_full_disk_is_no_bug():
    told = words_of(OSError(28, "No space left on device"))
    assert told["ours"] is False
    assert "No space left" in told["why"]


def wait_for(what) -> bool:
    end = time.monotonic() + 5
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.01)
    return False


def test_a_wish_to_stop_reaches_each_solver_once(scenario):
    """A second signal would make a solver throw its plan away."""
    entry = order_plan(scenario, {})
    counts = [0, 0]

    def handler(number):
        def ask_it(*_):
            counts[number] += 1

        return ask_it

    before = signal.getsignal(signal.SIGINT)
    with stopping(entry.folder, lambda *_, **__: None):
        idle = signal.getsignal(signal.SIGINT)
        ask(entry, "stop")
        time.sleep(0.3)  # no solver runs: nothing is broken off
        for number in (0, 1):
            signal.signal(signal.SIGINT, handler(number))
            assert wait_for(lambda n=number: counts[n] == 1)
            time.sleep(0.3)
            signal.signal(signal.SIGINT, idle)
        assert counts == [1, 1]
    assert signal.getsignal(signal.SIGINT) is before


WARM_START = WarmStart(
    basis=Basis({"flow.a": 1}, {"supply.a": 0}),
    duals={"supply.a": -1.5},
    options=frozenset({"a.small"}),
    bases=(("light", "a", 2),),
)


def test_a_warm_start_comes_back_as_it_was(tmp_path):
    write_warm(WARM_START, tmp_path / WARM)
    again = read_warm(tmp_path / WARM)
    assert again.basis.columns == WARM_START.basis.columns
    assert again.basis.rows == WARM_START.basis.rows
    for part in ("duals", "options", "bases"):
        assert getattr(again, part) == getattr(WARM_START, part)


@pytest.mark.parametrize(
    "change",
    [
        {"basis": {"columns": {"a": 5}, "rows": {}}},
        {"basis": {"columns": ["a"], "rows": {}}},
        {"duals": {"a": "x"}},
        {"duals": {"a": float("inf")}},
        {"bases": [["light", "a"]]},
        {"bases": [["light", "a", "__import__('os')"]]},
        {"options": None},
    ],
)
def test_a_warm_start_that_we_did_not_write_is_left(tmp_path, change):
    write_warm(WARM_START, tmp_path / WARM)
    kept = json.loads((tmp_path / WARM).read_text())
    (tmp_path / WARM).write_text(json.dumps(kept | change))
    assert read_warm(tmp_path / WARM) is None
    assert read_warm(tmp_path / "nothing") is None
    assert warm_start(tmp_path / "plan", "../..") is None
