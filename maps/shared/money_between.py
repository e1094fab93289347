"""The range of the money in words that a board can hold."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from logistics.scenario import in_list, records
from logistics.studies import money_range
from maps.shared.money_units import MoneyUnit, net_said

if TYPE_CHECKING:
    from logistics.results import Result

HOW = (
    "Every number of the ranges varies on its own; the yards stay, flows are planned "
    "anew at both ends of each range, and the effects are added."
)
ASK = "--ranges"
NOT_RECKONED = (
    "Between what the money may lie, and which defaults move it most, is not reckoned: "
    f"plan again with the option {ASK}."
)


def as_it_is(_: str, text: str) -> str:
    """Leave a figure unmarked."""
    return text


def range_words(
    result: Result, unit: MoneyUnit, mark: Callable[[str, str], str] = as_it_is
) -> str:
    """
    Say between what net cost, haulage and capital lie in nine years of ten.

    Parameters
    ----------
    result, unit
        The plan, and what money is counted in.
    mark
        Given the code of a figure, such as net_low, and its text: the text to show.
    """
    table = {row["figure"]: row for row in records(money_range(result))}
    if not table:
        return NOT_RECKONED

    def between(figure: str, said: Callable[[float], str]) -> str:
        low, high = (
            mark(f"{figure}_{end}", said(table[figure][end])) for end in ("low", "high")
        )
        return f"between {low} and {high}"

    outside = [
        words
        for figure, words in (("net", "net cost"), ("haulage", "haulage"))
        if not table[figure]["low"] <= table[figure]["plan"] <= table[figure]["high"]
    ]
    beside = (
        f" The plan's own {in_list(outside)} lies outside: most ranges move it one way."
        if outside
        else ""
    )
    net = between("net", lambda value: net_said(value, unit))
    return (
        f"In nine years of ten the net cost lies {net} a year, haulage "
        f"{between('haulage', unit.said)} a year, and the capital "
        f"{between('capital', unit.said)}, if the ranges of the sheet range_ends hold. "
        f"{HOW}{beside}"
    )
