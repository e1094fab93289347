"""The frontier: monotone, proven, nothing dominated, the knee where it is said."""

from dataclasses import replace
from itertools import pairwise

import pytest
from support.enumeration import cheapest
from support.places import SMALL
from support.small_instances import FISH_RULE, farms, neighbours, small_instance
from typer.testing import CliRunner

from logistics.model.problem.instance import LeastShare, Policy
from logistics.model.solving.highs import Effort
from logistics.studies.cost_frontier import (
    Point,
    carried,
    frontier,
    frontier_table,
    knee,
    undominated,
)
from maps.commands.command_line import app

pytestmark = pytest.mark.slow

EXACT = Effort(gap=1e-6, seconds=60, threads=1)
ROUGH = Effort(gap=0.02, seconds=60, threads=1)


@pytest.mark.parametrize("against", ["collected", "co2e", "yards"])
@pytest.mark.parametrize(
    "seed",
    [
        1,
        pytest.param(4, marks=pytest.mark.slow),
        pytest.param(7, marks=pytest.mark.thorough),
    ],
)
@pytest.mark.parametrize("effort", [EXACT, ROUGH], ids=["exact", "rough"])
def test_monotone_within_the_gaps(seed, against, effort):
    points = frontier(small_instance(seed), against, 6, effort)
    assert points
    for before, after in pairwise(points):
        assert after.cost > before.cost
        assert after.bound >= before.bound - 1e-6 * abs(before.bound)
        assert after.other(against) < before.other(against)
        assert after.cost >= before.bound
    for point in points:
        assert point.bound <= point.cost
        assert point.gap <= effort.gap + 1e-9


@pytest.mark.slow
@pytest.mark.parametrize("seed", [2, 5])
def test_points_are_what_brute_force_finds(seed):
    inst = small_instance(seed)
    total = float(inst.supply.tonnes.sum())
    everyone = tuple(range(len(inst.supply.codes)))
    for point in frontier(inst, "collected", 5, EXACT)[1:]:
        rule = LeastShare("all", "all", everyone, point.limit / total)
        policy = replace(inst.policy, least_shares=(rule,))
        best = cheapest(replace(inst, policy=policy))
        assert point.cost == pytest.approx(best, rel=1e-4)


@pytest.mark.slow
def test_the_cheapest_end_is_the_plain_plan():
    inst = small_instance(3)
    assert frontier(inst, "co2e", 5, EXACT)[0].cost == pytest.approx(
        cheapest(inst), rel=1e-5
    )


def made(cost, collected, bound=None):
    bound = cost - 1 if bound is None else bound
    return Point(0.0, None, cost, bound, collected, 0.0, 1)


def test_dominated_points_go():
    points = [made(10, 5), made(12, 5), made(11, 7), made(20, 6), made(13, 9)]
    assert [p.cost for p in undominated(points, "collected")] == [10, 11, 13]


def test_a_stricter_plan_that_is_cheaper_replaces_the_looser():
    points = carried([made(10, 5, 9), made(14, 6, 9.5), made(13, 7, 9.2)])
    assert [p.cost for p in points] == [10, 13, 13]
    assert [p.bound for p in points] == [9, 9.5, 9.5]


def test_knee_by_hand():
    # ends (0,0) and (10,10); the line's cost at 8 collected is 8, the point's 2
    points = [made(0, 0), made(1, 4), made(2, 8), made(6, 9), made(10, 10)]
    assert knee(points, "collected") == 2
    assert knee(points[:2], "collected") is None
    straight = [made(0, 0), made(5, 5), made(10, 10)]
    assert knee(straight, "collected") is None


def test_the_step_is_money_for_one_tonne_more():
    class NoYards:
        yard_sizes = ()

    points = [replace(made(c, t), plan=NoYards()) for c, t in ((10, 5), (14, 7))]
    assert frontier_table(points, "collected")["step"].iloc[1] == 2.0


@pytest.mark.slow
def test_the_command_writes_and_prints(tmp_path):
    arguments = ["frontier", str(SMALL), "--points", "5", "--out", str(tmp_path)]
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 0, done.output
    page = (tmp_path / "frontier.html").read_text(encoding="utf-8")
    assert page.count("<circle") >= 5
    assert "http-equiv" in page
    assert "<script" not in page
    assert (tmp_path / "frontier.xlsx").exists()
    assert "net cost [coin/yr]" in (tmp_path / "frontier.csv").read_text()
    told = " ".join(done.output.split())
    assert "The knee is at" in told or "no knee" in told


def test_demands_that_cannot_be_met_have_no_frontier():
    policy = Policy(least_shares=(FISH_RULE,), max_yards=0)
    assert frontier(small_instance(1, policy=policy), "collected", 4, EXACT) == []


def test_one_plan_may_be_best_for_both(tmp_path):
    arguments = ["frontier", str(SMALL), "--against", "yards", "--out", str(tmp_path)]
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 0, done.output
    assert "nothing to trade off" in " ".join(done.output.split())


@pytest.mark.parametrize(
    ("against", "rule"), [("people", "most_exposed"), ("fairness", "worst_farms_km")]
)
@pytest.mark.parametrize("seed", [0, pytest.param(4, marks=pytest.mark.slow)])
def test_points_against_people_and_far_farms_are_the_cheapest_there_are(
    seed, against, rule
):
    """By brute force over yards; each is dearer and better than the one before."""
    inst = replace(small_instance(seed), neighbours=neighbours(), farms=farms())
    points = frontier(inst, against, 5, EXACT)
    assert len(points) > 1
    assert points[0].cost == pytest.approx(cheapest(inst), rel=1e-5)
    for before, after in pairwise(points):
        assert after.cost > before.cost
        assert after.other(against) < before.other(against)
        policy = replace(inst.policy, **{rule: after.limit})
        best = cheapest(replace(inst, policy=policy))
        assert after.cost == pytest.approx(best, rel=1e-4)
        assert after.other(against) <= after.limit * (1 + 1e-6) + 1e-6
