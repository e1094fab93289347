"""What would turn a plan on a site: searches, constants of the cost, land rules."""

import pytest
from support.places import SCENARIOS

from logistics.model.assembly.assembler import prepare
from logistics.scenario.scenario import read_scenario
from logistics.studies.entering import by_money, margin, searched
from logistics.studies.site_answer import no_use


@pytest.mark.parametrize(
    ("zero", "most", "stays", "turns"),
    [(0.3, 1.0, 0.3, 0.3), (2.0, 1.0, 1.0, None), (0.98, 1.0, 0.98, 0.98)],
)
def test_a_search_ends_on_both_sides_of_where_it_turns(zero, most, stays, turns):
    """Margins that fall in a straight line to zero, and rise no more."""

    def far_at(share):
        return (1 - share / zero - 0.001, 1 - share / zero + 0.001)

    found = searched((1.0, 1.0), "price", most, far_at)
    assert found.stays == pytest.approx(stays, abs=0.25 * most)
    assert found.stays <= zero
    if turns is None:
        assert found.turns is None
        assert found.never
    else:
        assert found.turns >= zero
        assert far_at(found.turns)[1] <= 0 < far_at(found.stays)[0] or not found.stays


def test_what_is_left_open_is_not_told_as_settled():
    found = searched((1.0, 1.0), "supply", 0.1, lambda share: (-1.0, 1.0))
    assert (found.stays, found.turns, found.never) == (0.0, None, False)


def test_a_margin_is_counted_the_other_way_round_for_a_yard_that_stands():
    assert margin((-9.0, -7.0), chosen=True) == (7.0, 9.0)
    turn = by_money((7.0, 9.0), "grant", (0.1, 0.2), 60.0)
    assert (turn.stays, turn.turns, turn.never) == (60.0, 45.0, False)
    assert by_money((7.0, 9.0), "grant", (0.1, 0.1), 60.0).never


def test_a_refused_site_answers_with_the_rule_and_the_metres():
    """Brackwater's own candidates, as the land screening has measured them."""
    made = prepare(read_scenario(SCENARIOS / "brackwater"))
    assert no_use(made, "yard_ulpenny", "") == [
        "The land rules refuse it: dwellings 286 m, needs 300 m "
        "(Ulpenny; site treated as a circle)."
    ]
    assert no_use(made, "yard_wexilow", "") == []
    assert no_use(made, "yard_wexilow", "large") == [
        "The site has 16,000 m2; a yard needs 39,500 m2 at least."
    ]
