"""Processes that search rounds: they do not outlive the program that started them."""

import os
import subprocess
import sys
import time

import pytest

PROGRAM = """
import os, time
from logistics.rounds import processes

if __name__ == "__main__":
    with processes(1) as pool:
        print(pool.submit(os.getpid).result(), flush=True)
        pool.submit(time.sleep, 600)
        time.sleep(600)
"""


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_they_end_with_their_parent(tmp_path):
    """Killed from outside, it can tell them nothing."""
    script = tmp_path / "searching.py"
    script.write_text(PROGRAM)
    told = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    with subprocess.Popen([sys.executable, script], **told) as program:
        worker = int(program.stdout.readline())
        os.kill(worker, 0)  # it is there
        program.kill()
    until = time.monotonic() + 20
    while running(worker) and time.monotonic() < until:
        time.sleep(0.05)
    assert not running(worker)


def running(pid: int) -> bool:
    """Whether a process is there and not a mere entry in the table."""
    try:
        with open(f"/proc/{pid}/stat") as handle:
            return handle.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
