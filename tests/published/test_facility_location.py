"""
Capacitated facility location, OR-Library.

Beasley, J.E., An algorithm for solving large capacitated warehouse location
problems, European Journal of Operational Research 33, 1988, pp. 314-325. The optima
are those of the set's own list, `capopt.txt`, read beside the files.
"""

import numpy as np
import pytest
from support.facility_location import instance, read_file
from support.places import BENCH

from logistics.model.solving import solution as job
from logistics.model.solving.branch_and_price import ACCURACY
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort

FOLDER = BENCH / "cflp"
FILES = sorted(path.stem for path in FOLDER.glob("cap[0-9]*.txt"))
needs = pytest.mark.skipif(
    not FILES,
    reason="the OR-Library's facility location files (Beasley 1988) are open data "
    "outside the repository, looked for in ../shared/bench/cflp",
)
NAMES = FILES or [pytest.param("none", marks=needs)]


def published() -> dict[str, float]:
    """Read the printed optima of the small files."""
    lines = (FOLDER / "capopt.txt").read_text().splitlines()
    words = [line.split() for line in lines]
    return {w[0]: float(w[1]) for w in words if len(w) == 2 and w[0][3:].isdigit()}


@needs
def test_all_files_are_here():
    assert len(FILES) == 37
    assert set(FILES) == set(published())


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_published_optimum(name):
    tables = read_file(FOLDER / f"{name}.txt")
    demand = tables[2]
    # A corrupt copy in circulation has a total of 40539.
    assert demand.sum() == 58268
    assert demand[33] == 12912
    plan = solve(instance(*tables), Effort(gap=0.0, seconds=60, threads=1))
    assert plan.status == "optimal"
    assert plan.objective == pytest.approx(published()[name], abs=0.01)
    assert plan.bound == pytest.approx(published()[name], abs=0.01)
    served = plan.hauls.groupby("source")["tonnes"].sum()
    assert np.allclose(served.sum(), demand.sum())


@pytest.mark.thorough
@pytest.mark.parametrize("name", NAMES)
def test_published_optimum_by_the_tree(monkeypatch, name):
    """The way of large districts, within what rounding may leave."""
    monkeypatch.setattr(job, "is_small", lambda instance: False)
    inst = instance(*read_file(FOLDER / f"{name}.txt"))
    plan = job.solve_as_held(inst, Effort(gap=1e-6, seconds=60, threads=1))
    best = published()[name]
    assert plan.gap <= ACCURACY
    assert plan.bound <= best + 0.01
    assert plan.objective == pytest.approx(best, rel=ACCURACY)
