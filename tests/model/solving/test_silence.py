"""Solvers on many threads: no greeting, and what is printed still arrives."""

import subprocess
import sys

import pytest

PROGRAM = """
from concurrent.futures import ThreadPoolExecutor
from logistics.model.solving.highs import new_highs
with ThreadPoolExecutor(8) as pool:
    list(pool.map(lambda _: new_highs(), range(200)))
print("all of it")
"""


@pytest.mark.slow
def test_what_is_printed_arrives_and_nothing_else():
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True
    )
    assert done.stdout == "all of it\n"
