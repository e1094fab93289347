"""What a command says where the rounds of a plan are not in its money."""

import pytest

from logistics import rounds
from maps.commands.year_driven import with_rounds

REASONS = [
    (rounds.NotDrivenError("nothing is hauled"), "nothing is hauled"),
    (KeyboardInterrupt(), "you stopped its rounds"),
]


@pytest.mark.parametrize(("error", "why"), REASONS)
def test_the_plan_stays_as_it_was(monkeypatch, error, why):
    def fails(*_):
        raise error

    monkeypatch.setattr(rounds, "plan_as_driven", fails)
    plan = object()
    assert with_rounds(plan) == (plan, f"Haulage is an estimate: {why}.")


def test_a_driven_plan_has_nothing_more_to_say(monkeypatch):
    monkeypatch.setattr(rounds, "plan_as_driven", lambda *_: "driven")
    assert with_rounds(object()) == ("driven", "")
