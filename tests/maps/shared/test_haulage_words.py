"""What is said of haulage before and after its rounds are driven."""

import pytest
from support.fake_result import result

from maps.shared import MoneyUnit, driven_words, haulage_words, rounds_words
from maps.shared.haulage_words import NOT_DRIVEN, allowance

SHELLS = MoneyUnit("shells")


@pytest.mark.parametrize(
    ("measured", "said", "worst"),
    [
        ((("One", 0.10), ("Two", -0.02)), "One 10.0 % above and Two 2.0 % below", 510),
        ((("One", -0.10),), "One 10.0 % below", 204),
    ],
)
def test_before_it_says_how_far_an_estimate_was_off(monkeypatch, measured, said, worst):
    """A share of the trips and the hire; own trucks cost the same however driven."""
    monkeypatch.setattr(haulage_words, "MEASURED", measured)
    monkeypatch.setattr(haulage_words, "OTHERS", (3, -0.2, 0.04))
    made = result()
    assert not (made.ledger["line"] == "owned trucks").any()
    assert made.summary["haul_cost"] == 5100
    assert allowance(made) == pytest.approx(worst)
    text = rounds_words(made, SHELLS)
    assert f"cost {said} plan" in text
    assert "in 3 random districts from 20.0 % below to 4.0 % above" in text
    assert f"would be {worst} shells a year here" in text
    assert "not driven yet" in text
    assert NOT_DRIVEN == "not driven yet"
    lines = made.ledger["line"].to_list()
    made.ledger = made.ledger.assign(line=["owned trucks", *lines[1:]])
    first = made.ledger["amount"].iloc[0]
    share = max(0.04, *(share for _, share in measured))
    assert allowance(made) == pytest.approx(share * (5100 - first))


@pytest.mark.parametrize(
    ("above", "share", "said"),
    [(300.0, 0.06, "(6.0 %) above"), (-300.0, -0.06, "(6.0 %) below")],
)
def test_after_it_says_what_the_rounds_cost(above, share, said):
    text = rounds_words(_driven(above, share, left=0.049), SHELLS)
    assert f"cost 300 shells {said} the estimate" in text
    assert "in single periods from −1.0 % to +9.0 %" in text
    assert "found no truck" not in text


def test_what_no_truck_could_take_is_said():
    text = rounds_words(_driven(300.0, 0.06, left=0.05), SHELLS)
    assert "0.1 t a year found no truck and stay where they are" in text


@pytest.mark.parametrize(("limit", "said"), [(9_000.0, False), (8_999.0, True)])
def test_a_year_driven_above_the_budget_limit_is_said(limit, said):
    made = _driven(300.0, 0.06, left=0.0)
    made.summary["total_cost"] = 9_000.0
    policy = made.scenario.settings.policy.model_copy(update={"budget_limit": limit})
    made.scenario.settings = made.scenario.settings.model_copy(
        update={"policy": policy}
    )
    words = "costs 1 shells more than the board's budget limit"
    assert (words in rounds_words(made, SHELLS)) is said


def test_nothing_is_said_of_rounds_that_are_not_driven():
    assert driven_words(result(), SHELLS) == ""


def _driven(above, share, left):
    made = result()
    made.summary["rounds_above_plan"] = above
    made.summary["rounds_share"] = {"year": share, "least": -0.01, "most": 0.09}
    made.summary["rounds_left_t"] = left
    return made
