"""The runner: every run once, none lost, whoever dies and wherever it runs."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from support.dask_loopback import cluster
from support.places import ROOT, TESTS
from support.toy_runs import jobs, work

from logistics.studies.runs import KeyedRun, RunsError, open_store, run_all

SQUARES = {f"n{n}": n * n + 0.1 for n in range(6)}


def squares(store):
    return {key: record["square"] for key, record in store.records.items()}


def keys_on_disk(path):
    whole = path.read_bytes()
    lines = whole[: whole.rfind(b"\n") + 1].splitlines()
    return [json.loads(line)["key"] for line in lines]


def waited(check, seconds=30.0):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if check():
            return True
        time.sleep(0.02)
    return False


@pytest.mark.slow
@pytest.mark.parametrize("workers", [1, 2])
def test_every_run_is_done_and_kept(tmp_path, workers):
    told = []
    with open_store(tmp_path / "s.jsonl") as store:
        run_all(work(), jobs(6), store, workers=workers, watch=told.append)
    assert squares(store) == SQUARES
    assert {r["by"] for r in store.records.values()} - {os.getpid()}
    with open_store(tmp_path / "s.jsonl") as again:
        assert again.records == store.records
    assert [state.done for state in told] == list(range(7))
    assert {state.total for state in told} == {6}
    assert told[0].left is None
    assert told[-1].left == 0


@pytest.mark.slow
def test_what_is_done_is_not_done_again(tmp_path):
    log = tmp_path / "log"
    for count in (3, 6, 6):
        with open_store(tmp_path / "s.jsonl") as store:
            run_all(work(log=str(log)), jobs(count), store, workers=2)
    assert sorted(log.read_text().split()) == [str(n) for n in range(6)]


@pytest.mark.slow
def test_jobs_of_one_key_are_one_run(tmp_path):
    with open_store(tmp_path / "s.jsonl") as store:
        run_all(work(), [KeyedRun("a", 3), KeyedRun("a", 3)], store)
    assert keys_on_disk(tmp_path / "s.jsonl") == ["a"]


@pytest.mark.slow
@pytest.mark.parametrize(
    "torn", [b'{"key": "n2", "squ', b"\x00\x00\x00" + b'{"key": "n2"}']
)
def test_a_torn_last_line_is_dropped(tmp_path, torn):
    """Whatever stands behind the last line end was not finished."""
    path = tmp_path / "s.jsonl"
    with open_store(path) as store:
        run_all(work(), jobs(2), store, workers=1)
    whole = path.read_bytes()
    path.write_bytes(whole + torn)
    with open_store(path) as store:
        assert set(store.records) == {"n0", "n1"}
        assert path.read_bytes() == whole
        run_all(work(), jobs(3), store)
    assert keys_on_disk(path) == ["n0", "n1", "n2"]


@pytest.mark.slow
def test_a_failed_run_is_told_and_the_others_are_kept(tmp_path):
    with open_store(tmp_path / "s.jsonl") as store:
        with pytest.raises(RunsError, match=r"1 of 4 runs failed.*no square of 2"):
            run_all(work(fails=[2]), jobs(4), store, workers=2)
        assert set(store.records) == {"n0", "n1", "n3"}
        run_all(work(), jobs(4), store)
    assert len(keys_on_disk(tmp_path / "s.jsonl")) == 4


@pytest.mark.slow
def test_a_worker_that_dies_is_told(tmp_path):
    with open_store(tmp_path / "s.jsonl") as store:
        with pytest.raises(RunsError, match="a worker ended before"):
            run_all(work(dies=[3]), jobs(4), store, workers=1)
        assert set(store.records) == {"n0", "n1", "n2"}


def test_two_programs_do_not_share_a_store(tmp_path):
    with open_store(tmp_path / "s.jsonl"):  # noqa: SIM117
        with pytest.raises(RunsError, match="being written by another run"):
            with open_store(tmp_path / "s.jsonl"):
                pass


@pytest.mark.thorough
def test_killed_halfway_nothing_is_lost_and_nothing_done_twice(tmp_path):
    """SIGKILL to the parent: its workers end too, and a new run takes up the rest."""
    path, log, count = tmp_path / "s.jsonl", tmp_path / "log", 40
    command = [
        sys.executable,
        str(TESTS / "support" / "toy_runs.py"),
        str(path),
        str(count),
    ]
    command += ["0.1", str(log)]
    here = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{TESTS}"}
    first = subprocess.Popen(command, env=here)
    assert waited(lambda: path.exists() and len(keys_on_disk(path)) >= 10)
    first.send_signal(signal.SIGKILL)
    first.wait()
    before = keys_on_disk(path)
    assert 10 <= len(before) < count
    time.sleep(2.5)  # a worker without parent looks for it every second
    started = len(log.read_text().split())
    time.sleep(0.6)
    assert len(log.read_text().split()) == started, "workers go on without parent"
    subprocess.run(command, env=here, check=True)
    after = keys_on_disk(path)
    assert after[: len(before)] == before
    assert sorted(after) == sorted(job.key for job in jobs(count))


@pytest.mark.slow
def test_a_missing_library_and_a_missing_cluster_are_told(tmp_path, monkeypatch):
    with open_store(tmp_path / "s.jsonl") as store:
        with pytest.raises(RunsError, match="no Dask scheduler answers at"):
            run_all(work(), jobs(1), store, cluster="nowhere")
        monkeypatch.setitem(sys.modules, "distributed", None)
        with pytest.raises(RunsError, match=r"pip install 'loamhaul\[cluster\]'"):
            run_all(work(), jobs(1), store, cluster="tcp://127.0.0.1:1")


@pytest.fixture(scope="module")
def dask_address():
    """A Dask scheduler with two workers on loopback, each started as people do."""
    pytest.importorskip("distributed")
    with cluster(2) as address:
        yield address


@pytest.mark.thorough
def test_a_cluster_gives_the_same(tmp_path, dask_address):
    with open_store(tmp_path / "s.jsonl") as store:
        run_all(work(), jobs(6), store, cluster=dask_address)
        assert squares(store) == SQUARES
        assert os.getpid() not in {r["by"] for r in store.records.values()}


@pytest.mark.thorough
def test_a_failure_on_a_cluster_is_told(tmp_path, dask_address):
    failing = work(fails=[2])
    other = type(failing)("fails", failing.prepare, failing.task, failing.setup)
    with open_store(tmp_path / "s.jsonl") as store:
        with pytest.raises(RunsError, match=r"1 of 4 runs failed.*no square of 2"):
            run_all(other, jobs(4), store, cluster=dask_address)
        assert set(store.records) == {"n0", "n1", "n3"}
