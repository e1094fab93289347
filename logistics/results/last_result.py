"""Answers about a plan that many outputs ask for, found once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from logistics.results.pipeline import Result


def once_a_result[Answer](
    function: Callable[[Result], Answer],
) -> Callable[[Result], Answer]:
    """
    Keep what a function says of the last plan, which cannot change.

    The answer is shared by all who ask; nobody may change it. Only one plan is
    remembered, by identity.
    """
    last: list[tuple[Any, Answer]] = []

    @wraps(function)
    def asked(result: Result) -> Answer:
        known = last[0] if last else None
        if known is not None and known[0] is result:
            return known[1]
        answer = function(result)
        if isinstance(result, Result):  # what may change is not remembered
            last[:] = [(result, answer)]
        return answer

    return asked
