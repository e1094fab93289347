"""
Independent runs: many at once, every result on disk as soon as it is known.

A store is a file of JSON lines, one a finished run, each under its key. Lines are
flushed to the disk one by one; what a killed program leaves torn at the end is dropped
when the store is opened again, and runs that have a line are not done again.
"""

from __future__ import annotations

import gc
import importlib
import json
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Record = dict[str, Any]
LEAST_WAIT = 0.05
"""Between two looks at a parent that may be gone. [s]"""


class RunsError(RuntimeError):
    """Some runs failed, or could not be given to anybody; says what to do."""


@dataclass(frozen=True)
class KeyedRun:
    """One run: its key, by which its result is known again, and what is to be run."""

    key: str
    what: Any


@dataclass(frozen=True)
class Work:
    """
    What all runs share; every part can be sent to another process.

    Attributes
    ----------
    key
        Same key, same work.
    prepare
        Makes from `setup` what every run needs; called once in a process.
    task
        Makes a record, plain enough for JSON, from that and from `KeyedRun.what`.
    setup
        Data.
    """

    key: str
    prepare: Callable[[Any], Any]
    task: Callable[[Any, Any], Record]
    setup: Any


@dataclass(frozen=True)
class Standing:
    """How far the runs are: done, of how many; spent and left [s] (None at first)."""

    done: int
    total: int
    seconds: float
    left: float | None


Watch = Callable[[Standing], None]


class Store:
    """Records on disk, by key; made with `open_store`."""

    def __init__(self, path: Path, records: Mapping[str, Record], handle: Any) -> None:
        self.path, self.records, self._handle = path, dict(records), handle

    def add(self, key: str, record: Record) -> None:
        """Write a record to the disk, all of it, before going on."""
        line = json.dumps({"key": key, **record}, allow_nan=False, ensure_ascii=False)
        self._handle.write(line.encode() + b"\n")
        self._handle.flush()
        os.fsync(self._handle.fileno())
        self.records[key] = json.loads(line)


@contextmanager
def open_store(path: Path) -> Iterator[Store]:
    """
    Open a store, or make it; a torn last line is cut off.

    Raises
    ------
    RunsError
        If another program writes to it.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+b") as handle:
        _lock(handle, path)
        handle.seek(0)
        whole = handle.read()
        end = whole.rfind(b"\n") + 1
        handle.truncate(end)
        records: dict[str, Record] = {}
        for line in whole[:end].splitlines():
            with suppress(ValueError, KeyError, TypeError):
                record = json.loads(line)
                records[record["key"]] = record  # a run done again comes later
        yield Store(path, records, handle)


def _lock(handle: Any, path: Path) -> None:
    """Keep a second program out; the lock goes with the program that holds it."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        message = f"{path} is being written by another run. Wait, or name another --out"
        raise RunsError(message) from None


def run_all(
    work: Work,
    jobs: Sequence[KeyedRun],
    store: Store,
    *,
    workers: int = 1,
    cluster: str | None = None,
    watch: Watch | None = None,
) -> None:
    """
    Do the runs that the store does not have yet.

    Parameters
    ----------
    work, jobs
        What all runs share, and the runs; jobs of one key are done once.
    store
        Gets a record of every run.
    workers
        Processes on this machine.
    cluster
        Address of a Dask scheduler to use in their place.
    watch
        Told after every run how far things are.

    Raises
    ------
    RunsError
        If runs failed, after all others were done; or if there is nobody to run them.
    """
    missing = list({j.key: j for j in jobs if j.key not in store.records}.values())
    begin, failed = time.monotonic(), []
    done = before = len({job.key for job in jobs}) - len(missing)
    source = _local(work, missing, workers) if cluster is None else None
    source = source or _on_cluster(work, missing, str(cluster))
    if watch is not None:
        watch(Standing(done, before + len(missing), 0.0, None))
    for key, record, fault in source:
        if record is None:
            failed.append(fault)
        else:
            store.add(key, record)
        done += 1
        spent = time.monotonic() - begin
        left = spent / (done - before) * (before + len(missing) - done)
        if watch is not None:
            watch(Standing(done, before + len(missing), spent, left))
    if failed:
        message = f"{len(failed)} of {len(missing)} runs failed, all others are kept. "
        message += f"The first: {failed[0]}. Run again to try those once more"
        raise RunsError(message)


