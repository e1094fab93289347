"""
Capacitated vehicle routing, CVRPLIB.

A and P: Augerat, P., thèse, Université Joseph Fourier, 1995 (from memory); X: Uchoa,
E. et al., New benchmark instances for the capacitated vehicle routing problem, EJOR
257, 2017, pp. 845-858. Costs are those of the `.sol` files beside the instances.
"""

import pytest
from support.cvrp import FOLDER, best_known, length, published_routes, read_vrp, task_of

from logistics.rounds.check import faults
from logistics.rounds.leg_times import cost
from logistics.rounds.records import RoundsSolution, SearchLimits, Tour
from logistics.rounds.search import solve_task

needs = pytest.mark.skipif(
    not (FOLDER / "A-n32-k5.vrp").exists(),
    reason="the CVRP library's files are open data outside the repository, looked for "
    "in ../shared/bench/cvrp",
)


@needs
@pytest.mark.parametrize(("name", "within"), [("P-n16-k8", 0.0), ("A-n32-k5", 0.005)])
def test_search_reaches_the_best_known(name, within):
    task = task_of(*read_vrp(FOLDER / f"{name}.vrp"))
    answer = solve_task(task, SearchLimits(iterations=600, seconds=60))
    assert faults(task, answer) == []
    best = best_known(FOLDER / f"{name}.sol")
    assert best <= length(task, answer) <= best * (1 + within)
    assert cost(task, answer) == pytest.approx(length(task, answer))


@needs
@pytest.mark.parametrize(
    ("name", "printed", "routes"), [("A-n32-k5", 784, 5), ("X-n101-k25", 27591, 26)]
)
def test_published_routes_pass_our_check_at_the_printed_cost(name, printed, routes):
    task = task_of(*read_vrp(FOLDER / f"{name}.vrp"))
    listed = published_routes(FOLDER / f"{name}.sol")
    tours = tuple(Tour(0, (tuple(n - 1 for n in route),)) for route in listed)
    answer = RoundsSolution(tours, ())
    assert len(tours) == routes
    assert faults(task, answer) == []
    assert length(task, answer) == printed
    without = RoundsSolution(tours[1:], ())
    assert len(faults(task, without)) >= len(listed[0])
