"""The range of the money in words that a board can hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from logistics.scenario import in_list, records
from logistics.studies import ANEW, LINE
from maps.shared.money_units import MoneyUnit, net_said, surplus

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Row

ASK = "--ranges"
SURE = "In nine cases of ten"
HOW = {
    LINE: (
        "This is a quick estimate with the yards as planned: each number alone, on a "
        "straight line through the plan. It says too little where much changes, so "
        f"before money is voted, ask with {ASK}, which plans the flows anew."
    ),
    ANEW: (
        "Yards stay and each number varies on its own; flows were planned anew at both "
        "ends of each range, and the effects are added."
    ),
}
"""What the range rests on, by the way it is reckoned."""
IN_SHORT = {
    LINE: f"quick estimate, too low where much changes; {ASK} plans the flows anew",
    ANEW: "yards as planned, flows planned anew",
}
NOT_RECKONED = (
    "Between what the money may lie, and which defaults move it most, is not reckoned "
    "for this plan: only a plan of least cost that meets its demands is asked, with "
    f"{ASK} if the quick way does not do."
)
LEANS = 0.2
"""Distance of the middle of the draws from the plan that is told, of the range. [1]"""


def as_it_is(_: str, text: str) -> str:
    """Leave a figure unmarked."""
    return text


def reckoned_by(result: Result) -> str:
    """Tell how the ranges of a plan were reckoned: `LINE` or `ANEW`."""
    return str(result.range_ends["reckoned"].iloc[0])


def between_words(
    ends: Mapping[str, tuple[float, float]],
    unit: MoneyUnit,
    mark: Callable[[str, str], str] = as_it_is,
) -> str:
    """
    Say three ranges: of the net cost (which lies ...), of haulage and of capital.

    Parameters
    ----------
    ends
        Low and high end by figure: net, haulage [money/yr], capital [money].
    unit, mark
        See `range_words`.

    Examples
    --------
    >>> ends = {"net": (-4.0, 2.0), "haulage": (5.0, 6.0), "capital": (0.0, 9.0)}
    >>> between_words(ends, MoneyUnit("coins"))[:44]
    'between a surplus of 4 coins and 2 coins a y'
    """

    def between(figure: str) -> str:
        low, high = ends[figure]
        said = unit.text(low), unit.said(high)
        if figure == "net" and (surplus(low) or surplus(high)):
            said = net_said(low, unit), net_said(high, unit)
        return "between {} and {}".format(
            mark(f"{figure}_low", said[0]), mark(f"{figure}_high", said[1])
        )

    return (
        f"{between('net')} a year, haulage {between('haulage')} a year, and the "
        f"capital {between('capital')}"
    )


def range_words(
    result: Result,
    unit: MoneyUnit,
    mark: Callable[[str, str], str] = as_it_is,
    *,
    brief: bool = False,
) -> str:
    """
    Say between what net cost, haulage and capital lie in nine cases of ten.

    Parameters
    ----------
    result, unit
        The plan, and what money is counted in.
    mark
        Given the code of a figure, such as net_low, and its text: the text to show.
    brief
        Whether to say it in one sentence.
    """
    table = {str(row["figure"]): row for row in records(result.money_range)}
    if not table:
        return NOT_RECKONED

    ends = {figure: (row["low"], row["high"]) for figure, row in table.items()}
    said = f"{SURE} the net cost lies {between_words(ends, unit, mark)}"
    way = reckoned_by(result)
    if brief:
        return f"{said} ({IN_SHORT[way]})."
    holds = ", if the ranges of the sheet range_ends hold."
    return f"{said}{holds}{_lean(table)} {HOW[way]}"


def _lean(table: dict[str, Row]) -> str:
    """Say that the plan is not in the middle of its range, and what does most to it."""
    net = table["net"]
    apart, wide = net["middle"] - net["plan"], net["high"] - net["low"]
    chief = str(net["chiefly"]).partition(" [")[0]
    above = f", above all this: {chief}" if chief else ""
    outside = [
        words
        for figure, words in (("net", "net cost"), ("haulage", "haulage"))
        if not table[figure]["low"] <= table[figure]["plan"] <= table[figure]["high"]
    ]
    if outside:
        lie = "lies" if len(outside) == 1 else "lie"
        return (
            f" The plan's own {in_list(outside)} {lie} outside: a plan is the best for "
            f"its own figures, and most others worsen it{above}."
        )
    if abs(apart) <= LEANS * wide:
        return ""
    end, way = ("low", "up") if apart > 0 else ("high", "down")
    return (
        f" The plan is near the {end} end: most of what is uncertain moves the net "
        f"cost {way}{above}."
    )