Told = tuple[str, Record | None, str]


def _guarded(task: Callable[[Any, Any], Record], context: Any, job: KeyedRun) -> Told:
    """Do a run; a fault comes back as words, so that it can always be sent."""
    try:
        return job.key, task(context, job.what), ""
    except Exception as error:
        return job.key, None, f"{type(error).__name__}: {error}"


_held: tuple[Callable[[Any, Any], Record], Any] | None = None


def _begin(work: Work) -> None:
    """Prepare a process: Ctrl-C is for the parent, and without it nothing goes on."""
    global _held
    with suppress(AttributeError, OSError):
        os.setpgid(0, 0)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _held = work.task, work.prepare(work.setup)
    gc.collect()
    gc.freeze()  # what stands for all runs need not be looked through in each


def _end_with_parent() -> None:
    """End this process at once when its parent is gone, however it went."""
    parent = multiprocessing.parent_process()
    while parent is not None and parent.is_alive():
        parent.join(1.0)
        time.sleep(LEAST_WAIT)
    os._exit(1)


def _do(job: KeyedRun) -> Told:
    if _held is None:
        message = "this process was not prepared"
        raise RuntimeError(message)
    return _guarded(*_held, job)


def _local(work: Work, jobs: Sequence[KeyedRun], workers: int) -> Iterator[Told]:
    """Do runs in processes of this machine, in the order in which they end."""
    if not jobs:
        return
    count = max(1, min(workers, len(jobs)))
    pool = ProcessPoolExecutor(
        count,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_begin,
        initargs=(work,),
    )
    try:
        waiting: list[Future[Told]] = [pool.submit(_do, job) for job in jobs]
        for ended in as_completed(waiting):
            try:
                told = ended.result()
            except Exception as error:  # a broken pool: somebody ended a process
                message = f"a worker ended before its run was done ({error}); what is "
                message += "done is kept. Run again to go on, with fewer --workers "
                message += "if memory was short"
                raise RunsError(message) from error
            yield told
    except BaseException:
        alive = list((getattr(pool, "_processes", None) or {}).values())
        pool.shutdown(wait=False, cancel_futures=True)
        for process in alive:
            process.terminate()
        raise
    pool.shutdown()


_contexts: dict[str, Any] = {}
_preparing = threading.Lock()


def _do_there(work: Work, job: KeyedRun) -> Told:
    """Do a run on a cluster's worker, which prepares itself for the first one."""
    with _preparing:
        if work.key not in _contexts:
            _contexts.clear()
            _contexts[work.key] = work.prepare(work.setup)
        context = _contexts[work.key]
    return _guarded(work.task, context, job)


def _on_cluster(work: Work, jobs: Sequence[KeyedRun], address: str) -> Iterator[Told]:
    """Do runs on a Dask cluster, in the order in which they end."""
    try:
        distributed: Any = importlib.import_module("distributed")
    except ImportError:
        message = "--cluster needs the library dask.distributed, which is not here. "
        message += "Install it with: pip install 'loamhaul[cluster]'"
        raise RunsError(message) from None
    try:
        client = distributed.Client(address, timeout=10)
    except (OSError, TimeoutError, ValueError) as error:
        message = f"no Dask scheduler answers at {address} ({error}). Start one with "
        message += "`dask scheduler`, its workers with `dask worker`, and give its "
        message += "address as tcp://host:port"
        raise RunsError(message) from None
    with client:
        if not client.scheduler_info()["workers"]:
            message = f"the Dask scheduler at {address} has no workers. Start some "
            message += f"with: dask worker {address}"
            raise RunsError(message)
        shared = client.scatter(work, broadcast=True, hash=False)
        waiting = [
            client.submit(_do_there, shared, job, pure=False, retries=1) for job in jobs
        ]
        for ended in distributed.as_completed(waiting):
            try:
                yield ended.result()
            except Exception as error:
                message = f"the cluster gave up a run ({type(error).__name__}: "
                message += f"{error}); what is done is kept. Its workers need the same "
                message += "version of loamhaul. Run again to go on"
                raise RunsError(message) from error
            ended.release()
