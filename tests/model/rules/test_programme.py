"""A programme as rows of numbers, and as PuLP hands it to the solver."""

import numpy as np
import pytest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.rules.blocks import build
from logistics.model.rules.programme import Programme
from logistics.model.solving.highs import Effort, Session, run_solver
from logistics.model.solving.matrix import matrix_of, optimum


def tiny():
    """Two quantities and a whole number; one stands twice in a row."""
    p = Programme()
    x, y, n = p.variable("x"), p.variable("y", 4.0), p.number("n", 1, 7)
    p.at_most("room", [(x, 1.0), (x, 1.0), (y, 1.0)], 10.0)
    p.at_least("need", [(x, 1.0), (n, 2.0)], 5.5)
    p.equal("even", [(y, 1.0), (n, -1.0)], 0.0)
    p.minimise([(x, 3.0), (y, -1.0), (n, 2.0)], 100.0)
    return p, (x, y, n)


def test_a_programme_is_solved_as_one_reckons_by_hand():
    """N is 3: x costs 3 and saves half an n, which nets 1; so x = 0 and y = n = 3."""
    p, quantities = tiny()
    found = run_solver(p, Session(Effort(gap=0.0)))
    assert found.status == "optimal"
    assert found.incumbent == pytest.approx(103.0)
    assert [q.amount for q in quantities] == pytest.approx([0.0, 3.0, 3.0])


def test_its_arrays_say_the_same():
    p, _ = tiny()
    matrix = matrix_of(p)
    assert matrix.rows.toarray().tolist() == [[2, 1, 0], [1, 0, 2], [0, 1, -1]]
    assert matrix.below.tolist() == [-np.inf, 5.5, 0.0]
    assert matrix.above.tolist() == [10.0, np.inf, 0.0]
    assert matrix.high.tolist() == [np.inf, 4.0, 7.0]
    assert optimum(matrix, integer=True).value == pytest.approx(103.0)


def test_two_rows_of_one_name_are_refused():
    p, (x, *_) = tiny()
    with pytest.raises(ValueError, match="two rows are called 'room'"):
        p.at_most("room", [(x, 1.0)], 1.0)


@pytest.mark.parametrize("wrong", [np.nan, np.inf])
def test_a_coefficient_that_is_no_number_names_its_row(wrong):
    p, (x, *_) = tiny()
    p.at_most("broken", [(x, wrong)], 1.0)
    with pytest.raises(ValueError, match="broken"):
        matrix_of(p)


@pytest.mark.parametrize("seed", [1, 8, 21])
def test_a_district_is_the_same_to_pulp_and_as_arrays(seed):
    inst = small_instance(seed, policy=Policy(least_shares=(FISH_RULE,), max_yards=2))
    programme, _ = build(inst)
    said = run_solver(programme, Session(Effort(gap=0.0, threads=1)))
    found = optimum(matrix_of(programme), integer=True)
    assert (said.incumbent is None) == (found is None)
    if found is not None:
        assert said.incumbent == pytest.approx(found.value, rel=1e-7)
