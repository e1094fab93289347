"""A Dask scheduler and its workers on loopback, started as people start them."""

import os
import re
import subprocess
import sys
import time
from contextlib import contextmanager
from functools import partial

from support.places import ROOT, TESTS


@contextmanager
def cluster(workers, idle="120 seconds"):
    """Give the address of a scheduler that has its workers; idle so long it ends."""
    env = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{TESTS}"}
    plain = [sys.executable, "-m", "dask"]
    started = [
        subprocess.Popen(
            [*plain, "scheduler", "--host", "127.0.0.1", "--port", "0",
             "--no-dashboard", "--no-show", "--idle-timeout", idle],
            stderr=subprocess.PIPE, text=True, env=env,
        )
    ]  # fmt: skip
    try:
        address = _address(started[0])
        command = [*plain, "worker", address, "--nthreads", "1", "--no-dashboard"]
        command += ["--host", "127.0.0.1", "--nworkers", "1", "--no-nanny"]
        command += ["--death-timeout", "30"]
        for _ in range(workers):
            worker = subprocess.Popen(
                command, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL, env=env
            )
            started.append(worker)
        _await_workers(address, workers)
        yield address
    finally:
        for process in reversed(started):
            process.terminate()
        for process in started:
            try:
                process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            if process.stderr is not None:
                process.stderr.close()


def _address(scheduler):
    end = time.monotonic() + 30
    while time.monotonic() < end:
        line = scheduler.stderr.readline()
        if found := re.search(r"Scheduler at:\s*(tcp://\S+)", line):
            return found[1]
    message = "the scheduler did not start"
    raise TimeoutError(message)


def _await_workers(address, count):
    import distributed

    meet = partial(distributed.Client, address, timeout=20, set_as_default=False)
    try:
        client = meet()
    except AssertionError:  # its thread was not up in 10 s: a machine that stalled
        client = meet()
    with client:
        client.wait_for_workers(count, timeout=40)
