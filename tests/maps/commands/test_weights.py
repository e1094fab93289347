"""Weights of futures: `@` and a number above 0; anything else is told, not dropped."""

import pytest
import typer

from maps.commands.robust_command import _weighted


@pytest.mark.parametrize("weight", ["nan", "-1", "0", "inf", "x", ""])
def test_a_weight_that_is_none_is_refused(weight, capsys):
    with pytest.raises(typer.Exit) as ended:
        _weighted([f"mill_closes@{weight}"])
    assert ended.value.exit_code == 2
    assert "after @ is not a weight" in capsys.readouterr().err


def test_weights_are_taken_off():
    assert _weighted(["a@2", "b", "c@1e-9"]) == ([2.0, 1.0, 1e-9], ["a", "b", "c"])
