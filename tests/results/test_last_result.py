"""A plan's answers found once: for a real plan alone, and the last one only."""

from dataclasses import replace

import pytest
from support import fake_result
from support.places import SMALL

from logistics.accounts import book
from logistics.results.last_result import once_a_result
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from maps.tables import tables


@pytest.fixture(scope="module")
def result():
    return run(read_scenario(SMALL))


def test_the_last_plan_is_asked_once_and_another_anew(result):
    asked = []
    answer = once_a_result(asked.append)
    other = replace(result)
    for one in (result, result, other, other, result):
        answer(one)
    assert asked == [result, other, result]


def test_what_may_change_is_not_remembered():
    asked = []
    answer = once_a_result(asked.append)
    made = fake_result.result()
    answer(made)
    answer(made)
    assert asked == [made, made]


@pytest.mark.slow
def test_tables_and_book_are_those_of_the_plan_that_is_asked(result):
    dearer = replace(
        result, ledger=result.ledger.assign(amount=2 * result.ledger["amount"])
    )
    assert book(dearer).net == pytest.approx(2 * book(result).net)
    tables(result).clear()
    assert len(tables(result)) > 20
